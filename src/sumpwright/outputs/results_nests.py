"""Nests and price in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.kit import SheetKit
from sumpwright.kit.nest_model import Price
from sumpwright.outputs.nest_files import nest_file_stem
from sumpwright.outputs.plain_numbers import deg, mm, mm_or_none, number, number_or_none

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def nest_rows(kit: SheetKit) -> list[rows.NestRow]:
    """Every sheet with its pieces."""
    return [
        {
            "number": nest.number,
            "file": None if kit.rebuild.refused else f"cut/{nest_file_stem(nest)}.dxf",
            "blank": nest.blank.name,
            "material": nest.blank.material,
            "thickness_mm": mm(nest.blank.thickness),
            "length_mm": mm(nest.blank.size[0]),
            "width_mm": mm(nest.blank.size[1]),
            "used_length_mm": mm(nest.used_length),
            "used_share": number(nest.used_share),
            "placements": [
                {
                    "part": one.part,
                    "copy_number": one.copy,
                    "turned_deg": deg(one.angle),
                    "x_mm": mm(one.dx),
                    "y_mm": mm(one.dy),
                    "inside": one.inside,
                }
                for one in nest.placements
            ],
        }
        for nest in (() if kit.nests is None else kit.nests.nests)
    ]


def price_part(price: Price) -> rows.PricePart:
    """The price line by line."""
    return {
        "currency": price.currency,
        "counted_by": price.by,
        "lines": [
            {
                "item": line.item,
                "metal": line.metal,
                "thickness_mm": mm_or_none(line.thickness),
                "amount": number(line.amount),
                "unit": "each" if line.unit == "1" else line.unit,
                "rate": number_or_none(line.rate),
                "is_placeholder": line.is_placeholder,
                "key": line.key,
                "cost": number_or_none(line.cost),
            }
            for line in price.lines
        ],
        "total": number_or_none(price.total),
    }
