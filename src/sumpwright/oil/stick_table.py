"""What the stick shows for every volume: numbers for whoever pours oil in and reads it."""

from __future__ import annotations

import numpy as np

from sumpwright.body import PanBody
from sumpwright.oil.dipstick import reading_at
from sumpwright.oil.level import LevelCurve
from sumpwright.oil.model import OilInputs
from sumpwright.oil.solve import level_of, open_surface
from sumpwright.quantities.units import FloatArray, frozen_array

ROWS = 120


def stick_table(inputs: OilInputs, body: PanBody) -> FloatArray | None:
    """Readings from the shoulder [m] and volumes [m3] as rows (n, 2), ascending volume.

    None where there is no stick, or it reads nothing between empty and full to the rail.
    """
    cavity, tube = body.cavity, body.inputs.dipstick
    if cavity is None or tube is None:
        return None
    up = inputs.up / np.linalg.norm(inputs.up)
    curve = LevelCurve.prepare(open_surface(cavity, up), up)
    rows = []
    for share in np.linspace(0.02, 1.0, ROWS):
        volume = float(share) * cavity.volume
        level = level_of(curve, volume)
        reading = None if level is None else reading_at(level, tube, up)
        if reading is not None:
            rows.append((reading, volume))
    return frozen_array(np.array(rows)) if len(rows) >= 2 else None
