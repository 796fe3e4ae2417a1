"""The Welding section read back: fillers and settings, looking at seams, and how far the pan moves."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdfium2
import pytest

from sumpwright.findings import Verdict
from sumpwright.job.model import MaterialChoice
from sumpwright.kit.solve import solve
from sumpwright.outputs.form import Form
from sumpwright.outputs.results_weld_bow import filler_rows, metal_rows, movement_part
from sumpwright.outputs.sheet_welding import welding_pages
from sumpwright.weld.bow import nothing, solve_bow
from sumpwright.weld.bow_model import BowInputs
from sumpwright.weld.filler import choose_fillers
from sumpwright.weld.filler_model import FillerInputs
from sumpwright.weld.model import Welder
from tests.kit.made_bodies import kit_inputs, simple_body
from tests.outputs import sample

CARD = Welder("TIG", "AC/DC", 5.0, 200.0, 0.35, 200.0)


@pytest.fixture(scope="module")
def results():
    kit = solve(kit_inputs(etched=False), simple_body())
    plan = choose_fillers(FillerInputs(CARD, 393.15), kit)
    bow = solve_bow(BowInputs("TIG", True, cell=0.03), kit)
    return replace(sample.results(), filler=plan, bow=bow)


def read(results, units="mm"):
    job = sample.job(units=units)
    form = Form("A4", "sheet", "job", "foot", 9)
    welding_pages(form, job, results)
    made = form.finish()
    document = pypdfium2.PdfDocument(io.BytesIO(made))
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    return " ".join(text.replace("\u00a0", " ").split())


def test_fillers_settings_and_what_not_to_weld_stand_there(results):
    words = read(results)
    assert "ER5554" in words
    assert "AC 117 to 151 A" in words
    assert "free-machining bar" in words
    assert "crack of any kind" in words
    assert "2.70 mm of 3 mm" in words


def test_the_range_of_the_bow_and_the_caution_at_the_mill_stand_there(results):
    words = read(results)
    low, high = (f"{value * 1e3:.2f}" for value in results.bow.released)
    assert f"{low} to {high} mm" in words
    assert "order of magnitude" in words
    assert "Never clamp a sprung flange flat" in words
    assert "Seams that move the flange most" in words


def test_inches_are_printed_in_inches(results):
    words = read(results, "in")
    assert "in/min" in words
    assert "0.106 in of 0.118 in" in words


def test_what_was_not_worked_out_says_why(results):
    words = read(replace(results, bow=nothing("the pan has two openings")))
    assert "the pan has two openings" in words


def test_every_metal_stands_beside_the_others(results):
    own = MaterialChoice(
        "5052-H32", 0.003, 0.010, (), mass=2.4, slip=0.0005, dent=2700.0, tearing=77e3,
        moves=(0.0002, 0.0006), distortion="C", welding=Verdict.CLOSE,
    )  # fmt: skip
    steel = MaterialChoice("mild", 0.002, 0.010, (("pan.material", "mild"),), why_not="no mild in stock")
    words = read(replace(results, materials=(own, steel)))
    assert "0.20 to 0.60 mm" in words
    assert "with care" in words
    assert "not worked out: no mild in stock" in words
    assert "best of these in salt air" in words


@pytest.mark.expected_from("property", "the stage's own numbers in the file's units")
def test_the_results_file_has_the_same_numbers(results):
    movement = movement_part(results.bow)
    assert movement["released_mm"] == pytest.approx([value * 1e3 for value in results.bow.released], abs=1e-6)
    assert len(movement["holes"]) == len(results.bow.holes.names)
    assert len(movement["seams"]) == len(results.bow.seams)
    assert filler_rows(results.filler)[0]["filler"] == "ER5554"
    own = MaterialChoice("mild", 0.002, 0.008, (), moves=(0.0002, 0.0006), welding=Verdict.CLOSE)
    assert metal_rows((own,))[0]["moves_mm"] == pytest.approx([0.2, 0.6])
    assert movement_part(nothing("two openings"))["released_mm"] is None
