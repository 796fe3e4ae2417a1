"""Bad readings: what they look like, two at once, and which reading to take next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sumpwright.rail import Reading
from sumpwright.rail.check import check
from sumpwright.rail.formulas import off_by_axes
from sumpwright.rail.slips import looks_like
from sumpwright.rail.solve import solve
from sumpwright.rail.uncertainty import hole_blocks, off_by
from tests.rail.rails import MM, centre, hole, ring_pairs, ring_rail


def slipped(kind: str, make, pair=(0, 7), n=16):
    """A well-read rail with one reading replaced by ``make(true, a, b, xy)``; its check."""
    a, xy = ring_rail(n, kind=kind, pairs=ring_pairs(n, (1, 2, 3, 5, 7)))
    readings = list(a.readings)
    i, j = pair
    k = next(q for q, r in enumerate(readings) if {r.a, r.b} == {f"h{i + 1}", f"h{j + 1}"})
    true = readings[k].value
    readings[k] = replace(readings[k], value=round(make(true, i, j, xy) / 1e-5) * 1e-5)
    result = solve(replace(a, readings=tuple(readings)))
    (bad,) = [c for c in result.checks if c.set_aside]
    assert bad.reading.line == readings[k].line
    return bad


@pytest.mark.expected_from("closed form", "the reading built with the slip")
@pytest.mark.parametrize(
    ("kind", "make", "words"),
    [
        ("inside", lambda d, i, j, xy: d + 6.6 * MM / 2, "the centre of h1 or h8 taken for its edge"),
        ("inside", lambda d, i, j, xy: d + 6.6 * MM, "the centres in place of the edges"),
        ("outside", lambda d, i, j, xy: d - 13.2 * MM, "read inside"),
        ("inside", lambda d, i, j, xy: d / 25.4, "an inch figure written down as millimetres"),
        ("centre", lambda d, i, j, xy: d * 25.4, "a millimetre figure written down as inches"),
        ("centre", lambda d, i, j, xy: float(np.hypot(*(xy[i] - xy[j + 1]))), "h9 read in place of h8"),
        ("centre", lambda d, i, j, xy: d + 10 * MM, "the scale read 10 mm off"),
    ],
)
def test_a_slip_is_recognised(kind, make, words):
    bad = slipped(kind, make)
    assert any(words in slip for slip in bad.looks_like), bad.looks_like


@pytest.mark.expected_from("closed form", "two neighbouring figures of 123.48 changed over")
@pytest.mark.parametrize(
    ("read", "should", "words"),
    [(132.48, 123.47, "123.48 mm written as 132.48"), (123.84, 123.47, "123.48 mm written as 123.84")],
)
def test_figures_changed_over(read, should, words):
    names = ("a", "b")
    xy = np.array([(0.0, 0.0), (should * MM, 0.0)])
    slips = looks_like(
        centre(2, "a", "b", read * MM),
        should * MM,
        0.05 * MM,
        tuple(hole(n) for n in names),
        xy,
        np.full(2, 6.6e-3),
    )
    assert any(words in slip for slip in slips)


def test_an_ordinary_miss_looks_like_nothing():
    xy = np.array([(0.0, 0.0), (0.12347, 0.0), (0.2, 0.2), (0.0, 0.3)])
    holes = tuple(hole(n) for n in "abcd")
    slips = looks_like(
        centre(2, "a", "b", 123.90 * MM), 123.47 * MM, 0.05 * MM, holes, xy, np.full(4, 6.6e-3)
    )
    assert slips == ()


@pytest.mark.expected_from("closed form", "radius in place of diameter")
def test_a_radius_in_place_of_a_diameter():
    reading = Reading(2, "diameter", "a", None, 3.3 * MM, "caliper", 5e-5, True)
    xy = np.zeros((2, 2))
    slips = looks_like(reading, 6.6 * MM, 0.05 * MM, tuple(hole(n) for n in "ab"), xy, np.full(2, 6.6e-3))
    assert slips == ("the radius in place of the diameter",)


@pytest.mark.expected_from("property", "one slip, however often it is read, is named and nothing else")
@pytest.mark.parametrize("times", [1, 2, 3, 4])
@pytest.mark.parametrize("slip", [0.6 * MM, 9.0 * MM])
def test_a_slip_read_again_and_again_is_named(times, slip):
    a, _ = ring_rail(14, pairs=ring_pairs(14, (1, 2, 3, 5, 6)), seed=3)
    readings = list(a.readings)
    bad = readings.pop(30)
    again = [
        replace(
            bad,
            line=900 + k,
            value=bad.value + slip + 0.02 * k * MM,
            a=(bad.a, bad.b)[k % 2],
            b=(bad.b, bad.a)[k % 2],
        )
        for k in range(times)
    ]
    result = solve(replace(a, readings=(*readings, *again)))
    assert sorted(c.reading.line for c in result.checks if c.set_aside) == [900 + k for k in range(times)]
    assert result.not_told_apart == ()
    said = [f for f in check(a, result).findings if f.code == "RAIL-04"]
    assert len(said) == 1
    assert ("another way" in said[0].do) == (times > 1)


@pytest.mark.expected_from("property", "two bad readings put in, the same two named")
def test_two_bad_readings_at_once():
    found = 0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        a, _ = ring_rail(14, pairs=ring_pairs(14, (1, 2, 3, 5, 6)), seed=seed)
        readings = list(a.readings)
        # Two of one hole, pulling the same way: the hardest case.
        own = [k for k, r in enumerate(readings) if "h6" in (r.a, r.b)]
        pick = rng.choice(own, 2, replace=False)
        for k in pick:
            readings[k] = replace(readings[k], value=readings[k].value + 1.0 * MM)
        result = solve(replace(a, readings=tuple(readings)))
        named = {c.reading.line - 2 for c in result.checks if c.set_aside}
        found += named == set(pick.tolist())
    assert found >= 18


@pytest.mark.expected_from("closed form", "the best candidate added as a reading and adjusted anew")
def test_the_next_reading_does_what_is_said_of_it():
    a, _ = ring_rail(12, pairs=ring_pairs(12, (1, 2, 5)))
    first = solve(a)
    assert 1 <= len(first.next_readings) <= 5
    names = list(first.pattern.names)
    for tip in first.next_readings:
        i, j = names.index(tip.a), names.index(tip.b)
        read = centre(99, tip.a, tip.b, float(np.hypot(*(first.pattern.xy[i] - first.pattern.xy[j]))), tip.u)
        after = solve(replace(a, readings=(*a.readings, read)))
        assert off_by(after.pattern).max() == pytest.approx(tip.off_by, rel=1e-3)
        for k in tip.checks:
            assert first.checks[k].redundancy < 0.1 <= after.checks[k].redundancy


@pytest.mark.expected_from("closed form", "every pair tried by a full adjustment")
def test_the_first_tip_is_the_best_of_all_pairs():
    a, _ = ring_rail(7, pairs=ring_pairs(7, (1, 2)))
    result = solve(a)
    xy, names = result.pattern.xy, result.pattern.names
    best = {}
    for i in range(7):
        for j in range(i + 1, 7):
            read = centre(99, names[i], names[j], float(np.hypot(*(xy[i] - xy[j]))))
            after = solve(replace(a, readings=(*a.readings, read)))
            cured = sum(
                1
                for before, now in zip(result.checks, after.checks, strict=False)
                if before.redundancy < 0.1 <= now.redundancy
            )
            worst = max(
                off_by_axes(c[0, 0], c[0, 1], c[1, 1])[0] for c in hole_blocks(after.pattern.free_covariance)
            )
            best[names[i], names[j]] = (-cured, worst)
    tip = result.next_readings[0]
    chosen, top = best[tip.a, tip.b], min(best.values())
    assert chosen[0] == top[0]
    assert chosen[1] == pytest.approx(top[1], rel=1e-3)
