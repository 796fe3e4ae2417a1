"""What the flats, their cuts, their bends and their seams cost at the shop's own rates.

Sheet is counted by the lengths cut off for the nests, or, where nothing is nested, by the box
round each part with the gap that parts keep. Offcuts are paid for already. Handling, setting
up, facing, bought parts and the way to the cutter are not in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from sumpwright.geometry import Outline
from sumpwright.geometry.arcs import arc_of, outline_box
from sumpwright.kit.model import FlatPart, Joint, KitInputs, density_of
from sumpwright.kit.nest_model import (
    MetalPrice,
    NestPlan,
    Price,
    PriceItem,
    PriceLine,
    PriceUnit,
    Rate,
    Rates,
)
from sumpwright.kit.nesting import part_gap
from sumpwright.quantities.units import Kilogram, Metre


def price_of(
    inputs: KitInputs,
    rates: Rates,
    parts: Sequence[FlatPart],
    joints: Sequence[Joint],
    nests: NestPlan | None,
) -> Price:
    """The price, line by line; a line whose rate is missing names the key."""
    lines: list[PriceLine] = []
    for material, thickness in dict.fromkeys((part.material, round(part.thickness, 6)) for part in parts):
        group = [p for p in parts if p.material == material and round(p.thickness, 6) == thickness]
        metal = _metal(rates, material, thickness)
        weight = sheet_mass(inputs, group, nests)
        sheet = Rate(None) if metal is None else Rate(metal.sheet, metal.sheet_is_placeholder)
        cut, cut_key = _own(None if metal is None else metal.cut, rates.cut, "cut")
        pierce, pierce_key = _own(None if metal is None else metal.pierce, rates.pierce, "pierce")
        lines += [
            _line("sheet", material, thickness, weight, "kg", sheet, "stock.price"),
            _line("cutting", material, thickness, _all(group, cut_length), "m", cut, cut_key),
            _line("piercing", material, thickness, _all(group, pierces), "1", pierce, pierce_key),
        ]
    bends = float(sum(joint.kind == "bend" for joint in joints))
    weld = math.fsum(joint.length for joint in joints if joint.kind != "bend")
    lines.append(_line("bending", "", None, bends, "1", rates.bend, "rates.bend"))
    lines.append(_line("welding", "", None, weld, "m", rates.weld, "rates.weld"))
    return Price(rates.currency, tuple(lines), "boxes" if nests is None else "nests")


def cut_length(part: FlatPart) -> Metre:
    """Length of every cut line of one piece, arcs along the arc."""
    lines = math.fsum(outline_length(outline) for outline in (part.outline, *part.cut_outs))
    return lines + math.fsum(math.pi * hole.diameter for hole in part.holes)


def pierces(part: FlatPart) -> float:
    """How often the cutter starts anew in one piece: once for each closed line."""
    return 1.0 + len(part.cut_outs) + len(part.holes)


def outline_length(outline: Outline) -> Metre:
    """Length along a closed line of straight pieces and arcs."""
    pieces = []
    count = len(outline.points)
    for k in range(count):
        p, q, bulge = outline.points[k], outline.points[(k + 1) % count], float(outline.bulges[k])
        if bulge == 0.0:
            pieces.append(math.hypot(float(q[0] - p[0]), float(q[1] - p[1])))
        else:
            arc = arc_of(p, q, bulge)
            pieces.append(arc.radius * abs(arc.sweep))
    return math.fsum(pieces)


def sheet_mass(inputs: KitInputs, group: Sequence[FlatPart], nests: NestPlan | None) -> Kilogram:
    """Mass of the sheet that is used up for parts of one metal and thickness."""
    density = density_of(group[0], inputs)
    names = {part.name for part in group}
    if nests is None:
        area = 0.0
        for part in group:
            low, high = outline_box(part.outline)
            gap = part_gap(inputs, part)
            area += part.quantity * float(high[0] - low[0] + gap) * float(high[1] - low[1] + gap)
    else:
        area = math.fsum(
            nest.used_length * nest.blank.size[1]
            for nest in nests.nests
            if not nest.blank.is_offcut and any(each.part in names for each in nest.placements)
        )
    return area * group[0].thickness * density


def _metal(rates: Rates, material: str, thickness: Metre) -> MetalPrice | None:
    found = [m for m in rates.metals if m.material == material and abs(m.thickness - thickness) < 5e-5]
    priced = [metal for metal in found if metal.sheet is not None]
    return next(iter(priced or found), None)


def _own(own: float | None, general: Rate, key: str) -> tuple[Rate, str]:
    """The metal's own rate, else the shop's general one."""
    return (general, f"rates.{key}") if own is None else (Rate(own), f"stock.{key}")


def _all(group: Sequence[FlatPart], measure: Callable[[FlatPart], float]) -> float:
    return math.fsum(part.quantity * measure(part) for part in group)


def _line(
    item: PriceItem,
    metal: str,
    thickness: Metre | None,
    amount: float,
    unit: PriceUnit,
    rate: Rate,
    key: str,
) -> PriceLine:
    return PriceLine(item, metal, thickness, amount, unit, rate.amount, rate.is_placeholder, key)
