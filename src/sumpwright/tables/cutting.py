"""How true a cut is, and what each cutting process can do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities.units import Metre
from sumpwright.tables.data_files import MILLIMETRE, number, rows, scaled
from sumpwright.tables.model import Cited

ToleranceClass = Literal[1, 2]
"""Of ISO 9013: 1 is what laser cutting reaches, 2 plasma and oxyfuel."""

Grade = Literal["f", "m", "c", "v"]
"""Of ISO 2768-1: fine, medium, coarse, very coarse."""

_EDGES = (0.0, 3.0, 10.0, 35.0, 125.0, 315.0, 1000.0, 2000.0, 4000.0)


@dataclass(frozen=True, slots=True)
class CuttingPractice:
    """What a process can usually do in sheet of one thickness."""

    process: str
    kerf: Metre
    least_hole: Metre
    possible_hole: Metre  # smaller, but some cutters make it: ask
    least_web: Metre  # metal between two cuts
    least_edge: Metre  # hole's edge to the part's edge
    inside_radius: Metre  # what stays in a sharp inside corner
    tolerance_class: ToleranceClass | None  # of ISO 9013; None = flat tolerance below
    tolerance: Metre | None  # plus and minus, where the process has no class
    source: str


def cut_deviation(thickness: Metre, nominal: Metre, tolerance_class: ToleranceClass = 1) -> Cited | None:
    """Limit deviation [m], plus and minus, of a nominal dimension; None outside the table (ISO 9013)."""
    t, size = _millimetres(thickness), _millimetres(nominal)
    if size <= 0.0 or size >= _EDGES[-1]:
        return None
    column = f"from_{max(edge for edge in _EDGES if edge <= size):g}"
    for row in rows(f"cut_deviations_{tolerance_class}"):
        if float(row["over_mm"]) < t <= float(row["to_mm"]):
            value = number(row[column])
            return None if value is None else Cited(scaled(row[column], MILLIMETRE), row["source"])
    return None


def general_tolerance(nominal: Metre, grade: Grade = "m") -> Cited | None:
    """General tolerance [m], plus and minus, of a linear dimension; None outside the table (ISO 2768-1)."""
    size = _millimetres(nominal)
    for row in rows("general_tolerances"):
        over = float(row["over_mm"])
        # The first range takes in its own lower end.
        if (over < size or (over == 0.5 and size == 0.5)) and size <= float(row["to_mm"]):
            value = number(row[grade])
            return None if value is None else Cited(scaled(row[grade], MILLIMETRE), row["source"])
    return None


def cutting_processes() -> tuple[str, ...]:
    """The processes of the table."""
    return tuple(row["process"] for row in rows("cutting_practice"))


def cutting_practice(process: str, thickness: Metre) -> CuttingPractice | None:
    """What a process can usually do in this thickness, or None for an unknown process."""
    for row in rows("cutting_practice"):
        if row["process"] != process.strip().casefold():
            continue
        grade = number(row["deviation_class"])
        return CuttingPractice(
            process=row["process"],
            kerf=scaled(row["kerf_mm"], MILLIMETRE),
            least_hole=max(float(row["least_hole_t"]) * thickness, scaled(row["least_hole_mm"], MILLIMETRE)),
            possible_hole=min(
                max(float(row["possible_hole_t"]) * thickness, scaled(row["least_hole_mm"], MILLIMETRE)),
                max(float(row["least_hole_t"]) * thickness, scaled(row["least_hole_mm"], MILLIMETRE)),
            ),
            least_web=max(float(row["least_web_t"]) * thickness, scaled(row["least_web_mm"], MILLIMETRE)),
            least_edge=min(
                float(row["least_edge_t"]) * thickness, scaled(row["least_edge_most_mm"], MILLIMETRE)
            ),
            inside_radius=scaled(row["inside_radius_mm"], MILLIMETRE),
            tolerance_class=None if grade is None else (1 if grade == 1.0 else 2),
            tolerance=(
                None if number(row["tolerance_mm"]) is None else scaled(row["tolerance_mm"], MILLIMETRE)
            ),
            source=row["source"],
        )
    return None


def process_tolerance(practice: CuttingPractice, thickness: Metre, nominal: Metre) -> Cited | None:
    """Plus and minus [m] on a dimension cut by this process in this thickness; None outside the table."""
    if practice.tolerance_class is None:
        return None if practice.tolerance is None else Cited(practice.tolerance, practice.source)
    return cut_deviation(thickness, nominal, practice.tolerance_class)


def _millimetres(length: Metre) -> float:
    """Millimetres to a nanometre: a limit of the table must not be missed by a rounding error."""
    return round(length / MILLIMETRE, 6)
