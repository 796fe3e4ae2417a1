"""Pressure lost on the way to the pump, element by element, over whole arrays of conditions."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.body.pickup_line import PickupLine, Screen, TubeCorner, bent_length
from sumpwright.quantities.units import FloatArray, Metre, SquareMetre
from sumpwright.suction.formulas import (
    churchill_friction_factor,
    duct_laminar_constant,
    entrance_loss,
    opening_loss,
    parted_share,
    reynolds_number,
    two_k_loss,
    woven_screen_loss,
)
from sumpwright.suction.model import Mouth

ENTRANCE_HIGH = {"flush": 0.5, "projecting": 1.0, "bell": 0.05}
"""Loss coefficients of a mouth in churned flow, published; the screen stands before it."""

FITTING_DOUBT = 0.30
"""The bend and mitre constants were measured on larger pipe: within 30 % on 16 to 25 mm tube."""

SCREEN_COLD_DOUBT = 0.50
"""Two published forms differ by this much on thick oil."""

SCREEN_HOT_OVER = 1.7
"""On thin oil the formula is up to this many times the published table."""

THIN_ON_MESH = 20.0
"""Reynolds number on the screen's opening from which the published table holds."""


@dataclass(frozen=True, slots=True, eq=False)
class Losses:
    """Pressure lost in each element [Pa], arrays of one shape; least and most are the formulas' bands."""

    entrance: FloatArray
    screen: FloatArray
    screen_least: FloatArray
    screen_most: FloatArray
    tube: FloatArray
    bends: FloatArray
    bends_least: FloatArray
    bends_most: FloatArray
    velocity: FloatArray
    reynolds: FloatArray  # 1
    speed: FloatArray  # m/s in the tube

    @property
    def total(self) -> FloatArray:
        """All elements together."""
        return self.entrance + self.screen + self.tube + self.bends + self.velocity

    @property
    def total_least(self) -> FloatArray:
        """All elements at the kinder end of their bands."""
        return self.entrance + self.screen_least + self.tube + self.bends_least + self.velocity

    @property
    def total_most(self) -> FloatArray:
        """All elements at the worse end of their bands."""
        return self.entrance + self.screen_most + self.tube + self.bends_most + self.velocity


@dataclass(frozen=True, slots=True)
class LineFigures:
    """What the losses need to know of a line's shape, worked out once for any number of flows."""

    length: Metre  # of the centre line, bends rounded
    laminar_constant: float  # 1, Darcy factor times Reynolds number of orderly flow
    corners: tuple[tuple[Metre, float, float], ...]  # way walked to it, its constants K1 and Kinf


def figures_of(line: PickupLine) -> LineFigures:
    """The figures of a line that ``line_losses`` works with."""
    runs, turns = line.runs(), line.turns()
    length, _ = bent_length(runs, turns, line.corners)
    corners = []
    walked = 0.0
    for run, turn, corner in zip(runs[:-1], turns, line.corners, strict=True):
        walked += float(run)
        corners.append((walked, *_corner_constants(corner, float(turn), line.section.hydraulic_diameter)))
    constant = 64.0 if line.section.shape == "round" else duct_laminar_constant(_aspect(line))
    return LineFigures(length, constant, tuple(corners))


def line_losses(
    line: PickupLine,
    mouth: Mouth,
    roughness: Metre,
    flow: Any,
    density: Any,
    viscosity: Any,
    wetted: Any = None,
    has_bands: bool = True,
    figures: LineFigures | None = None,
) -> Losses:
    """Losses of a flow [m3/s] of oil of a density [kg/m3] and dynamic viscosity [Pa s].

    All may be arrays that broadcast together. ``wetted`` is how far along the tube the oil
    has come [m] while it is being drawn up; None = all the way. Without ``has_bands`` the
    screen's least and most are its nominal loss: a third of the work. ``figures`` are the
    line's own, where they are at hand.
    """
    known = figures_of(line) if figures is None else figures
    along: Any = math.inf if wetted is None else wetted
    q: Any
    rho: Any
    mu: Any
    front: Any
    q, rho, mu, front = (
        np.asarray(a, dtype=np.float64) for a in np.broadcast_arrays(flow, density, viscosity, along)
    )
    section = line.section
    v: Any = q / section.area
    across = section.hydraulic_diameter
    # No flow has no Reynolds number; a vanishing one gives the right limit of every product below.
    re: Any = np.maximum(reynolds_number(rho, v, across, mu), 1e-9)
    head = 0.5 * rho * v**2
    share = np.clip(front / known.length, 0.0, 1.0)
    # A duct behaves as the round tube whose laminar factor it has.
    factor = churchill_friction_factor(re * 64.0 / known.laminar_constant, roughness / across)
    tube = factor * (known.length * share) / across * head
    k: Any = np.zeros_like(v)
    for walked, low, high in known.corners:
        k = k + np.where(walked <= front, two_k_loss(re, low, high, across), 0.0)
    bends = k * head
    entrance = entrance_loss(re, ENTRANCE_HIGH[mouth]) * head
    if line.screen is None:
        zero = np.zeros_like(v)
        nominal, least, most = zero, zero, zero
    else:
        nominal, least, most = screen_loss(line.screen, q, rho, mu, has_bands)
    return Losses(
        entrance=entrance,
        screen=nominal,
        screen_least=least,
        screen_most=most,
        tube=tube,
        bends=bends,
        bends_least=(1.0 - FITTING_DOUBT) * bends,
        bends_most=(1.0 + FITTING_DOUBT) * bends,
        velocity=head,
        reynolds=re,
        speed=v,
    )


def _aspect(line: PickupLine) -> float:
    w, h = line.section.clear_width, line.section.clear_height
    return min(w, h) / max(w, h)


def corner_loss(corner: TubeCorner, turn: float, bore: Metre, reynolds: Any) -> FloatArray:
    """Loss coefficient of one corner: the constants at 0, 45 and 90 degrees joined by lines."""
    low, high = _corner_constants(corner, turn, bore)
    return np.asarray(two_k_loss(reynolds, low, high, bore))


def _corner_constants(corner: TubeCorner, turn: float, bore: Metre) -> tuple[float, float]:
    """K1 and Kinf of one corner at its own turn."""
    if corner.kind == "bend":
        ratio = (corner.radius or 0.0) / bore
        # Tighter than one bore is worse than any row; the single mitre bounds it.
        high_90 = float(np.interp(ratio, [0.0, 0.5, 1.0, 1.5], [1.15, 0.60, 0.25, 0.20]))
        high_45 = float(np.interp(ratio, [0.0, 0.5, 1.0, 1.5], [0.25, 0.23, 0.20, 0.15]))
        low_90, low_45 = 800.0, 500.0
    else:
        high_90 = {1: 1.15, 2: 0.35}.get(corner.welds, 0.30)
        high_45 = 0.25 if corner.welds == 1 else 0.20
        low_90, low_45 = (1000.0 if corner.welds == 1 else 800.0), 500.0
    degrees = math.degrees(turn)
    grid = [0.0, 45.0, 90.0, 180.0]
    # Two right angles in a row lose as much as two bends.
    low = float(np.interp(degrees, grid, [0.0, low_45, low_90, 2.0 * low_90]))
    high = float(np.interp(degrees, grid, [0.0, high_45, high_90, 2.0 * high_90]))
    return low, high


def screen_loss(
    screen: Screen, flow: Any, density: Any, viscosity: Any, has_bands: bool = True
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Pressure lost at screen and bypass: nominal, least, most [Pa]; nominal thrice without bands."""
    clear = screen.area * (1.0 - screen.blocked)
    nominal = _through(screen, clear, flow, density, viscosity, 1.0)
    if not has_bands:
        return nominal, nominal, nominal
    if screen.kind == "woven":
        on_mesh = density * (flow / clear) * screen.opening / viscosity
        cold = on_mesh < THIN_ON_MESH
        low = np.where(cold, 1.0 - SCREEN_COLD_DOUBT, 1.0 / SCREEN_HOT_OVER)
        high = np.where(cold, 1.0 + SCREEN_COLD_DOUBT, 1.0)
    else:
        low = high = np.ones_like(flow)
    return (
        nominal,
        _through(screen, clear, flow, density, viscosity, low),
        _through(screen, clear, flow, density, viscosity, high),
    )


def _mesh_loss(screen: Screen, clear: SquareMetre, flow: Any, density: Any, viscosity: Any) -> FloatArray:
    if screen.kind == "woven":
        return np.asarray(
            woven_screen_loss(
                flow / clear,
                density,
                viscosity,
                screen.wires_per_metre,
                screen.thickness,
                screen.opening,
            )
        )
    open_share = math.pi / 4.0 * (screen.opening / screen.pitch) ** 2
    return np.asarray(
        opening_loss(flow / (clear * open_share), density, viscosity, screen.opening, screen.thickness)
    )


def _through(
    screen: Screen,
    clear: SquareMetre,
    flow: Any,
    density: Any,
    viscosity: Any,
    factor: Any,
) -> FloatArray:
    """Loss when mesh and bypass stand side by side: both see the same pressure."""
    alone = factor * _mesh_loss(screen, clear, flow, density, viscosity)
    if screen.bypass_area <= 0.0:
        return np.asarray(alone)
    across = math.sqrt(4.0 * screen.bypass_area / math.pi)
    past = flow / screen.bypass_area
    none = np.zeros_like(flow)
    # Either way loses a part with the flow and a part with its square; oil without weight
    # shows the one, oil that is not sticky the other.
    share = parted_share(
        factor * _mesh_loss(screen, clear, flow, none, viscosity),
        factor * _mesh_loss(screen, clear, flow, density, none),
        opening_loss(past, none, viscosity, across, screen.thickness),
        opening_loss(past, density, none, across, screen.thickness),
    )
    return np.asarray(factor * _mesh_loss(screen, clear, share * flow, density, viscosity))
