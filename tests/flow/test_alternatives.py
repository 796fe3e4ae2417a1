"""The same pan made another way: each row is the job with its text changed, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from sumpwright.flow import Memory, run
from sumpwright.flow.alternatives import alternatives
from sumpwright.job import read_job
from sumpwright.job.model import Alternative, Job, JobResults
from tests.job.changes import change, lay

EXAMPLE = "slope-chipper-adapter"

SHOP = """[shop]
name = "Bench"
currency = "EUR"

[[stock]]
material = "mild"
thickness = "2 mm"
price = "2 EUR/kg"
placeholder = true

[[stock]]
material = "304"
thickness = "2 mm"
price = "6 EUR/kg"

[rates]
cut = "1 EUR/m"
pierce = "0.2 EUR"
bend = "3 EUR"
weld = "30 EUR/m"
placeholders = ["weld"]
"""


@pytest.fixture(scope="module")
def tried(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, JobResults, tuple[Alternative, ...], Path]:
    folder = lay(tmp_path_factory.mktemp("job"), EXAMPLE)
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    job, memory = read_job(folder), Memory()
    results = run(job, ("kit",), memory=memory)
    return job, results, alternatives(job, results, memory), folder


@pytest.mark.expected_from("property", "the first row is the job itself, the rest names what it changes")
def test_the_first_row_is_the_job_and_every_other_says_what_it_changes(
    tried: tuple[Job, JobResults, tuple[Alternative, ...], Path],
) -> None:
    job, results, ways, _ = tried
    assert results.kit is not None
    first = ways[0]
    assert not first.changes
    assert (first.mass, first.weld_length) == (results.kit.mass, results.kit.weld_length)
    assert first.parts == sum(part.quantity for part in results.kit.parts)
    changed = {key for way in ways[1:] for key, _ in way.changes}
    assert "cutting.flange_in_segments" in changed
    assert "pan.sheet" in changed
    assert any(("pan.material", "304") in way.changes for way in ways)
    assert all(way.changes for way in ways[1:])
    assert job.kit.etched


@pytest.mark.expected_from("property", "a row is what the changed job file gives when read from disk")
def test_a_row_is_what_the_changed_file_gives(
    tried: tuple[Job, JobResults, tuple[Alternative, ...], Path],
) -> None:
    _, _, ways, folder = tried
    way = next(way for way in ways if way.name == "3 mm sheet")
    text = (folder / "job.toml").read_text(encoding="utf-8")
    line = next(line for line in text.split("\n") if line.startswith("sheet "))
    change(folder, line, 'sheet = "3 mm"')
    job = read_job(folder)
    kit = run(replace(job, kit=replace(job.kit, etched=False)), ("kit",)).kit
    assert kit is not None
    assert way.mass == pytest.approx(kit.mass, rel=1e-12)
    assert way.weld_length == pytest.approx(kit.weld_length, rel=1e-12)
    change(folder, 'sheet = "3 mm"', line)


@pytest.mark.expected_from("property", "prices by the same count; stand-ins and placeholders are told")
def test_prices_compare_and_tell_what_stands_in(
    tried: tuple[Job, JobResults, tuple[Alternative, ...], Path],
) -> None:
    _, _, ways, _ = tried
    for way in ways:
        assert way.price is not None
        assert way.price.by == "boxes"
        assert way.price.total is not None
        assert way.price.has_placeholders
    thick = next(way for way in ways if way.name == "3 mm sheet")
    assert any("another thickness" in note for note in thick.notes)


@pytest.mark.expected_from("property", "without a kit there is nothing to compare with")
def test_without_a_kit_there_is_nothing_to_compare(
    tried: tuple[Job, JobResults, tuple[Alternative, ...], Path],
) -> None:
    job, results, _, _ = tried
    assert alternatives(job, replace(results, kit=None)) == ()
