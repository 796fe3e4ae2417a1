"""Thirty unlike parts on the shop's sheets."""

from __future__ import annotations

import time

from tests.kit.nest_parts_by_hand import nest_inputs, wall_like

from benchmarks import Row


def run() -> list[Row]:
    from sumpwright.kit.nesting import nest_parts

    parts = [wall_like(number) for number in range(30)]
    inputs = nest_inputs((2000, 1000), (1000, 500))
    nest_parts(inputs, parts[:2])
    start = time.perf_counter()
    plan = nest_parts(inputs, parts)
    taken = time.perf_counter() - start
    used = sum(nest.used_length * nest.blank.size[1] for nest in plan.nests)
    metal = sum(nest.used_share * nest.used_length * nest.blank.size[1] for nest in plan.nests)
    note = f"{metal / used:.0%} of what is cut off is parts"
    return [Row("30 parts nested, two sheet sizes", taken, target="under 10 s", note=note)]
