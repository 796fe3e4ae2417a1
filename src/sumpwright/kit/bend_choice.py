"""Which edges to bend: the most weld saved that the machine, the sheet and the rules allow.

An integer program over the edges that can be bent; what it cannot know beforehand (a ring
of faces, a flat that overlaps itself, a sheet too small, no order of folding) comes back as
cuts, and it is solved again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from sumpwright.body import Cavity
from sumpwright.kit.bends import Bend
from sumpwright.kit.cutting_rules import fits_on
from sumpwright.kit.fold_order import order_of_folds
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlatPart, Folder, StockSheet
from sumpwright.kit.solids import polygons_of
from sumpwright.kit.unfolding import groups_of, unfolded
from sumpwright.quantities.units import FloatArray

ROUNDS = 60

MOST_FOLDS = 4
"""Folds in one part: each adds its own error, and beyond a few the last leg misses."""


@dataclass(frozen=True, slots=True, eq=False)
class BendChoice:
    """The edges to bend, and the bent parts."""

    bends: tuple[Bend, ...]
    rounds: int
    left_out: tuple[tuple[tuple[int, ...], str], ...]  # edges that cannot be bent together, and why


def choose_bends(
    cavity: Cavity,
    possible: Mapping[int, Bend],
    flats_with: Callable[[Sequence[Bend]], Mapping[int, FlatPart]],
    folder: Folder,
    stock: Sequence[StockSheet],
    barred: Sequence[frozenset[int]] = (),
) -> BendChoice:
    """The set of edges that saves the most weld; ``barred`` are sets that must not be bent together.

    ``flats_with`` gives the single faces' flats with the given edges trimmed for their bends;
    corners need not be closed yet, for they serve for size, overlap and the order of folding.
    """
    cuts: list[tuple[frozenset[int], str]] = [(bar, "the rebuilt kit did not close") for bar in barred]
    known: dict[frozenset[int], str] = {}
    for rounds in range(1, ROUNDS + 1):
        chosen = _best(cavity, possible, [cut for cut, _ in cuts])
        found = _faults(cavity, [possible[e] for e in chosen], flats_with, folder, stock, known)
        if not found:
            bends = tuple(possible[e] for e in chosen)
            return BendChoice(bends, rounds, tuple((tuple(sorted(c)), why) for c, why in cuts))
        cuts += found
    return BendChoice((), ROUNDS, tuple((tuple(sorted(c)), why) for c, why in cuts))


def _best(cavity: Cavity, possible: Mapping[int, Bend], cuts: Sequence[frozenset[int]]) -> list[int]:
    """The heaviest set with no two bends at one corner and no cut set whole."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    edges = sorted(possible)
    if not edges:
        return []
    column = {edge: k for k, edge in enumerate(edges)}
    rows: list[FloatArray] = []
    most: list[float] = []
    corners: dict[int, list[int]] = {}
    for edge in edges:
        for vertex in (cavity.edges[edge].start, cavity.edges[edge].end):
            corners.setdefault(vertex, []).append(edge)
    groups = [frozenset(meeting) for meeting in corners.values() if len(meeting) > 1]
    for group, limit in [(g, 1.0) for g in groups] + [(c, len(c) - 1.0) for c in cuts]:
        row = np.zeros(len(edges))
        row[[column[e] for e in group if e in column]] = 1.0
        if row.any() and row.sum() > limit:
            rows.append(row)
            most.append(limit)
    saved = np.array([cavity.edges[edge].length for edge in edges])
    # A whisker for low numbers, so that equal choices are settled the same way every time.
    saved = saved - 1e-9 * np.arange(len(edges))
    constraints = [LinearConstraint(np.array(rows), ub=np.array(most))] if rows else []
    whole = np.ones(len(edges), dtype=np.int64)
    solution = milp(-saved, integrality=whole, bounds=Bounds(0.0, 1.0), constraints=constraints)
    if solution.x is None:
        return []
    return [edge for edge, x in zip(edges, solution.x, strict=True) if x > 0.5]


def _faults(
    cavity: Cavity,
    bends: Sequence[Bend],
    flats_with: Callable[[Sequence[Bend]], Mapping[int, FlatPart]],
    folder: Folder,
    stock: Sequence[StockSheet],
    known: dict[frozenset[int], str],
) -> list[tuple[frozenset[int], str]]:
    """Groups that cannot be made, as sets of edges that must not be bent together."""
    flats = flats_with(bends)
    found = []
    for group in groups_of(bends):
        inside = [bend for bend in bends if bend.face_a in group]
        edges = frozenset(bend.edge for bend in inside)
        if len(inside) >= len(group):
            found.append((edges, "the faces close a ring"))
            continue
        if len(inside) > MOST_FOLDS:
            found.append((_hanging_together(inside, MOST_FOLDS + 1), "it has too many folds for one part"))
            continue
        if edges not in known:
            own = {face: flats[face] for face in group}
            known[edges] = _why_not(unfolded(cavity, own, inside), own, folder, stock)
        if known[edges]:
            found.append((edges, known[edges]))
    return found


def _hanging_together(bends: Sequence[Bend], count: int) -> frozenset[int]:
    """The first so many bends of a group that hang together."""
    taken, faces = [bends[0].edge], {bends[0].face_a, bends[0].face_b}
    while len(taken) < count:
        for bend in bends:
            if bend.edge not in taken and faces & {bend.face_a, bend.face_b}:
                taken.append(bend.edge)
                faces |= {bend.face_a, bend.face_b}
                break
    return frozenset(taken)


def _why_not(
    part: FlatPart,
    flats: Mapping[int, FlatPart],
    folder: Folder,
    stock: Sequence[StockSheet],
) -> str:
    whole = Polygon(chords(part.outline))
    parts = sum(Polygon(chords(flat.outline)).area for flat in flats.values())
    strips = sum(
        fold.allowance * float(np.hypot(fold.end[0] - fold.start[0], fold.end[1] - fold.start[1]))
        for fold in part.folds
    )
    if not whole.is_valid or len(polygons_of(whole)) != 1 or whole.area < 0.995 * parts - 0.2 * strips:
        return "laid flat, it overlaps itself"
    sizes = [s for s in stock if s.material == part.material and abs(s.thickness - part.thickness) < 1e-6]
    if sizes and not any(fits_on(chords(part.outline), s.length, s.width) for s in sizes):
        return "laid flat, it is larger than every sheet"
    if order_of_folds(part, folder) is None:
        return "there is no order in which it can be folded"
    return ""
