"""Walls set back so that a tool reaches the bolts beside them: worked out, tried, and proposed."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

import numpy as np

from sumpwright.body.access import bolt_access
from sumpwright.body.finding_words import lump_key, plain
from sumpwright.body.model import Cavity, Lump, PanBody
from sumpwright.body.recess import recess_proposals
from sumpwright.body.solve import shape
from sumpwright.body.surroundings import BoltAccess
from sumpwright.findings import Figure, Proposal
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

STEP: Metre = 0.0005
"""A wall is set back by whole steps."""
ON_IT: Metre = 1e-5
ROUNDS = 3
"""Setting a wall back can bring another thing nearest; so often it is looked again."""


def set_back_proposals(body: PanBody) -> list[Proposal]:
    """Walls set back where a lump's corners can be moved, else a recess of its own at each bolt."""
    if body.fit is None or body.cavity is None:
        return []
    found = _set_back(body)
    cured = {name for _, names in found for name in names}
    return [*(proposal for proposal, _ in found), *recess_proposals(body, cured)]


def _set_back(body: PanBody) -> list[tuple[Proposal, list[str]]]:
    """For every lump whose walls alone keep tools off: its outline with those walls set back.

    Each is tried: the pan is shaped anew and the tools are tried again. Nothing is proposed
    where that cures no bolt, makes the pan fail a rule of its own shape, or needs two lumps
    whose walls lie flush.
    """
    if body.fit is None or body.cavity is None:
        return []
    stopped = [one for one in body.fit.access if one.stop is not None and one.name.startswith("hole ")]
    moves: dict[int, dict[int, Metre]] = defaultdict(dict)
    for one in stopped:
        _ask(moves, body, body.cavity, one)
    found = []
    for number, sides in sorted(moves.items()):
        tried = _tried(body, body.cavity, number, sides, {one.name for one in stopped})
        if tried is not None:
            found.append(tried)
    return found


def _ask(moves: dict[int, dict[int, Metre]], body: PanBody, cavity: Cavity, one: BoltAccess) -> None:
    """Enter by how much the wall that stops one bolt's tool has to be set back."""
    side = _side(body, cavity, one)
    if side is None:
        return
    number, at, run = side
    wanted = math.ceil(one.set_back / run / STEP - 1e-9) * STEP
    moves[number][at] = max(moves[number].get(at, 0.0), wanted)


def _side(body: PanBody, cavity: Cavity, one: BoltAccess) -> tuple[int, int, float] | None:
    """Lump, side of its outline, and how far the wall moves square to itself for each metre of that side."""
    assert one.stop is not None
    towards = np.asarray(one.place)[:2] - np.asarray(one.stop)[:2]
    best = None
    for face in cavity.faces:
        normal = np.asarray(face.plane.normal)
        if face.role != "wall" or abs(float(normal @ one.stop) - face.plane.offset) > ON_IT:
            continue
        leads = float(normal[:2] @ towards)
        if leads > 0.0 and (best is None or leads > best[0]):
            best = leads, normal, face.plane.offset
    if best is None:
        return None
    _, normal, offset = best
    found = []
    for number, lump in enumerate(body.inputs.lumps):
        if lump.view != "plan" or not lump.adds:
            continue
        corners = np.asarray(lump.outline)
        for at in range(len(corners)):
            ends = corners[[at, (at + 1) % len(corners)]]
            off = ends @ normal[:2] + normal[2] * lump.top - offset
            if float(np.abs(off).max()) < ON_IT:
                found.append((number, at))
    if len({number for number, _ in found}) != 1 or not body.inputs.lumps[found[0][0]].drawn_as:
        return None
    return found[0][0], found[0][1], float(np.hypot(*normal[:2]))


def _tried(
    body: PanBody, cavity: Cavity, number: int, sides: dict[int, Metre], stopped: set[str]
) -> tuple[Proposal, list[str]] | None:
    """The proposal for one lump and the bolts it cures; the pan shaped so is known to let the tools in."""
    lump = body.inputs.lumps[number]
    for _ in range(ROUNDS):
        outline = with_sides_in(np.asarray(lump.outline), sides)
        if outline is None or '"' in lump.name:
            return None
        lumps = list(body.inputs.lumps)
        lumps[number] = replace(lump, outline=frozen_array(outline))
        tried = shape(replace(body.inputs, lumps=tuple(lumps)), body.pattern)
        if tried.cavity is None or tried.trouble or len(tried.gate) > len(body.gate):
            return None
        access = bolt_access(tried, tried.cavity)
        still = [one for one in access if one.stop is not None]
        if any(one.name not in stopped for one in still):
            return None
        more: dict[int, dict[int, Metre]] = defaultdict(dict)
        for one in still:
            _ask(more, tried, tried.cavity, one)
        if not more.get(number):
            cured = sorted(stopped - {one.name for one in still})
            proposal = _proposal(lump, outline, sides, cured, cavity.volume - tried.cavity.volume)
            return None if proposal is None else (proposal, cured)
        sides = {at: sides.get(at, 0.0) + more[number].get(at, 0.0) for at in {*sides, *more[number]}}
    return None


def _proposal(
    lump: Lump, outline: FloatArray, sides: dict[int, Metre], cured: list[str], less: float
) -> Proposal | None:
    if not cured:
        return None
    names = plain(", ".join(name.removeprefix("hole ") for name in cured))
    key, value = _written(lump, outline)
    return Proposal(
        code="BODY-42",
        target=lump_key(lump.name, key),
        value=value,
        effect=f"A tool then reaches {names}: walls up to {{back}} further in, {{less}} less oil",
        figures=(
            Figure("back", max(sides.values()), "m", "length", 1),
            Figure("less", less, "m3", "volume", 2),
        ),
    )


def _written(lump: Lump, outline: FloatArray) -> tuple[str, str]:
    """Key and value as the fabricator would write them; one side alone where only one moves."""
    if lump.drawn_as == "outline":
        corners = ", ".join(f'["{_mm(x)}", "{_mm(y)}"]' for x, y in outline.tolist())
        return "outline", f"[{corners}]"
    ends = {
        "rear": (lump.outline[:, 0].min(), outline[:, 0].min()),
        "front": (lump.outline[:, 0].max(), outline[:, 0].max()),
        "right": (lump.outline[:, 1].min(), outline[:, 1].min()),
        "left": (lump.outline[:, 1].max(), outline[:, 1].max()),
    }
    moved = [name for name, (before, now) in ends.items() if abs(now - before) > 1e-9]
    if len(moved) == 1:
        return f"rectangle.{moved[0]}", _mm(float(ends[moved[0]][1]))
    inside = ", ".join(f'{name} = "{_mm(float(now))}"' for name, (_, now) in ends.items())
    return "rectangle", f"{{ {inside} }}"


def _mm(value: Metre) -> str:
    return f"{round(1e3 * value, 4) + 0.0:g} mm"


def with_sides_in(outline: FloatArray, sides: dict[int, Metre]) -> FloatArray | None:
    """An anticlockwise outline (n, 2) with some sides moved in, parallel; None where that leaves none.

    Side k runs from corner k to the next.
    """
    along = np.roll(outline, -1, axis=0) - outline
    length = np.hypot(along[:, 0], along[:, 1])
    if float(length.min()) <= 0.0:
        return None
    outward = np.stack([along[:, 1], -along[:, 0]], axis=1) / length[:, None]
    offsets = (outward * outline).sum(axis=1) - np.array([sides.get(k, 0.0) for k in range(len(outline))])
    corners = []
    for k in range(len(outline)):
        pair = outward[[k - 1, k]]
        if abs(float(np.linalg.det(pair))) < 1e-6:
            return None
        corners.append(np.linalg.solve(pair, offsets[[k - 1, k]]))
    moved = np.array(corners)
    still = ((np.roll(moved, -1, axis=0) - moved) * along).sum(axis=1)
    return moved if bool((still > 0.0).all()) else None
