"""The inside of the pan and the other ways to make it in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.job.model import Alternative
from sumpwright.kit.internals_model import Internals
from sumpwright.outputs.plain_numbers import deg, mm, mm_or_none, number_or_none
from sumpwright.outputs.words import UnitSystem, fill

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def inside_part(internals: Internals, units: UnitSystem) -> rows.InsidePart:
    """Everything inside; its flat parts stand among the kit's parts."""
    tube = internals.tube
    return {
        "parts": list(internals.names),
        "placed_while_fitting": list(internals.loose),
        "walls": [
            {
                "wall": fixing.wall,
                "held": fixing.way,
                "hole_mm": mm_or_none(fixing.hole),
                "bosses_mm": [[mm(value) for value in place] for place in fixing.places],
            }
            for fixing in internals.fixings
        ],
        "tube_pieces": [
            {
                "name": piece.name,
                "length_mm": mm(piece.length),
                "longest_mm": mm(piece.longest),
                "start": piece.start_cut,
                "end": piece.end_cut,
                "turned_deg": deg(piece.twist),
                "bends": [
                    {
                        "along_mm": mm(bend.along),
                        "angle_deg": deg(bend.angle),
                        "radius_mm": mm(bend.radius),
                        "plane_turned_deg": deg(bend.twist),
                    }
                    for bend in piece.bends
                ],
            }
            for piece in (() if tube is None else tube.pieces)
        ],
        "tube_cuts": [
            {"name": cut.name, "turn_deg": deg(cut.turn), "girth_mm": mm(cut.girth), "rise_mm": mm(cut.rise)}
            for cut in (() if tube is None else tube.cuts)
        ],
        "bosses": [
            {
                "name": boss.fitting.name,
                "kind": boss.fitting.kind,
                "face": boss.face,
                "thread": boss.fitting.thread,
                "hole_mm": mm(boss.hole),
                "place_mm": [mm(value) for value in boss.place],
            }
            for boss in internals.bosses
        ],
        "posts": [
            {
                "name": placed.post.name,
                "face": placed.face,
                "side": placed.post.side,
                "diameter_mm": mm(placed.post.diameter),
                "length_mm": mm(placed.post.long),
                "place_mm": [mm(value) for value in placed.place],
            }
            for placed in internals.posts
        ],
        "plates": [
            {
                "name": placed.plate,
                "face": placed.face,
                "diameter_mm": mm(placed.plate_diameter),
                "place_mm": [mm(value) for value in placed.place],
            }
            for placed in internals.plates
        ],
        "bought": [
            {
                "name": part.name,
                "how_many": fill(part.quantity, part.figures, units),
                "size": fill(part.size, part.figures, units),
                "made_of": part.material,
                "check": part.check,
            }
            for part in internals.bought
        ],
    }


def alternative_rows(ways: tuple[Alternative, ...]) -> list[rows.AlternativeRow]:
    """Other ways to make the pan, the job itself first."""
    return [
        {
            "name": way.name,
            "changes": [{"key": key, "value": value} for key, value in way.changes],
            "price": None if way.price is None else number_or_none(way.price.total),
            "currency": None if way.price is None else way.price.currency,
            "has_placeholder_prices": way.price is not None and way.price.has_placeholders,
            "mass_kg": number_or_none(way.mass),
            "weld_length_mm": mm_or_none(way.weld_length),
            "parts": way.parts,
            "bends": way.bends,
            "refused": way.refused,
            "fails": list(way.fails),
            "why_not": way.why_not,
            "notes": list(way.notes),
        }
        for way in ways
    ]
