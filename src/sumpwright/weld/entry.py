"""Whether a part can still be brought in straight beside the parts that stand."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from manifold3d import Manifold, OpType, triangulate

from sumpwright.kit.solids import common_volume, prism, rings
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.weld.obstacles import Obstacles, Prism

CRUMB = 1e-9
"""m3 that two sheets may share while one slides past the other: they lie against each other."""

DRAWN: Metre = 0.5
"""How far a part is drawn back: further than any pan is deep."""


class Ways:
    """Which parts stand in each other's way when one is drawn out; found once a pair."""

    def __init__(self, obstacles: Obstacles) -> None:
        self._solids = solids_by_part(obstacles)
        self._prisms: dict[str, list[Prism]] = {}
        for piece in obstacles.prisms:
            self._prisms.setdefault(piece.name, []).append(piece)
        self._normals = {
            name: [np.asarray(piece.frame.normal) for piece in pieces]
            for name, pieces in self._prisms.items()
        }
        self._known: dict[tuple[str, str, bytes], bool] = {}
        self._swept: dict[tuple[str, bytes], list[Manifold]] = {}

    def is_free(self, unit: frozenset[str], standing: frozenset[str]) -> bool:
        """Whether a unit leaves in a straight line, hitting none of the other parts."""
        others = sorted(standing - unit)
        return any(
            not any(self._meets(name, other, direction) for name in sorted(unit) for other in others)
            for direction in self._directions(unit)
        )

    def _directions(self, unit: frozenset[str]) -> list[FloatArray]:
        """Outwards of its own sheets first, then down, up, and along the axes."""
        wanted = [normal for name in sorted(unit) for normal in self._normals.get(name, [])]
        axes = np.eye(3)
        wanted += [-axes[2], *(s * axes[k] for k in (0, 1) for s in (1.0, -1.0)), axes[2]]
        wanted += [-normal for name in sorted(unit) for normal in self._normals.get(name, [])]
        kept: list[FloatArray] = []
        for direction in wanted:
            if all(float(direction @ other) < 1.0 - 1e-6 for other in kept):
                kept.append(direction)
        return kept

    def _meets(self, name: str, other: str, direction: FloatArray) -> bool:
        direction = np.round(direction, 9)
        key = (name, other, direction.tobytes())
        if key not in self._known:
            self._known[key] = any(
                common_volume(swept, still) > CRUMB
                for swept in self._sweep(name, direction)
                for still in self._solids.get(other, [])
            )
        return self._known[key]

    def _sweep(self, name: str, direction: FloatArray) -> list[Manifold]:
        """What a part passes through while it is drawn out: every triangle of its shape as a hull."""
        key = (name, direction.tobytes())
        if key not in self._swept:
            self._swept[key] = [_swept(piece, DRAWN * direction) for piece in self._prisms.get(name, [])]
        return self._swept[key]


def _swept(piece: Prism, way: FloatArray) -> Manifold:
    loops = rings(piece.shape)
    flat = np.concatenate(loops)
    low = np.asarray(piece.frame.to_space(flat))
    high = low + piece.thickness * np.asarray(piece.frame.normal)
    hulls = []
    for corners in np.asarray(triangulate(loops)):
        block = np.concatenate([low[corners], high[corners]])
        hulls.append(Manifold.hull_points(np.concatenate([block, block + way])))
    return Manifold.batch_boolean(hulls, OpType.Add)


def solids_by_part(obstacles: Obstacles) -> Mapping[str, list[Manifold]]:
    """The solids of every part that has a place."""
    found: dict[str, list[Manifold]] = {}
    for piece in obstacles.prisms:
        found.setdefault(piece.name, []).append(prism(piece.shape, piece.frame, 0.0, piece.thickness))
    return found
