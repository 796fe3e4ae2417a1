"""A recess cut for the tool at one bolt, whatever the outline of the lump beside it: tried, and proposed.

Setting a wall back needs a lump whose corners stand in the job file. A cut of its own needs
nothing of that: rounded, mirrored, turned or two flush lumps all give way to it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sumpwright.body.access import SAME_SIZE, bolt_access
from sumpwright.body.finding_words import plain
from sumpwright.body.gate import EDGE_THICKNESSES
from sumpwright.body.model import Lump, PanBody
from sumpwright.body.outside import head_size
from sumpwright.body.solve import shape
from sumpwright.body.surroundings import BoltAccess
from sumpwright.findings import Figure, Proposal
from sumpwright.geometry import Plane
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

MOST_BOLTS = 3
"""So many recesses are tried; where more bolts are shut off the shape as a whole is wrong."""
GROWN: tuple[Metre, ...] = (0.001, 0.004, 0.010)
"""Beyond tool and sheet: a recess that is too shallow has sides too narrow to make."""
STEP: Metre = 0.0005
BELOW: Metre = 0.020


def recess_proposals(body: PanBody, told: set[str]) -> list[Proposal]:
    """A cut for each bolt that no tool reaches and that no set-back cures (``told``: those are)."""
    if body.fit is None or body.cavity is None:
        return []
    shut = [one for one in body.fit.access if one.stop is not None and one.name.startswith("hole ")]
    left = [one for one in shut if one.name not in told]
    if not left or len(left) > MOST_BOLTS:
        return []
    found = []
    for one in left:
        proposal = _recess(body, one, {other.name for other in shut})
        if proposal is not None:
            found.append(proposal)
    return found


def _recess(body: PanBody, one: BoltAccess, shut: set[str]) -> Proposal | None:
    assert body.cavity is not None
    radius = _tool_radius(body, one)
    if radius is None:
        return None
    deep = -float(np.asarray(body.cavity.vertices)[:, 2].min()) + BELOW
    name = f"recess at {one.name.removeprefix('hole ')}"
    if '"' in name or any(lump.name == name for lump in body.inputs.lumps):
        return None
    for grown in GROWN:
        half = radius + body.inputs.sheet + grown
        low, high = _corners(body, np.asarray(one.place)[:2], half)
        corners = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
        cut = Lump(
            name,
            False,
            "plan",
            frozen_array(corners),
            Plane(frozen_array([0.0, 0.0, -1.0]), deep),
        )
        tried = shape(replace(body.inputs, lumps=(*body.inputs.lumps, cut)), body.pattern)
        if tried.cavity is None or len(tried.trouble) > len(body.trouble) or len(tried.gate) > len(body.gate):
            continue
        still = {other.name for other in bolt_access(tried, tried.cavity) if other.stop is not None}
        if one.name in still or still - shut:
            continue
        return _proposal(body, one, name, (low, high, deep), body.cavity.volume - tried.cavity.volume)
    return None


def _corners(body: PanBody, hole: FloatArray, half: Metre) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest x and y of the cut, in whole steps.

    Towards the opening it either stops short of the wall above or bites into it far enough that
    its sides are wide enough to make.
    """
    import shapely

    assert body.cavity is not None
    low, high = hole - half, hole + half
    rail = next(face for face in body.cavity.faces if face.role == "rail")
    opening = shapely.Polygon(np.asarray(body.cavity.vertices)[rail.loops[0]][:, :2])
    nearest = shapely.get_coordinates(shapely.shortest_line(shapely.Point(*hole), opening))[-1]
    towards = nearest - hole
    axis = int(np.argmax(np.abs(towards)))
    least = EDGE_THICKNESSES * body.inputs.sheet + STEP
    reach = abs(float(towards[axis]))
    if reach - least < half:
        bite = max(half, reach + least)
        if towards[axis] > 0.0:
            high[axis] = hole[axis] + bite
        else:
            low[axis] = hole[axis] - bite
    return np.floor(low / STEP + 1e-6) * STEP, np.ceil(high / STEP - 1e-6) * STEP


def _tool_radius(body: PanBody, one: BoltAccess) -> Metre | None:
    """Of the slimmest socket that fits this head."""
    tools = body.inputs.surroundings.tools
    at = list(body.pattern.names).index(one.name.removeprefix("hole "))
    width = head_size(body.pattern.fasteners[at])[0]
    fits = [
        max(socket.outside, socket.extension)
        for socket in (() if tools is None else tools.sockets)
        if abs(socket.across_flats - width) <= SAME_SIZE
    ]
    return 0.5 * min(fits) if fits else None


def _proposal(
    body: PanBody, one: BoltAccess, name: str, cut: tuple[FloatArray, FloatArray, Metre], less: float
) -> Proposal:
    low, high, deep = cut
    sides = (("rear", low[0]), ("front", high[0]), ("right", low[1]), ("left", high[1]))
    rectangle = ", ".join(f'{key} = "{_mm(float(value))}"' for key, value in sides)
    return Proposal(
        code="BODY-42",
        target="lumps.+",
        value=f'{{ name = "{name}", does = "cuts", rectangle = {{ {rectangle} }}, '
        f'floor = "parallel to rail", depth = "{_mm(deep)}" }}',
        effect=f"A socket then reaches {plain(one.name.removeprefix('hole '))} in a recess {{wide}} wide, "
        "from the rail down; {less} less oil",
        figures=(
            Figure("wide", float(high[0] - low[0]), "m", "length", 0),
            Figure("less", less, "m3", "volume", 2),
        ),
    )


def _mm(value: Metre) -> str:
    return f"{round(1e3 * value, 4) + 0.0:g} mm"
