"""The cover map: oil over the pickup mouth under every pull that is held for ever."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sumpwright.body import PanBody, Pickup
from sumpwright.geometry import Surface
from sumpwright.motion.formulas import mouth_rise
from sumpwright.motion.model import CoverMap
from sumpwright.oil.joined import OilSpace, oil_space
from sumpwright.quantities.units import CubicMetre, FloatArray, frozen_array

CUT_OFF = 1e-4
"""Levels closer than 0.1 mm are one level."""


@dataclass(frozen=True, slots=True, eq=False)
class OpenTop:
    """The oil space with the space above the rail open, ready for many attitudes."""

    space: OilSpace
    rail: FloatArray  # (r, 3) m, corners of the rail opening

    @property
    def surface(self) -> Surface:
        """Its closed surface."""
        return self.space.surface

    @staticmethod
    def of(body: PanBody) -> OpenTop:
        """With inner walls; near the limit a lid at the rail would hold the oil at the pickup."""
        cavity = body.cavity
        if cavity is None:
            raise ValueError("the body has no cavity: nothing can hold oil")
        corners = sorted(
            {int(v) for face in cavity.faces if face.role == "rail" for loop in face.loops for v in loop}
        )
        return OpenTop(oil_space(body, open_top=True), frozen_array(cavity.vertices[corners]))


def cover_map(
    kind: Literal["accelerations", "slopes"],
    loads: tuple[FloatArray, FloatArray],  # along, across: each (k,)
    shape: tuple[int, int],
    pull: tuple[FloatArray, FloatArray],  # up (k, 3), strength (k,) m/s2
    pan: OpenTop,
    pickup: Pickup,
    standing_up: FloatArray,
    volume: CubicMetre,
) -> CoverMap:
    """Cover for every load; the mouth lies level when the engine stands in the vehicle."""
    # Compiled code is loaded here: a job without loads never pays for it.
    from sumpwright.oil.pools_compiled import levels_at_compiled

    up, strength = pull
    up = np.ascontiguousarray(up)
    levels = levels_at_compiled(
        np.ascontiguousarray(pan.surface.vertices),
        np.ascontiguousarray(pan.surface.triangles),
        pan.space.neighbours.starts,
        pan.space.neighbours.others,
        pan.space.neighbours.part_of_triangle,
        pan.space.neighbours.part_of_corner,
        np.ascontiguousarray(pan.space.links),
        up,
        float(volume),
        np.ascontiguousarray(pickup.mouth),
    )
    axis = standing_up / np.linalg.norm(standing_up)
    rise = np.array([mouth_rise(pickup.mouth_diameter, float(cosine)) for cosine in up @ axis])
    mouth_top = up @ pickup.mouth + rise
    rail_lowest = np.min(up @ pan.rail.T, axis=1)
    shared = levels[:, 0] - mouth_top
    # No floor below the mouth in this attitude: the mouth stands over nothing that holds oil.
    at_mouth = np.where(np.isnan(levels[:, 1]), -np.inf, levels[:, 1]) - mouth_top
    cut_off = levels[:, 1] < levels[:, 0] - CUT_OFF
    cut_off.setflags(write=False)
    return CoverMap(
        kind=kind,
        across=frozen_array(loads[1]),
        along=frozen_array(loads[0]),
        shape=shape,
        up=frozen_array(up),
        pull=frozen_array(strength),
        cover=frozen_array(np.minimum(shared, at_mouth)),
        cover_shared=frozen_array(shared),
        above_rail=frozen_array(levels[:, 0] - rail_lowest),
        is_cut_off=cut_off,
    )
