"""Folds of bent parts in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.kit import FlatPart
from sumpwright.outputs.plain_numbers import deg, mm, number

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def fold_rows(part: FlatPart) -> list[rows.FoldRow]:
    """The part's folds, first fold first."""
    return [
        {
            "order": fold.order,
            "start_mm": [mm(value) for value in fold.start],
            "end_mm": [mm(value) for value in fold.end],
            "turn_deg": deg(fold.turn),
            "radius_mm": mm(fold.radius),
            "allowance_mm": mm(fold.allowance),
            "direction": "up" if fold.towards_viewer else "down",
            "k": number(fold.k),
            "k_source": fold.source,
        }
        for fold in sorted(part.folds, key=lambda fold: fold.order)
    ]
