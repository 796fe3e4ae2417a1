"""Air in a closed pan, and what a lid holds."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.proof.formulas import (
    detectable_leak,
    free_energy,
    head_pressure,
    leak_in_moles,
    lid_thrust,
    lift_between_bolts,
    pressure_of_warming,
    standard_leak,
    stored_energy,
)

P0 = 101_325.0


@pytest.mark.expected_from(
    "published", "asme-pcc-2, appendix 501-II form, 6 L at 13.8 kPa (A33) and at 700 kPa"
)
def test_stored_energy() -> None:
    assert stored_energy(13_800.0, 0.006, P0) == pytest.approx(61.9, rel=0.005)
    assert free_energy(13_800.0, 0.006, P0) == pytest.approx(3.8, abs=0.1)
    assert stored_energy(700e3, 0.006, P0) == pytest.approx(5.4e3, rel=0.01)


@pytest.mark.expected_from("closed form", "integral of the pressure over the volume of air that expands")
def test_free_energy_is_the_work_beyond_the_air_outside() -> None:
    pg, v = 13_800.0, 0.006
    p = P0 + pg
    grown = v * (p / P0) ** (1.0 / 1.4)
    volumes = np.linspace(v, grown, 20_001)
    pressures = p * (v / volumes) ** 1.4
    work = float(np.trapezoid(pressures - P0, volumes))
    # The code rounds (k - 1) / k = 2/7 to 0.286.
    assert free_energy(pg, v, P0) == pytest.approx(work, rel=0.02)


@pytest.mark.expected_from(
    "published", "cfr-1065-644, the example's numbers: 2 L, 25.3 to 50.6 kPa in 70 s (A34)"
)
def test_vacuum_decay() -> None:
    found = leak_in_moles(25_300.0, 50_600.0, 293.15, 293.15, 0.002, 70.0)
    assert found == pytest.approx(2.966e-4, rel=0.005)


@pytest.mark.expected_from(
    "closed form", "ideal gas law, 6 L, 200 Pa in 300 s at 20 degC; and one kelvin alone"
)
def test_decay() -> None:
    assert standard_leak(115_125.0, 114_925.0, 293.15, 293.15, 0.006, 300.0) == pytest.approx(
        0.0368e-6, rel=0.003
    )
    assert pressure_of_warming(115_125.0, 293.15, 1.0) == pytest.approx(393.0, abs=0.5)
    fake = standard_leak(115_125.0, 115_125.0, 293.15, 294.15, 0.006, 300.0)
    assert fake == pytest.approx(0.072e-6, rel=0.01)
    moles = -leak_in_moles(115_125.0, 114_925.0, 293.15, 293.15, 0.006, 300.0)
    assert moles * 8.314462618 * 273.15 / P0 == pytest.approx(0.0368e-6, rel=0.003)


@pytest.mark.expected_from("closed form", "Monte Carlo of the readings, seeded")
def test_what_a_gauge_can_tell() -> None:
    rng = np.random.default_rng(5)
    n = 40_000
    p1, p2 = 111_325.0 + rng.uniform(-100, 100, (2, n))
    t1, t2 = 293.15 + rng.uniform(-0.3, 0.3, (2, n))
    leaks = 0.006 * 273.15 / P0 * (p1 / t1 - p2 / t2) / 300.0
    found = detectable_leak(100.0, 0.3, 111_325.0, 293.15, 0.006, 300.0)
    assert found == pytest.approx(2.0 * float(leaks.std()), rel=0.02)


@pytest.mark.expected_from("closed form", "pressure times area, beam held at both ends, weight of a column")
def test_lid_bar_and_column() -> None:
    assert lid_thrust(13_800.0, 0.1) == pytest.approx(1_380.0)
    # Clamped bar of steel 3 mm thick, 20 mm wide, 5 N/mm over 70 mm: 34 um.
    assert lift_between_bolts(5_000.0, 0.07, 207e9, 0.02, 0.003) == pytest.approx(34e-6, rel=0.02)
    assert head_pressure(1000.0, 0.2) == pytest.approx(1_961.0, rel=1e-3)
