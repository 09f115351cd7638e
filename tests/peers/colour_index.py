"""Checks that DXF colour indices name the given colours, by the table of ezdxf.

Standard input: JSON list of [index, [red, green, blue]]. Prints "agrees".
"""

import json
import sys

from ezdxf.colors import aci2rgb

for index, rgb in json.load(sys.stdin):
    assert list(aci2rgb(index)) == rgb, (index, tuple(aci2rgb(index)), rgb)
print("agrees")
