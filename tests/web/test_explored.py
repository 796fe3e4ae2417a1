"""What was explored, on the page: as written, or said to be unreadable; nothing else is read or written."""

from __future__ import annotations

import json

import pytest

from sumpwright.outputs.explored_files import explored_json, write_variants
from sumpwright.outputs.explored_model import AnswerColumn, ExploredSheet, ShareRow, VariantRow
from sumpwright.web.explored_picture import explored_picture, revision_of, take_variant
from tests.web.benches import Bench

COLUMNS = (
    AnswerColumn("mass", "mass", "kg", "less"),
    AnswerColumn("ground", "length", "m", "only the limit", at_least=0.02),
)
SHEET = ExploredSheet(
    job_name="Pan",
    plan_name="plan.toml",
    way="grid",
    units="mm",
    paper="A4",
    version="0",
    axes=("depth",),
    columns=COLUMNS,
    as_it_stands=VariantRow(None, (), (3.0, 0.030)),
    rows=(VariantRow(4, ("110 mm",), (2.5, 0.015), (0.0, None), (None, 0.005), True, ("BODY-07 ground",)),),
    unbeaten=1,
    dots=(),
    asked=9,
    different=8,
    tried=8,
    complete=7,
    refused=1,
    dropped=(("ground", 2),),
    cannot_say=(),
    broke=(),
    reasons=(("no shape", 1),),
    shares=(ShareRow("mass", (0.7,), (0.8,), (0.6,), (0.9,), 64, 0),),
    taken=("limits are hard",),
)


@pytest.fixture
def explored(tmp_path):
    bench = Bench(tmp_path)
    folder = bench.job / "explored"
    folder.mkdir()
    (folder / "explored.json").write_bytes(explored_json(SHEET))
    lines = ((number, (f"{100 + number} mm",), (2.0 + number, None), "complete") for number in range(1, 4000))
    write_variants(folder / "variants.csv", SHEET.axes, COLUMNS, lines)
    return bench


@pytest.mark.expected_from("property", "the figures that were written, in the same order")
def test_the_page_shows_what_was_written(explored):
    picture = explored_picture(explored.bench.snapshot(), "r")
    assert picture.why_not == ""
    assert [(one.label, one.unit, one.at_least) for one in picture.columns] == [
        ("mass", "kg", None),
        ("ground", "mm", 20.0),
    ]
    (row,) = picture.rows
    assert (row.number, row.varied, row.answers, row.misses) == (4, ["110 mm"], [2.5, 15.0], [None, 5.0])
    assert row.worse == ["BODY-07 ground"]
    assert picture.as_it_stands is not None
    assert picture.as_it_stands.answers == [3.0, 30.0]
    assert 1000 < len(picture.dots) <= 1500
    assert picture.dots[0] == [3.0, None]
    assert any("no shape (1)" in words for words in picture.says)
    assert picture.matters[0].alone == [0.7]


def test_nothing_explored_is_said(tmp_path):
    bench = Bench(tmp_path)
    assert revision_of(bench.job) == ""
    assert "Nothing was explored" in explored_picture(bench.bench.snapshot(), "r").why_not
    assert take_variant(bench.job, 3).why_not


@pytest.mark.parametrize("raw", [b"", b"[1]", b"{", b'{"schema": "sumpwright-explored-1"}', b"\xff\xfe"])
def test_a_spoilt_file_is_said_in_words(explored, raw):
    (explored.job / "explored" / "explored.json").write_bytes(raw)
    assert "explore again" in explored_picture(explored.bench.snapshot(), "r").why_not
    assert take_variant(explored.job, 4).file == ""


def test_no_plan_outside_the_folder_is_read(explored):
    path = explored.job / "explored" / "explored.json"
    data = json.loads(path.read_text("utf-8"))
    for name in ("../plan.toml", "/etc/passwd", "gone.toml", ""):
        path.write_text(json.dumps({**data, "plan": name}), "utf-8")
        assert "no longer in this folder" in take_variant(explored.job, 4).why_not
