"""Small pans and a usual torch for the weld plan's tests."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.kit.solve import solve as solve_kit
from sumpwright.weld.model import OrderRules, Strongback, Torch, WeldInputs
from tests.kit.made_bodies import bolt, bucket, kit_inputs, offset_ring, pan_body, pattern, rounded_rectangle


def torch(**changes):
    """A TIG torch with a 14 mm cup."""
    values = {
        "cup": 0.014,
        "cup_length": 0.045,
        "stick_out": 0.009,
        "body": 0.020,
        "body_angle": math.radians(70.0),
        "body_length": 0.130,
        "hand": 0.080,
        "arm": 0.200,
        "back_cap": 0.030,
        "tilt": math.radians(30.0),
        "drag": math.radians(25.0),
        "filler": 0.250,
    }
    return Torch(**{**values, **changes})


def order_rules(**changes):
    values = {
        "station": 0.010,
        "end_clear": 0.003,
        "stitch": 0.060,
        "long_from": 0.300,
        "tack_pitch": 0.040,
        "back_step": 0.040,
        "past_corner": 0.012,
    }
    return OrderRules(**{**values, **changes})


def weld_inputs(**changes):
    values = {
        "torch": torch(),
        "welder": None,
        "strongback": Strongback(0.020, 0.040, False, 0.010),
        "rules": order_rules(),
        "cut_tolerance": 0.0002,
    }
    return WeldInputs(**{**values, **changes})


def pan_kit(ring, depth, lean=0.0, **changes):
    """The kit of a bucket below a convex ring, bolted every 80 mm or so."""
    cavity = bucket(ring, depth, lean)
    holes = []
    outer = offset_ring(ring, -0.014)
    for start, end in zip(outer, np.roll(outer, -1, axis=0), strict=True):
        count = max(1, round(float(np.linalg.norm(end - start)) / 0.08))
        holes += [start + (end - start) * k / count for k in range(count)]
    made = pattern(np.array(holes), [bolt()] * len(holes))
    low, high = np.min(holes, axis=0) - 0.011, np.max(holes, axis=0) + 0.011
    body = pan_body(made, cavity, rounded_rectangle(low[0], low[1], high[0], high[1], 0.011))
    return solve_kit(kit_inputs(**{"etched": False, **changes}), body)
