"""Nests: each sheet with its parts as a DXF to cut and an SVG to look at.

The DXF holds the parts only, the sheet's corner at 0, 0 and its length along x; the
sheet's own edge is in the SVG, where nobody cuts it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from html import escape

import numpy as np

from sumpwright.geometry import Circle, Outline, Stroke
from sumpwright.geometry.arcs import chorded
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.nest_model import Nest, Placement
from sumpwright.outputs.cut_files import drawing_bytes, file_word
from sumpwright.outputs.words import write_number
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

_SAG: Metre = 2e-5


def placed_part(part: FlatPart, placement: Placement) -> FlatPart:
    """The part turned and moved to its place on the sheet; never turned over."""
    cos, sin = math.cos(placement.angle), math.sin(placement.angle)
    turn = np.array([[cos, -sin], [sin, cos]])
    shift = np.array([placement.dx, placement.dy])

    def points(flat: FloatArray) -> FloatArray:
        return frozen_array(flat @ turn.T + shift)

    def outline(line: Outline) -> Outline:
        return Outline(points(line.points), line.bulges)

    def hole(one: Circle) -> Circle:
        x, y = turn @ (one.x, one.y) + shift
        return Circle(float(x), float(y), one.diameter, one.label)

    return replace(
        part,
        outline=outline(part.outline),
        cut_outs=tuple(outline(line) for line in part.cut_outs),
        holes=tuple(hole(one) for one in part.holes),
        marks=tuple(
            replace(mark, strokes=tuple(Stroke(points(stroke.points)) for stroke in mark.strokes))
            for mark in part.marks
        ),
    )


def parts_on(nest: Nest, kit: SheetKit) -> tuple[FlatPart, ...]:
    """Every piece of the nest at its place."""
    by_name = {part.name: part for part in kit.parts}
    return tuple(placed_part(by_name[placement.part], placement) for placement in nest.placements)


def nest_file_stem(nest: Nest) -> str:
    """File name without its ending: nest-1_3mm_5052-H32."""
    thickness = write_number(nest.blank.thickness * 1e3, 3).rstrip("0").rstrip(".")
    return f"nest-{nest.number}_{thickness}mm_{file_word(nest.blank.material)}"


def nest_files(kit: SheetKit) -> dict[str, bytes]:
    """All nests, drawings in both forms and a picture each, by their names in the folder of cut files."""
    files: dict[str, bytes] = {}
    for nest in () if kit.nests is None else kit.nests.nests:
        parts = parts_on(nest, kit)
        size = frozen_array(nest.blank.size)
        stem = nest_file_stem(nest)
        box = (frozen_array([0.0, 0.0]), size)
        files[f"{stem}.dxf"] = drawing_bytes(parts, box)
        files[f"r12/{stem}.dxf"] = drawing_bytes(parts, box, "R12")
        files[f"{stem}.svg"] = nest_svg(nest, parts)
    return files


def nest_svg(nest: Nest, parts: tuple[FlatPart, ...]) -> bytes:
    """The sheet with its parts, to look at in any browser; one unit is a millimetre."""
    length, width = (value * 1e3 for value in nest.blank.size)
    lines = [
        '<svg xmlns="http://www.w3.org/2000/svg"'
        f' width="{write_plain(length)}mm" height="{write_plain(width)}mm"'
        f' viewBox="0 0 {write_plain(length)} {write_plain(width)}" font-family="sans-serif">',
        f"<title>{escape(nest.blank.name, quote=False)}</title>",
        f'<path d="{_path(nest.blank.outline, width)}" fill="white" stroke="black" stroke-width="1"/>',
    ]
    for part in parts:
        path = _path(chorded(part.outline, _SAG), width)
        path += "".join(_path(chorded(cut_out, _SAG), width) for cut_out in part.cut_outs)
        path += "".join(_round(hole, width) for hole in part.holes)
        lines.append(f'<path d="{path}" fill="#ddd" fill-rule="evenodd" stroke="black" stroke-width="0.5"/>')
    for part in parts:
        low = part.outline.points.min(axis=0) * 1e3
        high = part.outline.points.max(axis=0) * 1e3
        size = max(3.0, min(14.0, 0.12 * float(min(high - low))))
        x, y = (low + high) / 2
        lines.append(
            f'<text x="{write_plain(x)}" y="{write_plain(width - y)}" font-size="{write_plain(size)}"'
            f' text-anchor="middle">{escape(part.name, quote=False)}</text>'
        )
    return ("\n".join([*lines, "</svg>"]) + "\n").encode()


def _path(points: FloatArray, width: float) -> str:
    """A closed line; SVG counts y downwards."""
    steps = " L".join(f"{write_plain(x * 1e3)} {write_plain(width - y * 1e3)}" for x, y in points)
    return f"M{steps}Z"


def _round(hole: Circle, width: float) -> str:
    x, y, r = hole.x * 1e3, width - hole.y * 1e3, hole.diameter * 500
    arc = f"a{write_plain(r)} {write_plain(r)} 0 1 0"
    return f"M{write_plain(x - r)} {write_plain(y)}{arc} {write_plain(2 * r)} 0{arc} {write_plain(-2 * r)} 0Z"


def write_plain(value: float) -> str:
    """A plain decimal for a file that a machine reads: "12.5", "0", "-3.25"."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
