"""A panel that bulges beyond half its thickness: what it bears with the pull of its own skin."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.geometry.meshing import TriangleMesh
from sumpwright.proof.model import PanelStretch
from sumpwright.proof.plate_edges import Edges
from sumpwright.proof.stretching import Stretched, stretched_plates
from sumpwright.quantities.units import FloatArray, Metre, Pascal, Ratio

_TRIES = 3
"""Pressures tried on the way to the limit, each nearer than the one before."""
_NEAR: Ratio = 1.01
"""A share of what the metal is allowed that is near enough to its limit."""
_FURTHEST: Ratio = 2.0
"""A limit beyond the pressure worked out is told up to so many times of it, on the safe side."""


@dataclass(frozen=True, slots=True)
class PanelMetal:
    """What a panel is made of."""

    modulus: Pascal
    poisson: Ratio
    thickness: Metre
    allowed_at_weld: Pascal
    allowed_inside: Pascal


_BOUNDS: tuple[tuple[Edges, bool], ...] = (
    ("clamped", False),
    ("clamped", True),
    ("supported", False),
    ("supported", True),
)


def stretch_of(
    mesh: TriangleMesh, metal: PanelMetal, pressure: Pascal, thicker: FloatArray | None = None
) -> PanelStretch | None:
    """Bulge, stress and limit over all four bounds; None where the panel gives way too far to tell."""
    found: list[Stretched] = []
    limits: list[Pascal] = []
    for edges, draws_in in _BOUNDS:
        half, whole = _at(mesh, metal, (0.5 * pressure, pressure), edges, draws_in, thicker)
        if half is None or whole is None:
            return None
        found.append(whole)
        limits.append(_limit(mesh, metal, pressure, (half, whole), edges, draws_in, thicker))
    return PanelStretch(
        pressure=pressure,
        bulge_least=min(one.bulge for one in found),
        bulge_most=max(one.bulge for one in found),
        stress_at_weld=max(one.at_edge for one in found[:2]),
        stress_inside=max(max(one.inside, one.at_edge) for one in found[2:]),
        metal_limit=min(limits),
    )


def _at(
    mesh: TriangleMesh,
    metal: PanelMetal,
    pressures: tuple[Pascal, ...],
    edges: Edges,
    draws_in: bool,
    thicker: FloatArray | None,
) -> tuple[Stretched | None, ...]:
    return stretched_plates(
        mesh,
        metal.modulus,
        metal.poisson,
        metal.thickness,
        pressures,
        edges,
        draws_in=draws_in,
        thicker=thicker,
        corner_reach=metal.thickness,
    )


def _share(metal: PanelMetal, one: Stretched, edges: Edges) -> Ratio:
    """Of what the metal is allowed, the worst."""
    if edges == "clamped":
        return max(one.at_edge / metal.allowed_at_weld, one.inside / metal.allowed_inside)
    return max(one.inside, one.at_edge) / metal.allowed_inside


def _limit(
    mesh: TriangleMesh,
    metal: PanelMetal,
    pressure: Pascal,
    known: tuple[Stretched, Stretched],
    edges: Edges,
    draws_in: bool,
    thicker: FloatArray | None,
) -> Pascal:
    """Pressure at which the metal's share comes to one, or a little less.

    The share grows ever more slowly with the pressure: as fast as it while the sheet bends,
    with its two thirds power once it only pulls. A straight line beyond the pressures worked
    out therefore says too much; one between two of them too little, so that each next try is
    still a little too high and nearer than the one before.
    """
    half, whole = (_share(metal, one, edges) for one in known)
    if whole <= 1.0:
        slope = max(whole - half, 1e-12) / (0.5 * pressure)
        return min(pressure + (1.0 - whole) / slope, _FURTHEST * pressure)
    low, at_low = (0.5 * pressure, half) if half <= 1.0 else (0.0, 0.0)
    high, at_high = (pressure, whole) if half <= 1.0 else (0.5 * pressure, half)
    for _ in range(_TRIES):
        if at_high <= _NEAR:
            break
        tried = low + (high - low) * (1.0 - at_low) / (at_high - at_low)
        (one,) = _at(mesh, metal, (tried,), edges, draws_in, thicker)
        if one is None:
            break
        share = _share(metal, one, edges)
        if share <= 1.0:
            low, at_low = tried, share
            break
        high, at_high = tried, share
    # The square root grows more slowly than any of it: what it says is on the safe side.
    return max(low, high / at_high**2)
