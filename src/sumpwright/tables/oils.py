"""Engine oil grades: what the classification allows, and typical viscosities."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from sumpwright.quantities.units import Kelvin, PascalSecond, SquareMetrePerSecond
from sumpwright.tables.data_files import rows, scaled

MM2_PER_S = 1e-6
CELSIUS = 273.15


@dataclass(frozen=True, slots=True)
class WinterGrade:
    """A W grade: still cranks and still pumps at these temperatures."""

    grade: str
    cranking_limit: PascalSecond
    cranking_at: Kelvin
    pumping_limit: PascalSecond
    pumping_at: Kelvin
    kv100_least: SquareMetrePerSecond
    source: str


@dataclass(frozen=True, slots=True)
class HotGrade:
    """A high-temperature grade: kinematic viscosity at 100 degC from least up to below most."""

    grade: str
    with_winter: tuple[str, ...]  # winter grades this row is for; "" = alone; empty tuple = all
    kv100_least: SquareMetrePerSecond
    kv100_below: SquareMetrePerSecond
    high_shear_least: PascalSecond  # at 150 degC
    source: str


@dataclass(frozen=True, slots=True)
class TypicalOil:
    """What an oil of this grade typically measures."""

    grade: str
    kv40: SquareMetrePerSecond
    kv100: SquareMetrePerSecond
    source: str


@dataclass(frozen=True, slots=True)
class GradeName:
    """A grade taken apart: ``winter`` "" for a single hot grade, ``hot`` "" for a single winter grade."""

    winter: str
    hot: str

    def __str__(self) -> str:
        """As the trade writes it: "5W-30", "SAE 30"."""
        return (
            "-".join(part for part in (self.winter, self.hot) if part) if self.winter else f"SAE {self.hot}"
        )


@cache
def winter_grades() -> tuple[WinterGrade, ...]:
    """All winter grades, thinnest first."""
    return tuple(
        WinterGrade(
            grade=row["grade"],
            cranking_limit=scaled(row["cranking_mpas"], 1e-3),
            cranking_at=float(row["cranking_degc"]) + CELSIUS,
            pumping_limit=scaled(row["pumping_mpas"], 1e-3),
            pumping_at=float(row["pumping_degc"]) + CELSIUS,
            kv100_least=scaled(row["kv100_min"], MM2_PER_S),
            source=row["source"],
        )
        for row in rows("oil_winter_grades")
    )


@cache
def hot_grades() -> tuple[HotGrade, ...]:
    """All high-temperature grades, thinnest first."""
    return tuple(
        HotGrade(
            grade=row["grade"],
            with_winter=tuple(row["with"].split("|")) if row["with"] else (),
            kv100_least=scaled(row["kv100_min"], MM2_PER_S),
            kv100_below=scaled(row["kv100_max"], MM2_PER_S),
            high_shear_least=scaled(row["high_shear_min"], 1e-3),
            source=row["source"],
        )
        for row in rows("oil_hot_grades")
    )


@cache
def typical_oils() -> tuple[TypicalOil, ...]:
    """Typical viscosities by grade."""
    return tuple(
        TypicalOil(
            row["grade"], scaled(row["kv40"], MM2_PER_S), scaled(row["kv100"], MM2_PER_S), row["source"]
        )
        for row in rows("oil_typical")
    )


def read_grade(text: str) -> GradeName | None:
    """A grade as written on the can ("5W-30", "10w40", "SAE 30"), or None where it is none."""
    found = re.fullmatch(
        r"(?:SAE)?\s*(?:(\d{1,2})\s*W)?\s*[-/ ]?\s*(\d{1,2})?", text.strip(), flags=re.IGNORECASE
    )
    if found is None or not any(found.groups()):
        return None
    name = GradeName(f"{found[1]}W" if found[1] else "", found[2] or "")
    if name.winter and name.winter not in {grade.grade for grade in winter_grades()}:
        return None
    if name.hot and name.hot not in {grade.grade for grade in hot_grades()}:
        return None
    return name


def winter_grade(name: GradeName) -> WinterGrade | None:
    """The winter half of a grade."""
    return next((grade for grade in winter_grades() if grade.grade == name.winter), None)


def hot_grade(name: GradeName) -> HotGrade | None:
    """The hot half of a grade; SAE 40 depends on the winter half."""
    return next(
        (
            grade
            for grade in hot_grades()
            if grade.grade == name.hot and (not grade.with_winter or name.winter in grade.with_winter)
        ),
        None,
    )


def typical_oil(name: GradeName) -> TypicalOil | None:
    """Typical viscosities of this very grade, or None where the table has none."""
    wanted = "-".join(part for part in (name.winter, name.hot) if part)
    return next((oil for oil in typical_oils() if oil.grade == wanted), None)


def hot_grade_of(
    kv100: SquareMetrePerSecond, high_shear: PascalSecond | None = None, winter: str = ""
) -> str:
    """The highest hot grade whose limits an oil meets; "" where it meets none.

    Without a high-shear viscosity only the kinematic limits are held against it.
    """
    fitting = [
        grade.grade
        for grade in hot_grades()
        if (not grade.with_winter or winter in grade.with_winter)
        and grade.kv100_least <= kv100 * (1.0 + 1e-12) < grade.kv100_below
        and (high_shear is None or high_shear >= grade.high_shear_least)
    ]
    return fitting[-1] if fitting else ""
