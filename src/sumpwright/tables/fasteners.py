"""Bolts, studs, dowels and washers: threads, clearance holes, washers, heads."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Literal

from sumpwright.quantities.units import Metre
from sumpwright.tables.data_files import INCH, MILLIMETRE, rows, scaled
from sumpwright.tables.model import Cited

Fit = Literal["fine", "medium", "coarse"]
"""Series of ISO 273; for inch bolts the close, normal and loose fits of ASME B18.2.8."""


@dataclass(frozen=True, slots=True)
class Thread:
    """One standard thread."""

    name: str  # as the trade writes it: "M8", "M8x1", "5/16-18"
    size: str  # what hole and washer tables go by: "M8", "5/16"
    system: Literal["metric", "inch"]
    series: Literal["coarse", "fine"]
    diameter: Metre
    pitch: Metre
    source: str


@dataclass(frozen=True, slots=True)
class Washer:
    """A plain washer."""

    inside: Metre
    outside: Metre
    thickness: Metre
    source: str


@dataclass(frozen=True, slots=True)
class DowelFit:
    """A dowel pin and the hole that slips over it by hand."""

    largest_pin: Cited  # diameter [m] of the largest pin of this nominal size
    hole: Cited  # diameter [m] of the close hole


@cache
def threads() -> tuple[Thread, ...]:
    """All threads the tables know, metric first."""
    found = []
    for row in rows("metric_threads"):
        coarse = row["series"] == "coarse"
        pitch = f"{float(row['pitch_mm']):g}"
        found.append(
            Thread(
                name=row["thread"] if coarse else f"{row['thread']}x{pitch}",
                size=row["thread"],
                system="metric",
                series="coarse" if coarse else "fine",
                diameter=scaled(row["diameter_mm"], MILLIMETRE),
                pitch=scaled(row["pitch_mm"], MILLIMETRE),
                source=row["source"],
            )
        )
    for row in rows("unified_threads"):
        found.append(
            Thread(
                name=f"{row['size']}-{row['threads_per_inch']}",
                size=row["size"],
                system="inch",
                series="coarse" if row["series"] == "coarse" else "fine",
                diameter=scaled(row["diameter_in"], INCH),
                pitch=INCH / float(row["threads_per_inch"]),
                source=row["source"],
            )
        )
    return tuple(found)


def find_thread(text: str) -> Thread | None:
    """The thread a fabricator means by "M8", "m8 x 1.25", "5/16-18 UNC" or "#10-24"; None if unknown.

    A metric size alone means its coarse pitch; an inch size needs its threads per inch.
    """
    plain = re.sub(r"\s+", "", text).upper().replace("×", "X")
    metric = re.fullmatch(r"M(\d+(?:\.\d+)?)(?:X(\d+(?:\.\d+)?))?", plain)
    if metric:
        size, pitch = float(metric[1]), metric[2]
        for thread in threads():
            if thread.system != "metric" or abs(thread.diameter / MILLIMETRE - size) > 1e-9:
                continue
            wanted = thread.series == "coarse" if pitch is None else _same(thread.pitch, float(pitch))
            if wanted:
                return thread
        return None
    inch = re.fullmatch(r"((?:#|NO\.?)?\d+(?:/\d+)?)(?:IN|\")?-(\d+)(?:UN[CF]?)?", plain)
    if inch:
        size_text = inch[1].replace("NO.", "#").replace("NO", "#")
        for thread in threads():
            if thread.system == "inch" and thread.name == f"{size_text}-{inch[2]}":
                return thread
    return None


def clearance_hole(size: str, fit: Fit = "medium") -> Cited | None:
    """Diameter [m] of the clearance hole for a thread size ("M6", "5/16"), or None if unknown."""
    for row in rows("clearance_holes"):
        if row["thread"] == size:
            return Cited(scaled(row[f"{fit}_mm"], MILLIMETRE), row["source"])
    inch_fit = {"fine": "close", "medium": "normal", "coarse": "loose"}[fit]
    for row in rows("clearance_holes_inch"):
        if row["size"] == size:
            return Cited(scaled(row[f"{inch_fit}_in"], INCH), row["source"])
    return None


def plain_washer(size: str) -> Washer | None:
    """The ordinary plain washer for a thread size, or None if unknown."""
    for table, key, suffix, unit in (
        ("washers", "thread", "mm", MILLIMETRE),
        ("washers_inch", "size", "in", INCH),
    ):
        for row in rows(table):
            if row[key] == size:
                return Washer(
                    inside=scaled(row[f"inside_{suffix}"], unit),
                    outside=scaled(row[f"outside_{suffix}"], unit),
                    thickness=scaled(row[f"thickness_{suffix}"], unit),
                    source=row["source"],
                )
    return None


def across_flats(size: str) -> Cited | None:
    """Width [m] across the flats of a hexagon head or nut, or None if unknown."""
    for row in rows("hexagon_heads"):
        if row["thread"] == size:
            return Cited(scaled(row["across_flats_mm"], MILLIMETRE), row["source"])
    for row in rows("hexagon_heads_inch"):
        if row["size"] == size:
            return Cited(scaled(row["across_flats_in"], INCH), row["source"])
    return None


def dowel_fit(diameter: Metre) -> DowelFit | None:
    """Largest pin and close hole for a dowel of this nominal diameter [m], or None out of the table."""
    for row in rows("dowel_fits"):
        over, to = scaled(row["over_mm"], MILLIMETRE), scaled(row["to_mm"], MILLIMETRE)
        if over < diameter <= to + 1e-12:
            return DowelFit(
                largest_pin=Cited(diameter + scaled(row["pin_upper_mm"], MILLIMETRE), row["pin_source"]),
                hole=Cited(diameter + scaled(row["close_allowance_mm"], MILLIMETRE), row["close_source"]),
            )
    return None


def _same(pitch: Metre, millimetres: float) -> bool:
    return abs(pitch / MILLIMETRE - millimetres) < 1e-9
