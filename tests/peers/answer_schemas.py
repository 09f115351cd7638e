"""Holds what the commands print with --json against the schemas that the program prints.

Standard input: JSON, {kind: {"schema": .., "answers": [..]}}. Beside the validation itself: each schema is closed (a key that it does not
list makes an answer invalid), describes each property, and says the unit of each number in its key or its description. Prints how many
answers were valid.
"""

import copy
import json
import re
import sys

from jsonschema import Draft202012Validator

IN_KEY = re.compile(r"_(mm|mm2|mm3|c|n|n_mm|j|g|kg|s|mm_s|mpa|kg_m3|rad|percent|per_m|n_per_mm|n_per_mm_width|n_per_mm_length)$|per_pound$")
IN_KEY_RATE = re.compile(r"^n_per_|^modulus_mpa$|^mm$|turns$")
IN_WORDS = re.compile(r"\b(ratios?|mm|N|J|g|kg|s|rad|percent|MPa|mm/s|N/mm|in `unit)\b")


def numeric(schema):
    """Whether a number with a fraction may stand there, alone or in lists."""
    if "$ref" in schema:
        return False
    kinds = schema.get("type", [])
    kinds = [kinds] if isinstance(kinds, str) else kinds
    if "number" in kinds:
        return True
    return "array" in kinds and numeric(schema.get("items", {}))


def properties(schema, path):
    """Every property of a schema and of those within it."""
    for key, inner in schema.get("properties", {}).items():
        yield f"{path}.{key}", key, inner
    if "properties" in schema:
        assert schema.get("additionalProperties") is False, f"{path} is open"
        missing = set(schema["properties"]) - set(schema.get("required", []))
        left_out = {"edits", "bends", "bows", "serial", "learnt", "across", "overlays", "splices", "grip", "shelf", "limb"}
        left_out |= {"meets", "outer", "two_woods", "outer_n_per_percent_modulus", "layered", "footing", "overlay"}
        left_out |= {"lies_over", "riser_overlay_mm", "back_overlay_mm", "belly_overlay_mm", "press_shims"}
        assert missing <= left_out, f"{path}: {missing} may be left out"
    for key, inner in schema.items():
        if key in ("properties", "$defs"):
            for name, one in inner.items():
                yield from properties(one, f"{path}.{name}")
        elif key in ("anyOf", "oneOf", "allOf"):
            for one in inner:
                yield from properties(one, path)
        elif key == "items":
            yield from properties(inner, path)


def objects(value):
    if isinstance(value, dict):
        yield value
    for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else []:
        yield from objects(inner)


count, amiss = 0, []
for kind, held in json.load(sys.stdin).items():
    schema = held["schema"]
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    for path, key, inner in properties(schema, kind):
        words = inner.get("description", "")
        if not words:
            amiss.append(f"{path} is not described")
        if numeric(inner) and not (IN_KEY.search(key) or IN_KEY_RATE.search(key) or IN_WORDS.search(words)):
            amiss.append(f"{path} says no unit: {words}")
    assert held["answers"], f"nothing was answered for {kind}"
    for answer in held["answers"]:
        for wrong in validator.iter_errors(answer):
            amiss.append(f"{kind}: {wrong.json_path}: {wrong.message[:300]}")
        count += 1
        # One key more, and one less, in the first objects of the answer.
        for at in range(min(12, sum(1 for _ in objects(answer)))):
            more, less = copy.deepcopy(answer), copy.deepcopy(answer)
            list(objects(more))[at]["forgotten"] = 1
            if validator.is_valid(more):
                amiss.append(f"{kind}: a key too many is valid")
            inside = list(objects(less))[at]
            if inside and "edits" not in inside:
                inside.pop(next(iter(inside)))
                if validator.is_valid(less):
                    amiss.append(f"{kind}: a key too few is valid")
if amiss:
    sys.exit("\n".join(amiss))
print(count)
