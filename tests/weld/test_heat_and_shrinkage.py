"""Heat of the arc and shrinkage rules against their worked examples."""

from __future__ import annotations

import pytest

from sumpwright.tables.materials import find_material
from sumpwright.tables.weld_metals import specific_heat
from sumpwright.weld.distortion_formulas import (
    buckling_stress,
    fillet_turn,
    greatest_pull,
    strip_bow,
    strip_pull,
    transverse_shrinkage,
    transverse_shrinkage_wide,
    weld_pull,
)
from sumpwright.weld.heat_formulas import heat_input, working_share


@pytest.mark.expected_from("closed form", "70 A, 11 V, 2 mm/s, efficiency 0.6: 0.231 kJ/mm")
def test_heat_of_a_seam():
    assert heat_input(70.0, 11.0, 0.002, 0.6) / 1e6 == pytest.approx(0.231, rel=1e-3)


@pytest.mark.expected_from(
    "closed form", "equal heat in the windings: 200 A at 25 % is 141 A at 50 %, 100 A always"
)
def test_a_machine_welds_longer_at_less_current():
    assert working_share(141.42, 200.0, 0.25) == pytest.approx(0.5, rel=1e-4)
    assert working_share(100.0, 200.0, 0.25) == pytest.approx(1.0)


@pytest.mark.expected_from(
    "published", "two shrinkage rules on 9 mm2 of weld in 2 mm sheet with 1 mm gap: 0.45 and 0.95 mm"
)
def test_transverse_shrinkage():
    assert transverse_shrinkage(9e-6, 0.002) == pytest.approx(0.45e-3)
    assert transverse_shrinkage_wide(9e-6, 0.002, 0.001) == pytest.approx(0.95e-3)


@pytest.mark.expected_from(
    "property", "a rule with one length unit throughout does not care which unit that is"
)
def test_the_rule_in_inches_is_the_rule_in_metres():
    """Copies with 5.08 A/t + 1.27 g are the inch rule turned into millimetres: 25.4 times too much."""
    inch = 0.0254
    area, thickness, gap = 9e-6, 0.002, 0.001
    in_inches = 0.2 * (area / inch**2) / (thickness / inch) + 0.05 * (gap / inch)
    ours = transverse_shrinkage_wide(area, thickness, gap)
    assert in_inches * inch == pytest.approx(ours)
    mistaken = (5.08 * 9.0 / 2.0 + 1.27 * 1.0) * 1e-3
    assert mistaken / ours == pytest.approx(25.4)


@pytest.mark.expected_from(
    "published", "pull of 0.213, 0.278 and 0.225 kN for each J/mm in mild, 304 and 6061"
)
@pytest.mark.parametrize(("name", "pull"), [("mild", 0.213), ("304", 0.278), ("6061-T6", 0.225)])
def test_pull_by_metal(name, pull):
    metal = find_material(name)
    force = weld_pull(
        1e3, metal.expansion.value, metal.modulus.value, metal.density.value, specific_heat(metal.id).value
    )
    assert force / 1e3 == pytest.approx(pull, abs=0.001)


@pytest.mark.expected_from(
    "closed form", "231 J/mm at 0.2 kN for each J/mm on 100 x 2 mm is 231 MPa: it saturates before that"
)
def test_the_pull_is_capped_by_the_sheet_that_holds_it():
    metal = 0.1 * 0.002
    assert 0.2e3 * 231.0 / metal == pytest.approx(231e6)
    assert greatest_pull(231e6, metal) == pytest.approx(0.5 * 231e6 * metal)


@pytest.mark.expected_from(
    "published", "the fillet rule lifts 100 mm of 2 mm sheet by 11.8 mm: outside its range"
)
def test_the_fillet_rule_refuses_on_sheet():
    inch = 0.0254
    lift = 0.02 * (0.1 / inch) * (0.002 / inch) ** 1.3 / (0.002 / inch) ** 2 * inch
    assert lift == pytest.approx(11.8e-3, rel=0.01)
    assert fillet_turn(0.1, 0.002, 0.002) is None
    plate = fillet_turn(0.1, 0.006, 0.0125)
    assert plate == pytest.approx(0.02 * (0.1 / inch) * (0.006 / inch) ** 1.3 / (0.0125 / inch) ** 2 * inch)
    assert 0.0003 < plate < 0.003


@pytest.mark.expected_from("closed form", "bow of a strip and the pull that made it are each other's inverse")
def test_a_coupon_gives_back_its_pull():
    width, thickness, length, modulus = 0.05, 0.003, 0.4, 70e9
    bow = strip_bow(900.0, 0.5 * width, length, modulus, thickness * width**3 / 12.0)
    assert strip_pull(bow, width, thickness, length, modulus) == pytest.approx(900.0)


@pytest.mark.expected_from("closed form", "4 pi2 E / (12 (1 - nu2)) is 3.615 E for nu 0.3 (Timoshenko)")
def test_a_panel_waves():
    assert buckling_stress(1.0, 0.3, 1.0, 1.0) == pytest.approx(3.615, abs=0.001)
    assert buckling_stress(207e9, 0.3, 0.002, 0.2) / 1e6 == pytest.approx(74.8, abs=0.1)
