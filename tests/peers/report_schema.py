"""Validates reports against the schema that the program prints.

Arguments: the reports. Standard input: the schema. Prints how many were valid.
"""

import json
import sys
from pathlib import Path

from jsonschema import Draft202012Validator

schema = json.load(sys.stdin)
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)
for path in sys.argv[1:]:
    validator.validate(json.loads(Path(path).read_text()))
print(len(sys.argv) - 1)
