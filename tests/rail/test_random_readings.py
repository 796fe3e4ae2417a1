"""Readings put together at random: an answer or a reason, never an exception, never a number that is none."""

from __future__ import annotations

import math
import os
import random
import warnings

import numpy as np
import pytest

from sumpwright.outputs.words import fill
from sumpwright.rail import MirrorSide, RailInputs, Reading
from sumpwright.rail.check import check
from sumpwright.rail.model import ReadingKind
from sumpwright.rail.solve import solve
from tests.rail.rails import hole, inputs

CASES = 4000 if os.environ.get("SUMPWRIGHT_SOAK") == "1" else 40
KINDS: tuple[ReadingKind, ...] = (
    "centre", "inside", "outside", "same_side", "diameter", "in_line", "offset", "on_one_circle",
    "square", "mirrored", "readout", "scan", "height", "chord", "rise",
)  # fmt: skip
PARTS = {
    "offset": ("", "near", "far"),
    "mirrored": ("middle", "across"),
    "readout": ("x", "y"),
    "scan": ("x", "y"),
}


def thrown_together(seed: int) -> RailInputs:
    rng = random.Random(seed)
    is_wild = seed % 2 == 0
    n = rng.randint(1 if is_wild else 4, 10)
    names = [f"h{k}" for k in range(n)]
    xy = [(rng.uniform(0, 0.5), rng.choice((0.0, rng.uniform(0, 0.3)))) for _ in names]
    readings = []
    for k in range(rng.randint(0 if is_wild else 25, 70)):
        kind = rng.choice(KINDS) if rng.random() < 0.5 else "centre"
        a, b, c = rng.sample(names, 3) if n > 2 and not is_wild else [rng.choice(names) for _ in range(3)]
        value = math.dist(xy[names.index(a)], xy[names.index(b)]) + rng.gauss(0, 5e-5)
        if rng.random() < (0.15 if is_wild else 0.03):
            value = rng.choice((0.0, 1e-9, 0.05, 0.3, 5.0, 1e6))
        if is_wild and rng.random() < 0.01:
            value = rng.choice((math.nan, math.inf, -1.0))
        if kind in ("chord", "rise", "height"):
            a = "main"
        part = rng.choice(PARTS.get(kind, ("",)))
        u = rng.choice((5e-5, 5e-5, 1e-3, 1e-7))
        readings.append(Reading(k + 2, kind, a, b, value, "caliper", u, True, c, "", "one", part))
    mirror = MirrorSide(rng.choice(names), "left", "above") if rng.random() < 0.8 else None
    return inputs(
        [hole(name, rng.choice((None, 6.6e-3))) for name in names],
        readings,
        datum=rng.choice(names),
        second=rng.choice(names),
        mirror=mirror,
        bearing=0.3,
    )


@pytest.mark.soak
@pytest.mark.expected_from("property", "a pattern of true numbers, or what is missing and what would cure it")
def test_an_answer_or_a_reason():
    answered = 0
    for seed in range(CASES):
        made = thrown_together(seed)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            result = solve(made)
            report = check(made, result)
        if result.pattern is None:
            assert result.cannot, seed
        else:
            answered += 1
            assert np.all(np.isfinite(result.pattern.xy)), seed
            assert np.all(np.isfinite(result.pattern.free_covariance)), seed
            assert np.linalg.eigvalsh(result.pattern.covariance).min() > -1e-12, seed
        for finding in report.findings:
            for sentence in (finding.says, finding.how_sure, finding.do):
                fill(sentence, finding.figures, "mm")
    assert answered > CASES // 50
