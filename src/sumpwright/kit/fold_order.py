"""In which order a bent part is folded, so that nothing folds into metal or into the machine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from manifold3d import Manifold

from sumpwright.kit.model import FlatPart, Fold, Folder
from sumpwright.kit.solids import common_volume
from sumpwright.kit.unfolding import folded
from sumpwright.quantities.units import FloatArray

SWINGS = (0.5, 1.0)
"""Shares of a fold's turn at which the part is looked at."""

TOUCH = 1e-9
"""Shared volume [m3] up to which parts of one sheet only lean on each other (a cubic millimetre)."""


def order_of_folds(part: FlatPart, folder: Folder) -> tuple[int, ...] | None:
    """Edges in the order in which to fold them, or None where there is none."""
    return _next(part, folder, (), frozenset(fold.edge for fold in part.folds), {})


def in_order(part: FlatPart, folder: Folder) -> FlatPart:
    """The part with the order written on its folds."""
    order = order_of_folds(part, folder)
    if order is None:
        return part
    return replace(part, folds=tuple(replace(f, order=order.index(f.edge) + 1) for f in part.folds))


def _next(
    part: FlatPart,
    folder: Folder,
    done: tuple[int, ...],
    left: frozenset[int],
    known: dict[tuple[frozenset[int], int], bool],
) -> tuple[int, ...] | None:
    if not left:
        return done
    # Long folds last: they need the machine's whole width free.
    for edge in sorted(left, key=lambda e: (_length(part, e), e)):
        look = (frozenset(done), edge)
        if look not in known:
            known[look] = _can_fold(part, folder, done, edge)
        if known[look]:
            found = _next(part, folder, (*done, edge), left - {edge}, known)
            if found is not None:
                return found
    return None


def _length(part: FlatPart, edge: int) -> float:
    return math.dist(_fold(part, edge).start, _fold(part, edge).end)


def _fold(part: FlatPart, edge: int) -> Fold:
    return next(fold for fold in part.folds if fold.edge == edge)


def _can_fold(part: FlatPart, folder: Folder, done: Sequence[int], edge: int) -> bool:
    """Whether a fold can be made with the earlier ones standing."""
    standing = {other: 1.0 for other in done}
    tool = _tool(part, folder, edge, standing)
    beyond = _beyond(part, edge)
    for share in SWINGS:
        sheets = folded(_partly(part, {**standing, edge: share}), with_facets=False)
        swung = [sheet for sheet in sheets if sheet.face in beyond]
        held = [sheet for sheet in sheets if sheet.face not in beyond]
        if any(common_volume(a.solid(), b.solid()) > TOUCH for a in swung for b in held):
            return False
        # The flap at the fold itself leans over the machine's nose; ``sharpest`` is the limit there.
        rest = [sheet for sheet in swung if sheet.face != _fold(part, edge).moving]
        if any(common_volume(tool, sheet.solid()) > TOUCH for sheet in (*rest, *held)):
            return False
    return True


def _partly(part: FlatPart, turned: dict[int, float]) -> FlatPart:
    """The part with its folds turned by shares; a fold not yet made lies nearly flat."""
    folds = []
    for fold in part.folds:
        share = max(turned.get(fold.edge, 0.0), 1e-6)
        # The strip keeps its length: a part turn has a larger radius with the same allowance.
        neutral = fold.allowance / fold.turn - fold.radius
        turn = share * fold.turn
        folds.append(replace(fold, turn=turn, radius=fold.allowance / turn - neutral))
    return replace(part, folds=tuple(folds))


def _beyond(part: FlatPart, edge: int) -> set[int]:
    """Faces on the moving side of a fold: the lighter side, which is what one swings."""
    links = {fold.edge: (fold.fixed, fold.moving) for fold in part.folds}
    start = links[edge][1]
    reached, stack = {start}, [start]
    while stack:
        face = stack.pop()
        for other, (a, b) in links.items():
            if other != edge and face in (a, b):
                for next_face in (a, b):
                    if next_face not in reached:
                        reached.add(next_face)
                        stack.append(next_face)
    return reached


def _tool(part: FlatPart, folder: Folder, edge: int, turned: dict[int, float]) -> Manifold:
    """Room that clamp or punch takes: behind the fold line, on the hollow side, over the held metal."""
    fold = _fold(part, edge)
    before = folded(_partly(part, turned), with_facets=False)
    held = next(sheet for sheet in before if sheet.face == fold.fixed)
    start, end = np.array(fold.start), np.array(fold.end)
    along = (end - start) / np.linalg.norm(end - start)
    back = np.array([-along[1], along[0]])
    face_point = next(np.array([x, y]) for face, x, y in part.faces if face == fold.fixed)
    if float((face_point - start) @ back) < 0.0:
        back = -back
    # Half a millimetre of air all round: a tool that just touches does not collide.
    air = 5e-4
    near = 0.5 * fold.allowance + air
    far = near + folder.behind
    up = held.frame.normal if fold.towards_viewer else -held.frame.normal
    base = (held.thickness if fold.towards_viewer else 0.0) + air
    corners: list[FloatArray] = []
    for along_at, back_at in ((start, near), (start, far), (end, far), (end, near)):
        ground = held.frame.to_space((along_at + back_at * back)[None])[0]
        corners += [ground + base * up, ground + (base + folder.above) * up]
    return Manifold.hull_points(np.array(corners))
