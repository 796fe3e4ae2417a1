"""What a jack's plate does to the floor over it."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.fittings import Jacking
from sumpwright.body.guard import guard_shape
from sumpwright.findings import Figure, Finding, Verdict, judge_at_most
from sumpwright.kit.internals_model import PlacedPlate
from sumpwright.kit.jacking_formulas import centre_load_stress
from sumpwright.kit.model import FlatPart, KitInputs, SheetKit
from sumpwright.kit.rule_cases import length_figure
from sumpwright.tables.materials import find_material

POISSON = 0.3


def jacking_findings(inputs: KitInputs, kit: SheetKit) -> list[Finding]:
    """One finding where a plate is asked for."""
    asked = kit.body.inputs.jacking
    plates = () if kit.internals is None else kit.internals.plates
    if asked is None or asked.way == "nowhere" or not plates:
        return []
    (placed,) = plates
    cavity = kit.body.cavity
    shape = None if cavity is None else guard_shape(kit.body, cavity)
    if shape is not None and shape.floor.name == placed.face:
        return [
            Finding(
                code="KIT-85",
                verdict=Verdict.FAILS,
                where=placed.plate,
                says="The stone guard hangs under the jacking plate: the jack meets the guard first.",
                how_sure="By the shapes as given.",
                do="Put the plate under another floor, or leave one of the two out.",
                source="plane-geometry",
                place=_place(placed),
            )
        ]
    floor = next((part for part in kit.parts if part.name == placed.face and not part.folds), None)
    metal = find_material(inputs.material)
    if asked.load is None or floor is None or metal is None or metal.yield_at_weld is None:
        return [_unknown(asked, placed)]
    return [_stress(asked, asked.load, placed, floor, metal.yield_at_weld.value, metal.yield_at_weld.source)]


def _place(placed: PlacedPlate) -> tuple[float, float, float]:
    return float(placed.place[0]), float(placed.place[1]), float(placed.place[2])


def _unknown(asked: Jacking, placed: PlacedPlate) -> Finding:
    missing = (
        "what the jack brings is not given" if asked.load is None else "the floor's strength is not known"
    )
    return Finding(
        code="KIT-85",
        verdict=Verdict.CANNOT_SAY,
        where=placed.plate,
        says=f"Whether the floor stands a jack under its plate is not known: {missing}.",
        how_sure="Nothing to judge.",
        do="Enter jacking.load." if asked.load is None else "Weld the plate under a flat floor of its own.",
        source="job-file",
        place=_place(placed),
    )


def _stress(
    asked: Jacking, load: float, placed: PlacedPlate, floor: FlatPart, limit: float, source: str
) -> Finding:
    """Bending of the floor's box with free edges and the push at its middle: both are the worst."""
    low, high = np.asarray(floor.outline.points).min(axis=0), np.asarray(floor.outline.points).max(axis=0)
    short, long = sorted((float(high[0] - low[0]), float(high[1] - low[1])))
    radius = 0.5 * asked.plate_diameter
    stress = centre_load_stress(load, floor.thickness, short, long, radius, POISSON)
    pressure = load / (math.pi * radius**2)
    # A bound that is beyond the limit tells nothing: welded edges hold better, and a push off the middle.
    verdict = Verdict.HOLDS if judge_at_most(stress, limit, None) is Verdict.HOLDS else Verdict.CANNOT_SAY
    return Finding(
        code="KIT-85",
        verdict=verdict,
        where=f"{placed.plate} on {placed.face}",
        says="Spread over the plate of {across} the jack presses with {pressure}, and bends the floor to "
        "{stress} at most; beside a weld its metal yields at {limit}.",
        figures=(
            length_figure("across", asked.plate_diameter, 0),
            Figure("pressure", pressure, "Pa", "pressure", 0),
            Figure("stress", stress, "Pa", "stress", 0),
            Figure("limit", limit, "Pa", "stress", 0),
        ),
        value=stress,
        limit=limit,
        unit="Pa",
        kind="stress",
        how_sure="Bound from above: the box round the floor on free edges, pushed at its middle; the "
        "plate's own stiffness is left out.",
        do=""
        if verdict is Verdict.HOLDS
        else "A larger plate, or put it under a wall or a corner of the pan; better, jack the frame.",
        source=source if source else "roark-plates",
        place=_place(placed),
    )
