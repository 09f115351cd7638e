"""Judges the lines of DXF files that a cutter follows, with ezdxf and shapely.

Arguments: the files. Standard input: JSON {strokes}: whether letters must be single strokes. No two lines of one layer may lie on
each other; every letter has a height. Prints the number of lines looked at.
"""

import json
import math
import sys
from collections import Counter

import ezdxf
from shapely import STRtree
from shapely.geometry import LineString

# Nearer than this is one line to a cutter; shorter stretches are the ends of lines that meet. mm
NEAR, SHORT = 0.02, 0.1


def pieces(polyline, per_unit):
    """Straight pieces and arcs of a light polyline in mm."""
    points = [(x * per_unit, y * per_unit, bulge) for x, y, bulge in polyline.get_points("xyb")]
    pairs = list(zip(points, points[1:])) + ([(points[-1], points[0])] if polyline.closed else [])
    straight = [((a[0], a[1]), (b[0], b[1])) for a, b in pairs if abs(a[2]) < 1e-9 and math.dist(a[:2], b[:2]) > 1e-6]
    arcs = [tuple(round(v, 3) for v in (*a, b[0], b[1])) for a, b in pairs if abs(a[2]) >= 1e-9]
    return straight, arcs


def turn(line):
    (x, y), (x2, y2) = line.coords
    return math.atan2(y2 - y, x2 - x) % math.pi


def main():
    strokes = json.load(sys.stdin)["strokes"]
    looked_at = 0
    for path in sys.argv[1:]:
        document = ezdxf.readfile(path)
        per_unit = 25.4 if document.header["$MEASUREMENT"] == 0 else 1.0
        layers = {}
        for entity in document.modelspace().query("LWPOLYLINE"):
            layer = entity.dxf.layer
            if layer == "ENGRAVE":
                assert not (strokes and entity.closed), (path, "an outline of a letter")
                heights = [math.dist(a, b) for a, b in pieces(entity, per_unit)[0]]
                assert sum(heights) > 0.1, (path, "a letter without a height")
            straight, arcs = layers.setdefault(layer, ([], []))
            more, bent = pieces(entity, per_unit)
            straight.extend(more)
            arcs.extend(bent)
        for layer, (straight, arcs) in layers.items():
            twice = [arc for arc, count in Counter(arcs).items() if count > 1]
            assert not twice, (path, layer, twice[0])
            looked_at += len(straight) + len(arcs)
            if not straight:
                continue
            lines = [LineString(line) for line in straight]
            bands = [line.buffer(NEAR, cap_style="flat") for line in lines]
            for i, j in STRtree(lines).query(bands, predicate="intersects").T:
                apart = abs(turn(lines[i]) - turn(lines[j]))
                if i < j and min(apart, math.pi - apart) < 0.01:
                    shared = lines[j].intersection(bands[i]).length
                    assert shared < SHORT, (path, layer, straight[i], straight[j], shared)
    print(looked_at)


main()
