"""The weld map read back: amps on every strip, and the cautions of the metals that are really there."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdfium2
import pytest

from sumpwright.kit.solve import solve
from sumpwright.outputs.metal_cautions import cautions_of_metals, strip_words
from sumpwright.outputs.weld_map import weld_map_pdf
from sumpwright.weld.filler import choose_fillers
from sumpwright.weld.filler_model import FillerInputs
from sumpwright.weld.solve import solve as plan_welds
from tests.body.hand_lumps import body_of, box, plan
from tests.kit.made_bodies import kit_inputs
from tests.outputs import sample
from tests.outputs.test_welding_pages import CARD
from tests.weld.made_pans import torch, weld_inputs


def words_of(metal, flange):
    body = body_of(plan("sump", box(0, 120, 0, 90), 60))
    kit = solve(kit_inputs(etched=False, material=metal, flange_material=flange), body)
    welds = plan_welds(weld_inputs(torch=torch(filler=None)), kit)
    filler = choose_fillers(FillerInputs(CARD, 393.15), kit)
    results = replace(sample.results(), body=body, kit=kit, weld=welds, filler=filler)
    made = weld_map_pdf(sample.job(), results)
    text = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(io.BytesIO(made)))
    return " ".join(text.replace("\u00a0", " ").split()), welds, filler


@pytest.mark.expected_from(
    "property", "each strip has the range of its own pair, of thin sheet and of thick flange"
)
def test_aluminium_gets_its_own_words_and_amps():
    words, welds, filler = words_of("5052-H32", "6061-T6")
    for pair in filler.pairs:
        low, high = pair.amps
        count = sum(
            1
            for seam in welds.seams
            if {seam.material_a, seam.material_b} == {pair.metal_a, pair.metal_b}
            and max(seam.thickness_a, seam.thickness_b) == pytest.approx(pair.thick)
        )
        told = f"AC {low:.0f} to {high:.0f} A to start with, {pair.filler}"
        assert words.count(told) == count > 0
    assert "Aluminium under the arc" in words
    assert "hexavalent chromium" not in words
    assert "Zinc" not in words


def test_stainless_and_steel_are_warned_of_by_name():
    words, _, _ = words_of("304", "mild")
    assert "hexavalent chromium" in words
    assert "Mild steel under the arc" in words
    assert "Coated sheet" in words
    assert "Aluminium under the arc" not in words
    assert "purge the oil side; bare metal, no coating" in words


def test_cautions_by_family():
    assert [one.key for one in cautions_of_metals({"aluminium"})] == ["aluminium"]
    assert [one.key for one in cautions_of_metals({"steel"})] == ["mild steel", "coated sheet"]
    assert cautions_of_metals(set()) == ()
    assert strip_words({"iron"}) == ""
