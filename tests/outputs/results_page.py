"""docs/results.md and docs/results.schema.json, made from the types of the results file."""

from __future__ import annotations

import json
from typing import Any

from sumpwright.outputs.results_schema import json_schema
from tests.house.repository import DOCS

PAGE = DOCS / "results.md"
SCHEMA_FILE = DOCS / "results.schema.json"

_INTRODUCTION = """# results.json: every number and finding of a pack

Made from the types in `outputs/results_schema.py` by `make docs`; the same as a JSON schema:
`results.schema.json`. Its name stands in the file under `versions.schema`: `{schema}`. A new
key keeps that name; a key that changes its meaning or goes away raises its number.

Numbers are metric whatever the user reads, and keys carry their unit: `_mm`, `_mm2`, `_l`,
`_deg`, `_kg`. Lengths and places are in the engine frame (x to the front, y to the engine's
left, z up, origin at the datum hole), unless the key says otherwise. What is not known is
`null`. The sentences (`says`, `how_sure`, `do`) are written in the job's own units, word for
word as on the sheet and the screen. The same results give the same bytes.
"""


def schema_text() -> str:
    """The schema file."""
    return json.dumps(json_schema(), indent=1) + "\n"


def results_page() -> str:
    """The page: one table for each kind of row, the whole file first."""
    schema = json_schema()
    out = [_INTRODUCTION.format(schema=schema["$id"])]
    out += _table("The whole file", schema)
    for name, part in schema["$defs"].items():
        out += _table(name, part)
    return "\n".join(out)


def _table(name: str, part: dict[str, Any]) -> list[str]:
    lines = [f"## {name}", "", part.get("description", ""), "", "| key | holds | |", "|---|---|---|"]
    for key, value in part["properties"].items():
        lines.append(f"| `{key}` | {_holds(value)} | {value.get('description', '')} |")
    return [*lines, ""]


def _holds(value: dict[str, Any]) -> str:
    if "$ref" in value:
        name = value["$ref"].rpartition("/")[2]
        return f"[{name}](#{name.lower()})"
    if "anyOf" in value:
        return " or ".join(_holds(option) for option in value["anyOf"])
    if "enum" in value:
        return ", ".join(f"`{option}`" for option in value["enum"])
    if value.get("type") == "array":
        return f"list of {_holds(value['items'])}"
    if value.get("type") == "object":
        return f"by name: {_holds(value['additionalProperties'])}"
    return str(value["type"])
