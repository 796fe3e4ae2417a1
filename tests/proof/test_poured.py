"""The volume model put right by pours into a pan that is known to be off."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from sumpwright.proof.model import Pour
from sumpwright.proof.poured import POUR_U, READ_U, corrected


def stick() -> np.ndarray:
    """A sump under a tray: readings from the shoulder (further down = less oil) and volumes."""
    height = np.linspace(0.0, 0.16, 80)
    volume = np.where(height < 0.1, 0.03 * height, 0.003 + 0.07 * (height - 0.1))
    return np.column_stack([0.45 - height, volume])


def pours_of(scale: float, shift: float, litres: list[float], rng: np.random.Generator) -> tuple[Pour, ...]:
    table = stick()
    found = []
    for litre in litres:
        true = litre * 1e-3
        reading = float(np.interp(true / scale, table[:, 1], table[:, 0])) + shift
        found.append(Pour(true * (1 + POUR_U * rng.normal()), reading + READ_U * rng.normal()))
    return tuple(found)


@pytest.mark.expected_from(
    "property", "synthetic pan: the true scale and shift lie within the stated uncertainty"
)
def test_a_synthetic_pan_is_recovered_within_its_stated_uncertainty() -> None:
    rng = np.random.default_rng(4)
    inside, marks_inside, n = 0, 0, 200
    for _ in range(n):
        scale, shift = 1.0 + 0.02 * rng.normal(), 0.002 * rng.normal()
        found = corrected(stick(), pours_of(scale, shift, [1.5, 2.5, 3.5, 4.5], rng), (("full", 4.5e-3),))
        assert found is not None
        assert found.fits
        inside += (
            abs(found.scale - scale) < 2 * found.scale_u and abs(found.shift - shift) < 2 * found.shift_u
        )
        true_mark = float(np.interp(4.5e-3 / scale, stick()[:, 1], stick()[:, 0])) + shift
        marks_inside += abs(found.marks[0][2] - true_mark) < 2 * found.marks[0][3]
    # Two at 95 % each, tied together: nine in ten; marks 95 % and the reading's own on top.
    assert inside / n > 0.87
    assert marks_inside / n > 0.93


@pytest.mark.expected_from("property", "each pour makes scale, shift and mark surer, never less sure")
def test_uncertainty_shrinks_with_each_pour() -> None:
    rng = np.random.default_rng(1)
    pours = pours_of(1.02, 0.002, [1.5, 2.5, 3.5, 4.5], rng)
    found = [corrected(stick(), pours[: k + 1], (("full", 4.5e-3),)) for k in range(4)]
    for before, after in pairwise(found):
        assert before is not None
        assert after is not None
        # Within a hundredth: where the answer moves along a curved table its slope moves too.
        assert after.scale_u < 1.01 * before.scale_u
        assert after.shift_u < 1.01 * before.shift_u
    first, last = found[0], found[3]
    assert first is not None
    assert last is not None
    assert last.scale_u < 0.8 * 0.02
    assert last.marks[0][3] < 0.8 * first.marks[0][3]


@pytest.mark.expected_from("property", "pours that contradict each other are told")
def test_pours_that_contradict_each_other() -> None:
    rng = np.random.default_rng(1)
    pours = pours_of(1.0, 0.0, [1.5, 2.5, 3.5, 4.5], rng)
    wrong = (*pours[:3], Pour(3.0e-3, pours[3].reading))
    found = corrected(stick(), wrong, ())
    assert found is not None
    assert not found.fits


def test_no_pour_on_the_stick() -> None:
    assert corrected(stick(), (Pour(1e-3, 2.0),), ()) is None
