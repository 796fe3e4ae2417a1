"""The Suction section's tables: pressure at the pump, where it is lost, what would cure it."""

from __future__ import annotations

import math

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import UnitSystem, write_length, write_number, write_value
from sumpwright.suction.model import Element, PressureMap, SuctionResult

_ELEMENTS: dict[Element, str] = {
    "entrance": "into the mouth",
    "screen": "screen",
    "tube": "tube, straight",
    "bends": "tube, bends",
    "velocity": "setting it moving",
    "lift": "lifting it",
}
_MOST_SPEEDS = 7
_MOST_TEMPERATURES = 14


def suction_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the suction side that is not a finding."""
    suction = results.suction
    if suction is None:
        return
    if suction.points:
        _points(form, suction, job.units)
    if suction.map is not None:
        _pressures(form, suction.map, job.units)
    if suction.cures:
        _cures(form, suction, job.units)
    if suction.air:
        _air(form, suction, job.units)


def _kpa(value: float, units: UnitSystem, digits: int = 1) -> str:
    return write_value(value, "Pa", "pressure", units, digits)


def _points(form: Form, suction: SuctionResult, units: UnitSystem) -> None:
    form.caption("Where the pressure goes on its way to the pump", follow=70.0)
    form.words(
        "What is missing at the pump against the air outside, part by part; in brackets the honest band of"
        " the formula. The pressure at the pump counts from nothing (absolute).",
        8.5,
    )
    points = suction.points
    rows = [
        Row(("oil", *(write_value(point.temperature, "K", "temperature", units, 0) for point in points))),
        Row(("engine speed", *(f"{write_number(point.speed * 60, 0)} rev/min" for point in points))),
        Row(("flow asked", *(write_value(point.flow, "m3/s", "flow", units, 1) for point in points))),
        Row(
            (
                "speed in the tube",
                *(write_value(point.velocity, "m/s", "speed", units, 2) for point in points),
            )
        ),
    ]
    elements = [share.element for share in points[0].shares]
    for element in elements:
        cells = []
        for point in points:
            share = next((one for one in point.shares if one.element == element), None)
            cells.append(
                "–"
                if share is None
                else f"{_kpa(share.loss, units, 2)} ({_bare(share.loss_least, units, 2)} to"
                f" {_bare(share.loss_most, units, 2)})"
            )
        rows.append(Row((_ELEMENTS[element], *cells)))
    rows.append(Row(("left at the pump", *(_kpa(point.pressure, units) for point in points)), True))
    rows.append(
        Row(
            (
                "at the worst of every band",
                *(_kpa(point.pressure_least, units) for point in points),
            )
        )
    )
    rows.append(Row(("at least wanted", *(_kpa(point.limit, units) for point in points))))
    form.table(
        (Column("", 40), *(Column(point.name, 45, "right") for point in points)),
        tuple(rows),
    )


def _bare(value: float, units: UnitSystem, digits: int = 1) -> str:
    return _kpa(value, units, digits).partition(" ")[0]


def _pressures(form: Form, pressures: PressureMap, units: UnitSystem) -> None:
    form.caption("Pressure at the pump over temperature and engine speed", follow=80.0)
    form.words("Absolute. In brackets: less than wanted. Stars: the oil's chart does not reach so far.", 8.5)
    speeds = _some(len(pressures.speeds), _MOST_SPEEDS)
    temperatures = _some(len(pressures.temperatures), _MOST_TEMPERATURES)
    rows = []
    for t in temperatures:
        cells = []
        for s in speeds:
            value = float(pressures.pressure[t, s])
            words = "none" if value <= 0.0 else _bare(value, units)
            words = f"({words})" if value < float(pressures.limit[t]) else words
            cells.append(words)
        heading = write_value(float(pressures.temperatures[t]), "K", "temperature", units, 0)
        if bool(pressures.is_extrapolated[t]):
            heading += " *"
        rows.append(Row((heading, *cells, _bare(float(pressures.limit[t]), units))))
    unit = _kpa(1e5, units).partition(" ")[2]
    form.table(
        (
            Column(f"{unit} at", 22, "right"),
            *(
                Column(f"{write_number(float(pressures.speeds[s]) * 60, 0)} rev/min", 22, "right")
                for s in speeds
            ),
            Column("wanted", 18, "right"),
        ),
        tuple(rows),
    )


def _some(count: int, most: int) -> list[int]:
    """Indices of at most so many rows, first and last among them."""
    if count <= most:
        return list(range(count))
    return sorted({round(k * (count - 1) / (most - 1)) for k in range(most)})


def _air(form: Form, suction: SuctionResult, units: UnitSystem) -> None:
    form.caption("Air in the oil", follow=40.0)
    form.words(
        "How long a drop rests in the pan on average, and the smallest bubble that rises out of the oil over "
        "the mouth in that time; finer ones go round. For comparing pans: no limit for either is known.",
        8.5,
    )
    form.table(
        (Column("", 70), Column("rests for", 30, "right"), Column("bubbles from", 34, "right")),
        tuple(
            Row(
                (
                    row.what,
                    write_value(row.residence, "s", "time", units, 1),
                    write_length(row.clearing_bubble, units, 2 if units == "mm" else 3),
                ),
                False,
            )
            for row in suction.air
        ),
    )
    if suction.return_fall is not None and suction.return_speed is not None and suction.return_fall > 0.0:
        drop = write_length(suction.return_fall, units, 0)
        strikes = write_value(suction.return_speed, "m/s", "speed", units, 1)
        form.words(
            f"Oil that falls freely from the rail drops {drop} and strikes at {strikes}; led down a wall or "
            "onto a baffle it arrives calmly and beats in less air.",
            8.5,
        )


def _cures(form: Form, suction: SuctionResult, units: UnitSystem) -> None:
    form.caption("One size that would do, the rest unchanged")

    def size(what: str, value: float) -> str:
        if what == "screen area":
            return write_value(value, "m2", "area", units, 0)
        return write_length(value, units, 1)

    form.table(
        (Column("", 50), Column("now", 40, "right"), Column("needed", 50, "right")),
        tuple(
            Row(
                (
                    cure.what,
                    size(cure.what, cure.now),
                    "this alone does not do it"
                    if cure.needed is None or not math.isfinite(cure.needed)
                    else size(cure.what, cure.needed),
                )
            )
            for cure in suction.cures
        ),
    )
