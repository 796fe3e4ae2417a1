"""The rail: 40 holes and 200 readings with sifting, the next best reading over all pairs, 2,000 readings.

Run: python -m benchmarks.rail
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np
from scipy.optimize import least_squares
from tests.rail.rails import MM, ring_pairs, ring_rail

from benchmarks import Row
from sumpwright.rail.entry import EntryQuestion, entry_chance
from sumpwright.rail.network import build_network
from sumpwright.rail.next_reading import next_readings
from sumpwright.rail.shape import Datum, adjust_shape, first_shape
from sumpwright.rail.solve import solve
from sumpwright.rail.suspects import sift


def best_of(work: Callable[[], object], times: int = 7) -> float:
    """Shortest of several runs, the first of them not counted [s]."""
    work()
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        found.append(time.perf_counter() - begin)
    return min(found)


def forty_holes(slips: int):
    """200 inside readings of 40 holes, with bad ones among them."""
    a, _ = ring_rail(40, kind="inside", pairs=ring_pairs(40, (1, 2, 5, 9, 14)))
    readings = list(a.readings)
    for k, error in list(((33, 0.8), (90, 3.3), (150, 40.0)))[:slips]:
        readings[k] = replace(readings[k], value=readings[k].value + error * MM)
    return replace(a, readings=tuple(readings))


def run() -> list[Row]:
    """The rows of the speed table."""
    rows = []
    for slips in (0, 1, 3):
        a = forty_holes(slips)
        words = ("no bad reading", "one bad reading", "", "three bad readings")[slips]
        rows.append(
            Row(
                f"rail: 40 holes, 200 readings, {words}",
                best_of(partial(solve, a)),
                target="under 50 ms",
                note="start, fit, sifting, second shapes, next readings, placing",
            )
        )
    a = forty_holes(0)
    names = tuple(hole.name for hole in a.holes)
    network = build_network(a)
    datum = Datum(names.index(a.datum), names.index(a.second))
    start, _ = first_shape(network, datum)
    weights = 1.0 / network.u**2
    free = datum.free(network)

    def whole(x):
        out = start.copy()
        out[free] = x
        return out

    root = np.sqrt(weights)
    rows.append(
        Row(
            "rail: the fit alone, from a rough start",
            ours := best_of(lambda: adjust_shape(network, start, datum, weights)),
            reference := best_of(
                lambda: least_squares(
                    lambda x: root * (network.computed(whole(x)) - network.value),
                    start[free],
                    jac=lambda x: root[:, None] * network.jacobian(whole(x))[:, free],
                    method="lm",
                    xtol=1e-12,
                    ftol=1e-12,
                    gtol=1e-12,
                )
            ),
            reference / ours,
            "scipy least_squares, lm",
        )
    )
    sifted = sift(network, start, datum, is_wild=False)
    rows.append(
        Row(
            "rail: next best reading, all 780 pairs of 40 holes",
            best_of(lambda: next_readings(network, sifted, datum, 1.0, names)),
            target="under 1 s",
        )
    )
    repeats, _ = ring_rail(16, kind="inside", pairs=(ring_pairs(16, (1, 2, 3, 5)) * 32)[:2000])
    pairs, _ = ring_rail(64, pairs=list(itertools.combinations(range(64), 2))[:2000])
    rows.append(Row("rail: 2,000 readings of 16 holes", best_of(partial(solve, repeats), 3)))
    rows.append(Row("rail: 2,000 readings of 64 holes", best_of(partial(solve, pairs), 3)))
    pattern = solve(forty_holes(0)).pattern
    assert pattern is not None
    question = EntryQuestion(
        pattern.xy,
        pattern.free_covariance,
        np.full(40, 0.3 * MM),
        np.full(40, 0.12 * MM),
        12.2e-6,
        80.0,
        pattern.xy.mean(axis=0),
    )
    rows.append(
        Row("rail: entry chance of 40 bolts, 2,000 draws", best_of(partial(entry_chance, question), 3))
    )
    return rows


if __name__ == "__main__":
    for row in run():
        print(f"{row.work:60s} {row.ours * 1e3:9.2f} ms  {row.target}")
