"""The Rail section's table of holes seen in scans and pictures."""

from __future__ import annotations

import math

from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import UnitSystem, write_bare_length
from sumpwright.quantities.measured import COVERAGE_95
from sumpwright.rail.scan_model import SeenRail


def seen_table(form: Form, seen: SeenRail, units: UnitSystem) -> None:
    """Every hole of one scan or picture that has a name."""
    named = [hole for hole in seen.holes if hole.name is not None]
    if not named:
        return
    form.caption(f"Holes seen in {seen.name}", follow=60.0)
    form.words(
        "Across: of the edge as it was seen. Seen: part of the edge. Off: from where the calipers put it"
        " (the whole laid over them).",
        8.5,
    )

    def length(value: float | None, digits: int = 2) -> str:
        return "–" if value is None else write_bare_length(value, units, digits)

    form.table(
        (
            Column("hole", 22),
            Column(f"across, {units}", 30, "right"),
            Column("seen, parts in 100", 36, "right"),
            Column(f"good to, {units}", 30, "right"),
            Column(f"off, {units}", 30, "right"),
        ),
        tuple(
            Row(
                (
                    str(hole.name),
                    length(hole.diameter),
                    f"{100.0 * hole.arc / (2.0 * math.pi):.0f}",
                    f"±{length(COVERAGE_95 * hole.u * seen.widened)}",
                    length(hole.off),
                )
            )
            for hole in named
        ),
        7.8,
    )
