"""Fillers and welding settings against the tables that they were taken from."""

from __future__ import annotations

import pytest

from sumpwright.tables.materials import find_material
from sumpwright.tables.sources import sources
from sumpwright.tables.weld_metals import magnesium, specific_heat
from sumpwright.tables.welding import (
    current_kind,
    family_of,
    filler_for,
    fillers,
    find_filler,
    not_to_weld,
    weld_settings,
)


@pytest.mark.expected_from(
    "published", "filler tables of welding handbooks and aluminium wire makers' charts"
)
@pytest.mark.parametrize(
    ("pair", "filler"),
    [
        (("mild", "mild"), "ER70S-2"),
        (("304", "304"), "ER308L"),
        (("mild", "304"), "ER309L"),
        (("6061-T6", "6061-T6"), "ER4043"),
        (("A356", "6061-T6"), "ER4043"),
        (("5052-H32", "5052-H32"), "ER5554"),
    ],
)
def test_filler_by_pair(pair, filler):
    assert filler_for(*pair).filler == filler
    assert filler_for(*reversed(pair)).filler == filler


@pytest.mark.expected_from("published", "aluminium wire makers' guidance: not 5356 above 150 degF for long")
def test_no_pair_gets_a_filler_that_hot_oil_spoils():
    limit = find_filler("5356").hottest
    assert limit - 273.15 == pytest.approx((150 - 32) / 1.8, abs=0.6)
    chosen = {
        choice.filler
        for a in ("5052-H32", "6061-T6", "A356")
        for b in ("5052-H32", "6061-T6", "A356")
        if (choice := filler_for(a, b)) is not None
    }
    assert all(find_filler(name).hottest is None for name in chosen)


@pytest.mark.expected_from("published", "wire makers' guidance: 4043 not on alloys above 2.5 % magnesium")
def test_4043_stays_off_alloys_rich_in_magnesium():
    for a in ("5052-H32", "6061-T6"):
        choice = filler_for(a, a)
        if "ER4043" in (choice.filler, *choice.or_also):
            assert magnesium(a).value <= 2.5
    assert magnesium("mild") is None


def test_pairs_that_do_not_fuse_have_no_filler():
    assert filler_for("mild", "5052-H32") is None
    assert filler_for("grey iron", "mild") is None
    assert find_filler("butter") is None
    assert family_of("304") == "stainless"
    assert family_of("cheese") is None


@pytest.mark.expected_from(
    "published",
    "gas maker's handbook and trade school text: fillet in 3.2 mm aluminium 125 to 160 A, up to 300 mm/min, "
    "carbon steel 90 to 120 A, stainless 85 to 105 A",
)
@pytest.mark.parametrize(
    ("family", "least", "most"), [("aluminium", 125, 160), ("steel", 90, 120), ("stainless", 85, 105)]
)
def test_currents_for_an_eighth_of_an_inch(family, least, most):
    amps = weld_settings("TIG", family, 0.0032).amps
    assert amps[0] <= least + 1e-6
    assert amps[1] >= most - 1e-6
    if family == "aluminium":
        assert weld_settings("TIG", family, 0.0032).travel[1] * 60 == pytest.approx(0.3)


@pytest.mark.expected_from(
    "property", "between two rows the ranges lie between theirs; outside the table none"
)
def test_settings_between_rows():
    thin, mid, thick = (weld_settings("TIG", "aluminium", t) for t in (0.0016, 0.0024, 0.0032))
    assert thin.amps[0] < mid.amps[0] < thick.amps[0]
    assert mid.amps[1] == pytest.approx(0.5 * (thin.amps[1] + thick.amps[1]))
    assert weld_settings("TIG", "aluminium", 0.02) is None
    assert weld_settings("MIG", "steel", 0.0005) is None
    assert weld_settings("MIG", "steel", 0.002).tungsten is None


def test_every_row_names_its_source():
    known = sources()
    assert all(row.source in known for row in not_to_weld())
    assert all(not filler.source or filler.source in known for filler in fillers())
    assert current_kind("aluminium", "TIG") == "AC"
    assert current_kind("aluminium", "MIG") == "DC"
    assert specific_heat("cheese") is None


@pytest.mark.expected_from(
    "published",
    "supplier's data sheet: 5052 2.68 g/cm3, 70.3 GPa, 193 MPa, 23.8e-6, 138 W/mK, 0.88 J/gK; "
    "6061 2.70, 68.9, 276, 23.6, 167",
)
@pytest.mark.parametrize(
    ("name", "density", "modulus", "strength", "expansion", "conductivity"),
    [("5052-H32", 2680, 70.3, 193, 23.8, 138), ("6061-T6", 2700, 68.9, 276, 23.6, 167)],
)
def test_aluminium_against_a_data_sheet(name, density, modulus, strength, expansion, conductivity):
    metal = find_material(name)
    assert metal.density.value == pytest.approx(density, rel=0.005)
    assert metal.modulus.value / 1e9 == pytest.approx(modulus, rel=0.01)
    assert metal.yield_strength.value / 1e6 == pytest.approx(strength, rel=0.01)
    assert metal.expansion.value * 1e6 == pytest.approx(expansion, rel=0.005)
    assert metal.conductivity.value == pytest.approx(conductivity, rel=0.03)
    assert specific_heat("5052-H32").value == pytest.approx(880, rel=0.01)


@pytest.mark.expected_from(
    "published",
    "textbook tables of mechanics of materials in US units: steel 29 and stainless 28 Msi, 6.5 and 9.6 "
    "microinch per degF; 6061-T6 10.0 Msi, 40 ksi, 13",
)
@pytest.mark.parametrize(
    ("name", "msi", "microinch"), [("mild", 29.0, 6.5), ("304", 28.0, 9.6), ("6061-T6", 10.0, 13.0)]
)
def test_metals_against_a_second_table(name, msi, microinch):
    metal = find_material(name)
    assert metal.modulus.value / 6.894757e9 == pytest.approx(msi, rel=0.04)
    assert metal.expansion.value * 1e6 / 1.8 == pytest.approx(microinch, rel=0.02)
