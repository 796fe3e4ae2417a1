"""Fillers, welding settings, and what must not be welded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from sumpwright.quantities.units import Ampere, Kelvin, Metre, MetrePerSecond, Volt
from sumpwright.tables.data_files import number, rows
from sumpwright.tables.materials import find_material

ZERO_CELSIUS: Kelvin = 273.15


@dataclass(frozen=True, slots=True)
class Filler:
    """One filler metal as bought."""

    id: str
    also: tuple[str, ...]
    family: str
    hottest: Kelvin | None  # warmest at which a seam of it may be kept for long; None = above any oil
    magnesium: float | None  # per cent, nominal
    source: str  # of the limit
    why: str  # of the limit


@dataclass(frozen=True, slots=True)
class FillerChoice:
    """What a pair of metals is welded with."""

    filler: str
    or_also: tuple[str, ...]
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class Settings:
    """Starting ranges for one thickness by hand. Try them on a scrap first."""

    process: str
    amps: tuple[Ampere, Ampere]
    volts: tuple[Volt, Volt]
    travel: tuple[MetrePerSecond, MetrePerSecond]
    rod: Metre
    tungsten: Metre | None
    gas: float  # L/min
    source: str
    travel_source: str


@dataclass(frozen=True, slots=True)
class NotToWeld:
    """Something that is often to hand and must not be welded into a pan."""

    what: str
    why: str
    instead: str
    source: str


@cache
def fillers() -> tuple[Filler, ...]:
    """All fillers of the table."""
    found = []
    for row in rows("filler_metals"):
        hot = number(row["hot_degc"])
        found.append(
            Filler(
                row["id"],
                tuple(row["also"].split("|")),
                row["family"],
                None if hot is None else hot + ZERO_CELSIUS,
                number(row["magnesium"]),
                row["hot_source"],
                row["why"],
            )
        )
    return tuple(found)


def find_filler(text: str) -> Filler | None:
    """The filler of this name, or None."""
    wanted = text.strip().casefold()
    for filler in fillers():
        if wanted in (name.casefold() for name in (filler.id, *filler.also)):
            return filler
    return None


def filler_for(metal_a: str, metal_b: str) -> FillerChoice | None:
    """What two metals are welded with; None where they are not welded or nothing is known of them."""
    for row in rows("weld_fillers"):
        if {row["metal_a"], row["metal_b"]} == {metal_a, metal_b} and row["filler"]:
            return FillerChoice(
                row["filler"],
                tuple(row["or_also"].split("|")) if row["or_also"] else (),
                row["why"],
                row["source"],
            )
    return None


def weld_settings(process: str, family: str, thickness: Metre) -> Settings | None:
    """Starting ranges for a thickness, between the rows of the table; None outside them."""
    table = [row for row in rows("weld_settings") if row["process"] == process and row["family"] == family]
    sizes = [float(row["thickness_mm"]) * 1e-3 for row in table]
    if not table or not sizes[0] - 2e-4 <= thickness <= sizes[-1] + 2e-4:
        return None
    above = next((k for k, size in enumerate(sizes) if size >= thickness), len(sizes) - 1)
    below = max(0, above - 1)
    span = sizes[above] - sizes[below]
    share = min(1.0, max(0.0, (thickness - sizes[below]) / span)) if span > 0.0 else 0.0
    one, two = table[below], table[above]

    def at(column: str) -> float:
        return float(one[column]) + share * (float(two[column]) - float(one[column]))

    near: Mapping[str, str] = two if share > 0.5 else one
    tungsten = number(near["tungsten_mm"])
    return Settings(
        process,
        (at("amps_least"), at("amps_most")),
        (at("volts_least"), at("volts_most")),
        (at("travel_least") * 1e-3, at("travel_most") * 1e-3),
        float(near["rod_mm"]) * 1e-3,
        None if tungsten is None else tungsten * 1e-3,
        at("gas_l_min"),
        near["source"],
        near["travel_source"],
    )


@cache
def not_to_weld() -> tuple[NotToWeld, ...]:
    """What must not be welded into a pan."""
    return tuple(
        NotToWeld(row["what"], row["why"], row["instead"], row["source"]) for row in rows("not_to_weld")
    )


def current_kind(family: str, process: str) -> str:
    """AC or DC: tungsten arc on aluminium is welded on alternating current, all else on direct."""
    return "AC" if family == "aluminium" and process == "TIG" else "DC"


def family_of(material: str) -> str | None:
    """Family of a metal by its id; None where it is not in the table."""
    metal = find_material(material)
    return None if metal is None else metal.family


@dataclass(frozen=True, slots=True)
class Acceptance:
    """One fault of a seam: what may be, and what is done where it may not."""

    fault: str
    share: float | None  # limit in thicknesses of the thinner sheet; None = not a size
    allowed: str
    repair: str
    source: str


@cache
def acceptance() -> tuple[Acceptance, ...]:
    """What may be seen on a finished seam that holds oil."""
    return tuple(
        Acceptance(row["fault"], number(row["share"]), row["allowed"], row["repair"], row["source"])
        for row in rows("weld_acceptance")
    )


LEFT_AFTER_GRINDING = 0.9
"""Share of the sheet that must be left where a seam is ground flush: common practice, no source."""
