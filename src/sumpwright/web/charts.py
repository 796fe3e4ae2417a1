"""Maps and traces as numbers: cover, driven runs, pressure at the pump, each with its limit."""

from __future__ import annotations

import numpy as np

from sumpwright.motion.model import CoverMap, HeldTo, Tightest
from sumpwright.outputs.words import printed_unit, write_value
from sumpwright.quantities.units import STANDARD_GRAVITY
from sumpwright.suction.model import PressureMap
from sumpwright.web.picture_messages import (
    Chart,
    ChartLine,
    CoverGrid,
    CoverPicture,
    HeldRow,
    LimitLine,
    ShareBar,
    ShareOf,
    SuctionPicture,
)
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import degrees, finite_list, finite_or_none

MOST_TEMPERATURES = 6
"""Lines in the suction chart; more would not be told apart."""


def cover_picture(now: Snapshot, revision: str) -> CoverPicture:
    """Both cover maps, as far as they could be drawn."""
    motion = now.results().motion
    if motion is None:
        return CoverPicture(revision=revision, trouble=["Nothing was worked out yet."], maps=[])
    maps = []
    if motion.accelerations is not None and motion.tightest_acceleration is not None:
        maps.append(
            _grid(motion.accelerations, motion.least_cover, motion.tightest_acceleration, motion.held_to)
        )
    if motion.slopes is not None and motion.tightest_slope is not None:
        maps.append(_grid(motion.slopes, motion.least_cover, motion.tightest_slope, ()))
    trouble = [f"{key} is missing in the job file." for key in motion.missing]
    if not motion.mouth_is_inside:
        trouble.append("The mouth lies outside the oil space.")
    return CoverPicture(revision=revision, trouble=trouble, maps=maps)


def _grid(cover: CoverMap, wanted: float, tightest: Tightest, held: tuple[HeldTo, ...]) -> CoverGrid:
    is_accelerations = cover.kind == "accelerations"
    scale = 1.0 / STANDARD_GRAVITY if is_accelerations else 180.0 / np.pi

    def plain(value: float) -> float:
        return round(value / STANDARD_GRAVITY, 6) if is_accelerations else degrees(value)

    return CoverGrid(
        kind=cover.kind,
        title="Oil over the mouth, driven" if is_accelerations else "Oil over the mouth, on slopes",
        shape=cover.shape,
        across=[round(float(value) * scale, 5) for value in cover.across],
        along=[round(float(value) * scale, 5) for value in cover.along],
        cover_mm=finite_list(cover.cover, 1e3, 2),
        cut_off=[bool(value) for value in cover.is_cut_off],
        wanted_mm=round(wanted * 1e3, 3),
        tightest_across=plain(tightest.across),
        tightest_along=plain(tightest.along),
        tightest_words=tightest.words,
        tightest_cover_mm=finite_or_none(tightest.cover * 1e3, 3) or 0.0,
        held_to=[
            HeldRow(
                words=one.words,
                held_g=finite_or_none(one.acceleration / STANDARD_GRAVITY, 4),
                asked_g=round(one.asked / STANDARD_GRAVITY, 4),
                all=one.is_all,
            )
            for one in held
        ],
    )


def suction_picture(now: Snapshot, revision: str) -> SuctionPicture:
    """Pressure at the pump over engine speed, one line a temperature, and who takes how much."""
    suction, job = now.results().suction, now.job
    if suction is None or job is None:
        trouble = ["Nothing was worked out yet, or the job has no pickup line."]
        return SuctionPicture(revision=revision, trouble=trouble, charts=[], shares=[])
    return SuctionPicture(
        revision=revision,
        trouble=[f"{what} ({key})" for what, key in suction.cannot],
        charts=[] if suction.map is None else [_pressure_chart(suction.map, job.units)],
        shares=[
            ShareBar(
                name=point.name,
                pressure_kpa=round(point.pressure / 1e3, 3),
                limit_kpa=round(point.limit / 1e3, 3),
                parts=[
                    ShareOf(
                        name=share.element,
                        loss_kpa=round(share.loss / 1e3, 4),
                        least_kpa=round(share.loss_least / 1e3, 4),
                        most_kpa=round(share.loss_most / 1e3, 4),
                    )
                    for share in point.shares
                ],
            )
            for point in suction.points
        ],
    )


def _pressure_chart(pressure: PressureMap, units: str) -> Chart:
    unit = printed_unit("pressure", "Pa", "in" if units == "in" else "mm")
    count = len(pressure.temperatures)
    rows = np.unique(np.linspace(0, count - 1, min(count, MOST_TEMPERATURES)).round().astype(int))
    limits = []
    for value in dict.fromkeys(round(float(pressure.limit[row]), 3) for row in rows):
        at = [
            write_value(
                float(pressure.temperatures[row]), "K", "temperature", "in" if units == "in" else "mm"
            )
            for row in rows
            if round(float(pressure.limit[row]), 3) == value
        ]
        words = f"least wanted, {at[0]} to {at[-1]}" if len(at) > 1 else f"least wanted, {at[0]}"
        limits.append(LimitLine(name=words, value=round(unit.number(value), 4), least=True))
    return Chart(
        id="suction",
        section="suction",
        title="Pressure at the pump, absolute",
        x_label="engine speed, rpm",
        y_label=f"absolute pressure, {unit.label}",
        x=[round(float(speed) * 60.0, 3) for speed in pressure.speeds],
        lines=[
            ChartLine(
                name=write_value(
                    float(pressure.temperatures[row]), "K", "temperature", "in" if units == "in" else "mm"
                ),
                values=[
                    round(unit.number(float(value)), 4) if value > 0.0 else None
                    for value in pressure.pressure[row]
                ],
            )
            for row in rows
        ],
        limits=limits,
        words="Where a line ends, the pump cannot be fed at that speed.",
    )
