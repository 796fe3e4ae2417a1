"""The scanned old pan as it stood: how much it held at each level, beside the new pan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.oil.model import OilInputs, OldPanHeld, OldPanRow
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre
from sumpwright.rail import RailResult
from sumpwright.rail.scan_model import PanInside

ROWS = 12


def with_old_pan(inputs: OilInputs, rail: RailResult | None) -> OilInputs:
    """The oil's inputs with the inside that a scan of the old pan shows, if there is one."""
    seen = () if rail is None else rail.seen
    inside = next((one.inside for one in seen if one.inside is not None), None)
    return inputs if inside is None else replace(inputs, old_inside=inside)


@dataclass(frozen=True, slots=True, eq=False)
class OldCurve:
    """Volume against level of the old pan in the attitude it stood in; levels are ``up . p``."""

    inside: PanInside
    up: FloatArray  # (3,) unit vector, away from the pan
    bottoms: FloatArray  # (n,) m, level at which each column begins to fill
    level_rail: Metre  # of the lowest place of the opening's edge

    @staticmethod
    def prepare(inside: PanInside, up: FloatArray) -> OldCurve:
        """For one direction of up (3,), any length; the opening has to look upwards."""
        unit = up / np.linalg.norm(up)
        across = inside.columns @ unit[:2]
        return OldCurve(
            inside,
            unit,
            across - inside.depths * unit[2],
            float((inside.rim @ unit[:2]).min()),
        )

    @property
    def lowest(self) -> Metre:
        """Level of the deepest place."""
        return float(self.bottoms.min())

    def volume_below(self, level: Metre) -> CubicMetre:
        """Oil up to the level; beyond the opening's lowest place as if under a lid."""
        # A column stands square to the plane: along it the level moves by up's own z.
        filled = np.clip((level - self.bottoms) / self.up[2], 0.0, self.inside.depths)
        return max(float(filled @ self.inside.areas), 0.0)

    def level_for(self, volume: CubicMetre) -> Metre | None:
        """Level of a volume; None for more than is held below the opening's lowest place."""
        low, high = self.lowest, self.level_rail
        if volume > self.volume_below(high):
            return None
        for _ in range(45):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.volume_below(middle) < volume else (low, middle)
        return 0.5 * (low + high)


def old_pan_held(
    inputs: OilInputs, new_depth: Metre, new_volume: Callable[[Metre], CubicMetre]
) -> OldPanHeld | None:
    """What the old pan held, and the new one at the same depths below the rail.

    ``new_depth`` is the new pan's deepest place below its rail's lowest, ``new_volume`` what
    it holds up to so far below that. None where there is no scan, or where the old pan stood
    on its edge.
    """
    inside = inputs.old_inside
    up = np.array([0.0, 0.0, 1.0]) if inputs.old_up is None else inputs.old_up
    if inside is None or not up[2] > 0.5 * float(np.linalg.norm(up)):
        return None
    curve = OldCurve.prepare(inside, up)
    space = curve.volume_below(curve.level_rail)
    deepest = curve.level_rail - curve.lowest
    most = max(deepest, new_depth)
    fill = inputs.fill if inputs.target_capacity is None else inputs.target_capacity
    level = None if fill is None else curve.level_for(fill)
    rows = tuple(
        OldPanRow(
            below_rail=below,
            old_volume=curve.volume_below(curve.level_rail - below),
            new_volume=new_volume(below),
        )
        for below in _steps(most)
    )
    return OldPanHeld(
        space=space,
        space_u=inside.space_u * space / inside.space,
        deepest=deepest,
        fill_below_rail=None if level is None else curve.level_rail - level,
        rows=rows,
        inside=inside,
    )


def _steps(most: Metre) -> tuple[Metre, ...]:
    """Even depths from deep to none, in steps that read well."""
    for step in (0.005, 0.01, 0.02, 0.025, 0.05):
        count = int(most / step)
        if count <= ROWS:
            break
    return tuple(step * k for k in range(count, -1, -1))
