"""Numbers that both back ends share."""

from __future__ import annotations

AIR, LIQUID, WALL = 0, 1, 2

LIQUID_SHARE = 0.5
"""A cell whose share of a full cell's deposit passes this is liquid: the surface is above its centre."""
FILLED = 0.85
"""A cell that holds this part of its own full number is liquid too."""
LEAST_THETA = 0.05
LARGEST_PUSH = 0.3
"""Of the density step, in cells."""
LARGEST_MOVE = 2.4
"""Of one parcel in one step, in cells: less than the depth to which wall distances are known."""
OFF_WALL = 0.02
"""Cells; parcels stay this far from the wall."""
DENSITY_TOLERANCE = 0.02
PRESSURE_TOLERANCE = 5e-4
"""Of the squeeze; five times finer takes half as many iterations more and keeps no more of the volume."""
COURANT = 2.0
"""Cells that the quickest oil crosses in a step; 1.5 keeps 0.976 of the volume at the least, 2 0.973."""
LONGEST_STEP = 0.005
"""Seconds. A pan at rest is stirred by twice the speed in steps of 10 ms."""
