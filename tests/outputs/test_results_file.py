"""results.json: its schema, its words, its bytes."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import pytest

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.outputs.results_file import SCHEMA, results_data, results_json
from sumpwright.outputs.results_schema import json_schema
from sumpwright.outputs.words import finding_words
from tests.outputs import sample
from tests.outputs.results_page import PAGE, SCHEMA_FILE, results_page, schema_text
from tests.outputs.test_nest_files import results as nested_results

KEYS = (
    "job",
    "rail",
    "body",
    "oil",
    "motion",
    "suction",
    "kit",
    "weld",
    "proof",
    "findings",
    "sources",
    "versions",
)


def faults(value: Any, schema: dict[str, Any], root: dict[str, Any], where: str = "$") -> list[str]:
    """What breaks the schema: a small reader of JSON schema, sharing nothing with its maker."""
    if "$ref" in schema:
        return faults(value, root["$defs"][schema["$ref"].rpartition("/")[2]], root, where)
    if "anyOf" in schema:
        tried = [faults(value, option, root, where) for option in schema["anyOf"]]
        return [] if any(not found for found in tried) else min(tried, key=len)
    if "enum" in schema and value not in schema["enum"]:
        return [f"{where}: {value!r} is none of {schema['enum']}"]
    kind = schema.get("type")
    fits = {
        "object": isinstance(value, dict),
        "array": isinstance(value, list),
        "string": isinstance(value, str),
        "boolean": isinstance(value, bool),
        "integer": isinstance(value, int) and not isinstance(value, bool),
        "number": isinstance(value, (int, float)) and not isinstance(value, bool),
        "null": value is None,
    }
    if kind is not None and not fits[kind]:
        return [f"{where}: {value!r} is no {kind}"]
    out: list[str] = []
    if kind == "array":
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", math.inf):
            out.append(f"{where}: {len(value)} items")
        for k, item in enumerate(value):
            out += faults(item, schema["items"], root, f"{where}[{k}]")
    if kind == "object":
        known = schema.get("properties", {})
        out += [f"{where}: {key} is missing" for key in schema.get("required", ()) if key not in value]
        for key, item in value.items():
            if key in known:
                out += faults(item, known[key], root, f"{where}.{key}")
            elif schema.get("additionalProperties", True) is False:
                out.append(f"{where}: {key} is too much")
            elif isinstance(schema.get("additionalProperties"), dict):
                out += faults(item, schema["additionalProperties"], root, f"{where}.{key}")
    return out


DIVIDED = dataclasses.replace(sample.results(), body=sample.divided_body())


@pytest.mark.parametrize(
    "results",
    [sample.results(), sample.results(refused=True), sample.nothing(), DIVIDED, nested_results()],
)
def test_file_keeps_the_published_schema(results: Any) -> None:
    data = json.loads(results_json(sample.job(), results))
    schema = json.loads(SCHEMA_FILE.read_text("utf-8"))
    assert tuple(data) == KEYS
    assert faults(data, schema, schema) == []
    assert data["versions"]["schema"] == SCHEMA == schema["$id"]


def test_schema_reader_sees_a_fault() -> None:
    data = json.loads(results_json(sample.job(), sample.results()))
    data["oil"]["capacity_l"] = "much"
    del data["kit"]["mass_kg"]
    data["rail"]["colour"] = 1
    assert len(faults(data, json_schema(), json_schema())) >= 3


def test_published_pages_are_fresh() -> None:
    assert SCHEMA_FILE.read_text("utf-8") == schema_text(), "run: make docs"
    assert PAGE.read_text("utf-8") == results_page(), "run: make docs"


@pytest.mark.expected_from("closed form", "metre to millimetre, cubic metre to litre, radian to degree")
def test_keys_carry_their_unit() -> None:
    data = results_data(sample.job(), sample.results())
    assert data["oil"] is not None
    assert data["rail"] is not None
    assert data["oil"]["capacity_l"] == 6.8
    assert data["oil"]["level_full_mm"] == -52.0
    assert data["job"]["lean_right_deg"] == 15.0
    assert data["rail"]["holes"][8]["x_mm"] == 452.2
    finding = data["findings"][0]
    assert (finding["value"], finding["limit"], finding["unit"], finding["u95"]) == (3.3, 0.2, "mm", 0.12)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_sentences_are_those_of_the_screen(units: Any) -> None:
    data = results_data(sample.job(units=units), sample.results())
    for finding, row in zip(sample.findings(), data["findings"], strict=True):
        said = finding_words(finding, units)
        assert (row["says"], row["how_sure"], row["do"]) == (said.says, said.how_sure, said.do)


def test_same_results_same_bytes() -> None:
    assert results_json(sample.job(), sample.results()) == results_json(sample.job(), sample.results())


def test_not_a_number_becomes_null() -> None:
    lost = Finding(
        "OIL-09", Verdict.CANNOT_SAY, "level", "{x}", (Figure("x", math.nan, "m", "length"),), value=math.nan
    )
    results = dataclasses.replace(sample.results(), findings=(lost,))
    text = results_json(sample.job(), results).decode()
    assert "NaN" not in text
    assert json.loads(text)["findings"][0]["value"] is None


def test_refused_kit_names_no_file() -> None:
    data = results_data(sample.job(), sample.results(refused=True))
    assert data["kit"] is not None
    assert all(part["file"] is None for part in data["kit"]["parts"])
    assert data["job"]["cut_files"] is False
