"""The same pan in every sheet metal: changes of the text, worked out anew."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sumpwright.findings import Verdict
from sumpwright.flow import Memory, run
from sumpwright.flow.material_page import distortion_class, material_choices, sheet_for
from sumpwright.job import read_job
from sumpwright.tables.material_choice import metal_in_use, metals_in_use
from sumpwright.tables.materials import find_material, materials
from sumpwright.tables.sources import sources
from sumpwright.weld.material_choice_formulas import dent_load, tearing_work
from tests.job.changes import lay


@pytest.fixture(scope="module")
def tried(tmp_path_factory):
    folder = lay(tmp_path_factory.mktemp("job"), "slope-chipper-adapter")
    job, memory = read_job(folder), Memory()
    results = run(job, ("kit",), memory=memory)
    return job, results, material_choices(job, results, memory)


@pytest.mark.expected_from(
    "property", "the job's own metal comes first and changes nothing; every other says what"
)
def test_every_sheet_metal_has_a_row(tried):
    job, results, choices = tried
    assert choices[0].material == "mild"
    assert not choices[0].changes
    assert choices[0].mass == pytest.approx(results.kit.mass)
    assert {one.material for one in choices} == {metal.id for metal in materials() if metal.is_sheet}
    assert all(dict(one.changes)["pan.material"] == one.material for one in choices[1:])
    assert all(one.distortion == distortion_class(one.moves[1]) for one in choices if one.moves)
    assert all(one.welding is not None for one in choices)
    assert not material_choices(replace(job, bow=None), results)


@pytest.mark.expected_from("closed form", "slip goes with the difference of expansion to the iron block")
def test_slip_goes_with_expansion(tried):
    job, _, choices = tried
    slip = {one.material: one.slip for one in choices}
    block = job.kit.expansion_block
    ratio = (find_material("304").expansion.value - block) / (
        find_material("5052-H32").expansion.value - block
    )
    assert slip["304"] / slip["5052-H32"] == pytest.approx(ratio, rel=0.02)


@pytest.mark.expected_from(
    "property", "aluminium of one and a half times the thickness is lighter than steel"
)
def test_aluminium_is_lighter_and_thicker(tried):
    by_metal = {one.material: one for one in tried[2]}
    assert by_metal["5052-H32"].sheet > by_metal["mild"].sheet
    assert by_metal["5052-H32"].mass < by_metal["mild"].mass
    assert by_metal["304"].welding is Verdict.CLOSE  # purge is asked for


@pytest.mark.expected_from("closed form", "2 pi M with M = 180 MPa t2 / 4 of 2 mm mild sheet: 1131 N")
def test_where_a_sheet_dents():
    assert dent_load(180e6, 0.002) == pytest.approx(math.pi / 2 * 180e6 * 4e-6)
    assert tearing_work(280e6, 0.30, 0.002) == pytest.approx(168e3)


@pytest.mark.expected_from("pinned", "classes as the page defines them: 0.1, 0.5 and 1 mm")
def test_classes_and_sheets():
    assert [distortion_class(x * 1e-3) for x in (0.05, 0.3, 0.9, 1.2)] == ["A", "B", "C", "D"]
    mild, soft = find_material("mild"), find_material("5052-H32")
    assert sheet_for(mild, soft, 0.003) == pytest.approx(0.002)
    assert sheet_for(soft, mild, 0.002) == pytest.approx(0.003)
    assert sheet_for(find_material("304"), mild, 0.0019) == 0.0019


def test_the_table_names_its_sources():
    for metal in metals_in_use():
        assert {metal.source, metal.tensile_strength.source, metal.elongation.source} <= set(sources())
        assert find_material(metal.id).is_sheet
    assert metal_in_use("cheese") is None
