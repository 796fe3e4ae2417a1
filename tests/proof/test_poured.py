"""The volume model put right by pours into a pan that is known to be off."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from sumpwright.proof.model import Pour, StickCorrection
from sumpwright.proof.poured import corrected
from sumpwright.quantities.units import FloatArray

JUG_U, READ_U, POUR_U = 0.003, 0.0007, 0.003
LITRES = (1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5)
HEIGHT = np.linspace(0.0, 0.16, 321)
SUMP, TRAY = 0.03, 0.07  # m2 below and above 100 mm
SEEN = HEIGHT >= 0.02  # the stick's tip stands 20 mm off the floor


def heap(area: FloatArray, below: float) -> FloatArray:
    """Volume up to each height of a pan with that area at each height."""
    return np.concatenate([[0.0], np.cumsum(0.5 * (area[1:] + area[:-1]) * np.diff(HEIGHT))]) + below


DRAWN = heap(np.where(HEIGHT < 0.1, SUMP, TRAY), 0.0)


def stick() -> FloatArray:
    """A sump under a tray as drawn: readings from the shoulder (further down = less oil) and volumes."""
    return np.column_stack([0.45 - HEIGHT[SEEN], DRAWN[SEEN]])


class BuiltPan:
    """The same pan as it came off the bench: walls that lean, a floor that bulges, a stick that is off."""

    def __init__(self, rng: np.random.Generator) -> None:
        sump, lean, tray = 0.02 * rng.normal(), 0.01 * rng.normal(), 0.02 * rng.normal()
        along = HEIGHT / 0.1 - 0.5
        area = np.where(HEIGHT < 0.1, SUMP * (1 + sump + lean * along), TRAY * (1 + 0.6 * sump + 0.6 * tray))
        self.volume = heap(area, 0.02 * rng.normal() * SUMP * 0.02)
        self.shift = 0.002 * rng.normal()
        self.jug = JUG_U * rng.normal()
        self.rng = rng

    def reading(self, volume: float) -> float:
        return 0.45 - float(np.interp(volume, self.volume, HEIGHT)) + self.shift

    def pours(self, litres: tuple[float, ...]) -> tuple[Pour, ...]:
        return tuple(
            Pour(
                litre * 1e-3 / (1 + self.jug) * (1 + POUR_U * self.rng.normal()),
                self.reading(litre * 1e-3) + READ_U * self.rng.normal(),
            )
            for litre in litres
        )

    def put_right(self, pours: tuple[Pour, ...]) -> StickCorrection:
        found = corrected(stick(), pours, (("full", 4.5e-3), ("low", 3.2e-3)), jug_u=JUG_U, read_u=READ_U)
        assert found is not None
        return found


@pytest.mark.expected_from(
    "property", "pans with leaning walls and bulged floors: volumes and marks lie within what is told"
)
def test_a_synthetic_pan_is_recovered_within_its_stated_uncertainty() -> None:
    rng = np.random.default_rng(4)
    inside: list[bool] = []
    marks: list[bool] = []
    whole: list[bool] = []
    fits = 0
    for _ in range(60):
        pan = BuiltPan(rng)
        found = pan.put_right(pan.pours(LITRES))
        fits += found.fits
        for row in found.curve:
            # The table's row stands for a height: the true volume there against what is told.
            height = 0.45 - (row.reading - found.shift)
            true = float(np.interp(height, HEIGHT, pan.volume))
            inside.append(abs(row.volume - true) < 2.0 * row.volume_u)
        for (_, _, at, u), wanted in zip(found.marks, (4.5e-3, 3.2e-3), strict=True):
            marks.append(abs(at - pan.reading(wanted)) < 2.0 * u)
        whole.append(abs(found.capacity.volume - pan.volume[-1]) < 2.0 * found.capacity.volume_u)
    assert fits >= 59
    # 95 % is told; sixty pans scatter by three in a hundred about it.
    assert np.mean(inside) > 0.91
    assert np.mean(marks) > 0.93
    assert np.mean(whole) > 0.91


@pytest.mark.expected_from("property", "put right, the curve is far nearer to the pan than the drawing was")
def test_the_curve_comes_nearer_than_the_drawing() -> None:
    rng = np.random.default_rng(7)
    before, after = [], []
    for _ in range(30):
        pan = BuiltPan(rng)
        found = pan.put_right(pan.pours(LITRES))
        for litre in LITRES:
            at = pan.reading(litre * 1e-3)
            table = stick()
            drawn = float(np.interp(-at, -table[:, 0], table[:, 1]))
            told = np.array([[row.reading, row.volume] for row in found.curve])
            before.append(drawn - litre * 1e-3)
            after.append(float(np.interp(-at, -told[:, 0], told[:, 1])) - litre * 1e-3)
    assert np.std(after) < 0.35 * np.std(before)


@pytest.mark.expected_from("property", "each pour makes volume, shift and marks surer, never less sure")
def test_uncertainty_shrinks_with_each_pour() -> None:
    pan = BuiltPan(np.random.default_rng(1))
    pours = pan.pours(LITRES)
    found = [pan.put_right(pours[: k + 1]) for k in range(len(pours))]
    for before, after in pairwise(found):
        # Within a hundredth: where the answer moves along a curved table its slope moves too.
        assert after.scale_u < 1.01 * before.scale_u
        assert after.shift_u < 1.01 * before.shift_u
        for one, two in zip(before.curve, after.curve, strict=True):
            assert two.volume_u < 1.02 * one.volume_u
    assert found[-1].capacity.volume_u < 0.8 * found[0].capacity.volume_u
    assert found[-1].curve[6].volume_u < 0.75 * found[0].curve[6].volume_u
    assert found[-1].marks[0][3] < 0.8 * found[0].marks[0][3]
    # What the jug is off by, no number of pours can tell.
    assert found[-1].scale_u > JUG_U


@pytest.mark.expected_from("closed form", "a pan as drawn stays as drawn, whatever is poured")
def test_a_pan_as_drawn_stays_so() -> None:
    pours = tuple(
        Pour(litre * 1e-3, 0.45 - float(np.interp(litre * 1e-3, DRAWN, HEIGHT))) for litre in LITRES
    )
    found = corrected(stick(), pours, (("full", 4.5e-3),))
    assert found is not None
    assert found.scale == pytest.approx(1.0, abs=1e-9)
    assert found.shift == pytest.approx(0.0, abs=1e-9)
    assert found.marks[0][2] == pytest.approx(found.marks[0][1], abs=1e-9)


@pytest.mark.expected_from("property", "pours that contradict each other are told")
def test_pours_that_contradict_each_other() -> None:
    pan = BuiltPan(np.random.default_rng(1))
    pours = pan.pours((1.5, 2.5, 3.5, 4.5))
    assert pan.put_right(pours).fits
    assert not pan.put_right((*pours[:3], Pour(3.0e-3, pours[3].reading))).fits


def test_no_pour_on_the_stick() -> None:
    assert corrected(stick(), (Pour(1e-3, 2.0),), ()) is None
