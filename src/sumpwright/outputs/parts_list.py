"""``parts.csv``: what to order and how each part lies on the sheet."""

from __future__ import annotations

import csv
import io

from sumpwright.geometry.arcs import outline_area, outline_box
from sumpwright.kit import FlatPart, KitInputs
from sumpwright.kit.internals_model import BoughtPart
from sumpwright.kit.model import density_of, is_flange
from sumpwright.outputs.cut_files import cut_file_names
from sumpwright.outputs.words import fill, write_number
from sumpwright.quantities.units import Kilogram, Metre

COLUMNS = (
    "name",
    "quantity",
    "material",
    "thickness_mm",
    "length_mm",
    "width_mm",
    "mass_kg",
    "file",
    "seen_from",
    "burr_side",
    "grain",
    "note",
)


def part_mass(part: FlatPart, inputs: KitInputs) -> Kilogram:
    """Mass of one piece, holes and cut-outs taken off."""
    area = outline_area(part.outline)
    area -= sum(abs(outline_area(cut_out)) for cut_out in part.cut_outs)
    area -= sum(_circle_area(hole.diameter) for hole in part.holes)
    return area * part.thickness * density_of(part, inputs)


def part_size(part: FlatPart) -> tuple[Metre, Metre]:
    """Greatest and least side of the box round the part as drawn."""
    low, high = outline_box(part.outline)
    x, y = float(high[0] - low[0]), float(high[1] - low[1])
    return max(x, y), min(x, y)


def stands_up(part: FlatPart) -> bool:
    """A piece of the flange that stands upright, between two heights of the rail."""
    return is_flange(part) and abs(float(part.frame.normal[2])) < 0.5


def seen_from(part: FlatPart) -> str:
    """Which side the drawing shows."""
    if part.face is None and (not is_flange(part) or stands_up(part)):
        return "the side its note names"
    return "below, front to the right" if is_flange(part) else "outside of the pan"


def burr_side(part: FlatPart) -> str:
    """Where the cutter's burr belongs: on the side away from the viewer, and off again."""
    if part.roll is not None or stands_up(part):
        return "back, which takes the seal: deburr"
    if part.face is None and not is_flange(part):
        return "back: deburr both edges, it lies in the oil"
    return (
        "back, which is the sealing face: deburr and face flat"
        if is_flange(part)
        else "back, which is the oil side: deburr"
    )


def parts_csv(parts: tuple[FlatPart, ...], inputs: KitInputs, bought: tuple[BoughtPart, ...] = ()) -> bytes:
    """The list as comma-separated text, one line a part, lengths in millimetres; bought parts last."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for part, file in zip(parts, cut_file_names(parts), strict=True):
        length, width = part_size(part)
        writer.writerow(
            (
                part.name,
                part.quantity,
                part.material,
                write_number(part.thickness * 1e3, 3).rstrip("0").rstrip("."),
                write_number(length * 1e3, 2),
                write_number(width * 1e3, 2),
                write_number(part_mass(part, inputs), 3),
                f"cut/{file}",
                seen_from(part),
                burr_side(part),
                "any",
                part.note,
            )
        )
    for each in bought:
        quantity, size = (fill(words, each.figures, "mm") for words in (each.quantity, each.size))
        note = f"{size}; check: {fill(each.check, each.figures, 'mm')}"
        writer.writerow((each.name, quantity, each.material, *[""] * 5, "to buy", "", "", note))
    return text.getvalue().encode()


def _circle_area(diameter: float) -> float:
    return 0.7853981633974483 * diameter * diameter
