"""What keeps the readings from holding a shape, each with the reading or key that would cure it."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.quantities.units import FloatArray
from sumpwright.rail.model import RailInputs, Reading
from sumpwright.rail.network import OUT_OF_PLANE, Network
from sumpwright.rail.shape import Datum

Cannot = tuple[str, str]
"""What is missing, and what would cure it."""

_ENOUGH_TO_NAME = 6
_COUNT_WORDS = ("no holes", "one hole", "two holes")


def joined(names: tuple[str, ...]) -> str:
    """Hole names as one says them: "h1, h2 and h3"."""
    if len(names) > _ENOUGH_TO_NAME:
        return f"{', '.join(names[:_ENOUGH_TO_NAME])} and {len(names) - _ENOUGH_TO_NAME} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def cannot_start(inputs: RailInputs) -> tuple[Cannot, ...]:
    """Everything that can be seen before a single distance is computed."""
    names = [hole.name for hole in inputs.holes]
    out: list[Cannot] = []
    twice = tuple(sorted({name for name in names if names.count(name) > 1}))
    if twice:
        out.append((f"two holes are called {joined(twice)}", "give every hole its own name"))
    for key, name in (("datum", inputs.datum), ("second", inputs.second)):
        if name not in names:
            out.append(
                (f'the {key} hole "{name}" is no hole of the rail', f"rail.{key}: one of the named holes")
            )
    if inputs.datum == inputs.second:
        out.append(
            (f"{inputs.datum} is both datum and second hole", "rail.second: a hole far from the datum")
        )
    for reading in inputs.readings:
        fault = _reading_fault(reading, inputs, names)
        if fault:
            out.append((fault, f"readings file, line {reading.line}"))
    if out:
        return tuple(out)
    if len(names) < 3:
        return (
            (
                f"{_COUNT_WORDS[len(names)]} alone give no shape",
                "a third hole off the line of the first two, read to both of them",
            ),
        )
    return tuple(_loose_parts(inputs, names))


_SIGNED = ("readout", "scan", "height", "square", "on_one_circle", "mirrored")
_MAY_BE_ZERO = (*_SIGNED, "in_line", "inside", "offset")
_PARTS: dict[str, tuple[str, ...]] = {
    "offset": ("", "near", "far"),
    "mirrored": ("middle", "across"),
    "readout": ("x", "y"),
    "scan": ("x", "y"),
}


def holes_of(reading: Reading) -> tuple[str | None, ...]:
    """The holes a reading must name; None where one is missing."""
    if reading.kind in OUT_OF_PLANE:
        return ()
    if reading.kind in ("in_line", "square"):
        return (reading.a, reading.b, reading.with_hole)
    if reading.kind in ("diameter", "offset", "on_one_circle", "readout", "scan"):
        return (reading.a,)
    return (reading.a, reading.b)


def _reading_fault(reading: Reading, inputs: RailInputs, names: list[str]) -> str | None:
    wanted = holes_of(reading)
    for name in wanted:
        if name is None:
            return f"line {reading.line} ({reading.kind}) does not name all its holes"
        if name not in names:
            return f'line {reading.line} names "{name}", which is no hole of the rail'
    if len(set(wanted)) < len(wanted):
        return f"line {reading.line} names the same hole twice"
    lands = [land.name for land in inputs.lands]
    if reading.kind in ("chord", "rise") and reading.a not in lands:
        return f'line {reading.line} names "{reading.a}", which is no land of the rail'
    if reading.kind == "height" and reading.a not in lands and reading.a not in names:
        return f'line {reading.line} names "{reading.a}", which is no hole and no land of the rail'
    if reading.kind in ("offset", "on_one_circle") and not reading.group:
        return f"line {reading.line} ({reading.kind}) does not say which straight edge or circle is meant"
    if reading.part not in _PARTS.get(reading.kind, ("",)):
        return f"line {reading.line} ({reading.kind}) does not say which figure it is"
    if not math.isfinite(reading.value) or (reading.value < 0.0 and reading.kind not in _SIGNED):
        return f"line {reading.line} holds no distance"
    if reading.value == 0.0 and reading.kind not in _MAY_BE_ZERO:
        return f"line {reading.line} reads zero"
    if not math.isfinite(reading.u) or reading.u <= 0.0:
        return f"line {reading.line} has no usable uncertainty"
    return None


def _loose_parts(inputs: RailInputs, names: list[str]) -> list[Cannot]:
    """Holes without a reading, and groups that no reading joins to the datum's."""
    part = {name: name for name in names}

    def root(name: str) -> str:
        while part[name] != name:
            part[name] = part[part[name]]
            name = part[name]
        return name

    groups_met: dict[tuple[str, str], str] = {}
    for reading in inputs.readings:
        first, *others = holes_of(reading) or ("",)
        if reading.kind in ("offset", "on_one_circle", "readout", "scan"):
            others.append(groups_met.setdefault((reading.kind, reading.group), reading.a))
        for other in others:
            part[root(str(first))] = root(str(other))
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(root(name), []).append(name)
    home = groups.pop(root(inputs.datum))
    out: list[Cannot] = []
    for group in groups.values():
        here = joined(tuple(group))
        if len(group) == 1:
            near = joined(tuple(home[:3]))
            out.append((f"nothing was read to {here}", f"read {here} to three holes that hold, say {near}"))
        else:
            out.append(
                (
                    f"no reading joins {here} to the rest of the rail",
                    f"four readings across, two each from {group[0]} and {group[-1]} to the rest "
                    f"(say {joined(tuple(home[:1] + home[-1:]))})",
                )
            )
    return out


def undetermined(
    network: Network, J: FloatArray, unknowns: FloatArray, datum: Datum, names: tuple[str, ...]
) -> tuple[int, list[Cannot]]:
    """Rank of the readings, and holes that they leave free to move.

    A move that changes no reading but no hole either (two diameters of which only the
    sum is told) does no harm.
    """
    n = network.hole_count
    free = datum.free(network)
    A = J[network.read_rows()][:, free]
    values, right = _null_space(A)
    rank = int(values)
    moves = np.zeros((network.unknown_count, right.shape[1]))
    moves[free] = right
    xy_moves = moves[: 2 * n]
    if xy_moves.size == 0 or np.abs(xy_moves).max() < 1e-5:
        return rank, []
    # Largest way each hole can move over all free moves.
    reach = np.linalg.norm(xy_moves.reshape(n, 2, -1), axis=(1, 2))
    loose = tuple(names[k] for k in np.nonzero(reach > 0.2 * reach.max())[0])
    a, b = _best_tie(xy_moves, unknowns[: 2 * n].reshape(n, 2))
    return rank, [
        (
            f"the readings leave {joined(loose)} free to move",
            f"a reading {names[a]} to {names[b]}"
            + (f", and {right.shape[1] - 1} more of the kind" if right.shape[1] > 1 else ""),
        )
    ]


def _null_space(A: FloatArray) -> tuple[int, FloatArray]:
    """Rank, and the moves (k, free moves) that change no row."""
    count = A.shape[1]
    square = np.zeros((count, count))
    upper = np.asarray(np.linalg.qr(A, mode="r"))
    square[: upper.shape[0]] = upper
    diagonal = np.abs(np.diagonal(square))
    if diagonal.min() > 1e-4 * diagonal.max():
        # Nothing is near loose: far cheaper than singular values, and enough.
        return count, np.zeros((count, 0))
    _, values, right = np.linalg.svd(square)
    rank = int((values > 1e-7 * values.max(initial=1e-300)).sum())
    return rank, np.asarray(right[rank:].T)


def _best_tie(moves: FloatArray, xy: FloatArray) -> tuple[int, int]:
    """The pair of holes whose distance changes most under the free moves."""
    n = len(xy)
    away = xy[None, :, :] - xy[:, None, :]
    length = np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-12)
    e = away / length[..., None]
    step = moves.reshape(n, 2, -1)
    change = np.einsum("ijk,jkm->ijm", e, step) - np.einsum("ijk,ikm->ijm", e, step)
    change = np.linalg.norm(change, axis=2)
    a, b = np.unravel_index(int(np.argmax(change)), change.shape)
    return min(int(a), int(b)), max(int(a), int(b))
