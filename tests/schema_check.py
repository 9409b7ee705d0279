"""Holds YAML and JSON files to a JSON Schema with parsers and a validator that are not this project's.

Usage: schema_check.py SCHEMA FILE...; prints each fault, and ends with status 1 if there is one.
"""

import json
import sys

import jsonschema
import regex
from ruamel.yaml import YAML


def pattern(_validator, wanted, text, _schema):
    """ECMA 262 patterns know Unicode classes such as \\p{L}; Python's own `re` doesn't."""
    if isinstance(text, str) and not regex.search(wanted, text):
        yield jsonschema.ValidationError(f"{text!r} does not match {wanted!r}")


base = jsonschema.Draft202012Validator
validator = jsonschema.validators.extend(base, {"pattern": pattern})
with open(sys.argv[1], encoding="utf-8") as file:
    schema = json.load(file)
base.check_schema(schema)

faults = 0
for name in sys.argv[2:]:
    with open(name, encoding="utf-8") as file:
        # YAML 1.2: `off` and `no` are text.
        spec = json.load(file) if name.endswith(".json") else YAML(typ="safe", pure=True).load(file)
    for error in validator(schema).iter_errors(spec):
        faults += 1
        print(f"{name}: {'/'.join(map(str, error.absolute_path))}: {error.message[:300]}")
sys.exit(1 if faults else 0)
