"""The movement of a whole pan: ranges, doubt, what a coupon and a record do to them."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.kit.solve import solve
from sumpwright.tables.materials import find_material
from sumpwright.weld.bow import bow_along, heat_range, out_of_plane, seam_pulls, solve_bow
from sumpwright.weld.bow_model import BowInputs, PanRecord, StripCoupon
from sumpwright.weld.bow_pan import NotOnePanError, pan_panels
from sumpwright.weld.distortion_formulas import strip_bow, weld_pull
from sumpwright.weld.heat_formulas import heat_input
from tests.body.random_bodies import near_real_body
from tests.kit.made_bodies import kit_inputs, simple_body

PLAIN = BowInputs("TIG", True, cell=0.025)


@functools.cache
def kit(material="6061-T6"):
    return solve(kit_inputs(material=material), simple_body())


@functools.cache
def answer(inputs=PLAIN, material="6061-T6"):
    return solve_bow(inputs, kit(material))


def pulls_of(inputs, made):
    pan = pan_panels(made)
    lengths = np.array([np.linalg.norm(pan.corners[s.end] - pan.corners[s.start]) for s in pan.seams])
    return pan, seam_pulls(inputs, pan, lengths)


@pytest.mark.expected_from("property", "least before most; held on the plate a pan stays flatter than free")
def test_a_pan_comes_off_the_plate_flatter_than_from_the_bench():
    bow = answer()
    assert not bow.trouble
    assert bow.doubt == "order of magnitude"
    assert 0.0 < bow.free[0] < bow.free[1]
    assert 0.0 < bow.released[0] < bow.released[1]
    assert bow.released[1] < bow.free[1]
    assert bow.left_least == pytest.approx(0.010 - bow.released[1])
    assert len(bow.holes.names) == len(bow.holes.lift_most)
    assert bow.joint_draw is None


@pytest.mark.expected_from("closed form", "each seam's heat and pull from the settings at its thinner sheet")
def test_a_seam_pulls_by_its_heat_up_to_its_cap():
    pan, pulls = pulls_of(PLAIN, kit())
    metal = find_material("6061-T6")
    low, high = heat_range("TIG", "aluminium", 0.003, 0.003)
    from sumpwright.tables.weld_metals import specific_heat
    from sumpwright.tables.welding import weld_settings

    card = weld_settings("TIG", "aluminium", 0.003)
    assert low == pytest.approx(heat_input(card.amps[0], card.volts[0], card.travel[1], 0.6))
    told = weld_pull(
        low, metal.expansion.value, metal.modulus.value, metal.density.value, specific_heat(metal.id).value
    )
    k = next(k for k, seam in enumerate(pan.seams) if "flange" not in seam.name)
    assert pulls.heat[:, k] == pytest.approx((low, high))
    assert pulls.force[0, k] <= 0.7 * told
    assert np.all(pulls.force[1] <= pulls.cap * (1 + 1e-9))
    assert np.all(pulls.zone_share(pan, 1) <= 0.5)


@pytest.mark.expected_from("property", "a coupon or a record makes the range narrower and says so")
def test_a_coupon_makes_the_range_narrower():
    # A strip wide enough that its own zone is held: 80 x 3 mm, 300 mm long.
    shown = strip_bow(4000.0, 0.04, 0.3, 69e9, 0.003 * 0.08**3 / 12.0)
    by_coupon = answer(replace(PLAIN, coupons=(StripCoupon("6061-T6", 0.003, 0.08, 0.3, shown),)))
    assert by_coupon.doubt == "by coupon"
    assert by_coupon.trust is not None
    plain = answer()
    assert by_coupon.released[1] / by_coupon.released[0] < 0.6 * plain.released[1] / plain.released[0]
    record = PanRecord("6061-T6", 0.0002, 0.0008, 0.0004)
    by_record = answer(replace(PLAIN, records=(record,)))
    assert by_record.doubt == "by record"
    assert by_record.trust == pytest.approx(1.0)
    assert plain.released[0] < by_record.released[0] < by_record.released[1] < plain.released[1]
    other = answer(replace(PLAIN, coupons=(StripCoupon("mild", 0.003, 0.08, 0.3, shown),)))
    assert other.doubt == "order of magnitude"


@pytest.mark.expected_from("property", "steel holds more at its weld than aluminium and is stiffer")
def test_another_metal_moves_otherwise():
    steel = solve(kit_inputs(material="304", flange_material="304"), simple_body())
    bow = solve_bow(PLAIN, steel)
    assert not bow.trouble
    assert bow.free[1] > 0.0
    risk = max(bow.risks, key=lambda panel: panel.stress_most / panel.waves_from)
    assert risk.waves_for_sure == pytest.approx(6.97 / 4.0 * risk.waves_from)
    assert 0.0 < risk.stress_least <= risk.stress_most


@pytest.mark.expected_from("closed form", "a parabola's height, and nothing of a tilted plane")
def test_bow_along_the_flange():
    x, y = np.meshgrid(np.linspace(0, 0.4, 9), np.linspace(0, 0.2, 5))
    places = np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])
    tilted = 0.01 * places[:, 0] - 0.02 * places[:, 1] + 3.0
    assert np.ptp(out_of_plane(places, tilted)) == pytest.approx(0.0, abs=1e-12)
    bowed = tilted + 0.001 * ((places[:, 0] - 0.2) / 0.2) ** 2
    assert bow_along(places, out_of_plane(places, bowed)) == pytest.approx(0.001)


def test_what_cannot_be_laid_out_says_why():
    body = simple_body()
    with pytest.raises(NotOnePanError, match="no kit"):
        pan_panels(replace(kit(), parts=()))
    thick = solve(kit_inputs(material="6061-T6"), replace(body, inputs=replace(body.inputs, sheet=0.009)))
    assert "settings" in solve_bow(PLAIN, thick).trouble or not thick.parts
    assert np.isnan(solve_bow(PLAIN, replace(kit(), parts=())).released[0])


@pytest.mark.expected_from(
    "property", "kits of random pans near real ones: every one that closes is answered"
)
def test_random_pans_are_answered():
    answered = 0
    for seed in range(2):
        from sumpwright.body.solve import solve as solve_body

        made = solve(kit_inputs(etched=False), solve_body(*near_real_body(seed)))
        if made.rebuild.refused or not made.parts:
            continue
        bow = solve_bow(replace(PLAIN, cell=0.04), made)
        assert not bow.trouble, f"seed {seed}: {bow.trouble}"
        assert 0.0 < bow.released[0] <= bow.released[1] < 0.02
        answered += 1
    assert answered
