"""Places where a kit may leak: what may be changed there, and the window through which it is tested."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import Polygon

from sumpwright.body import Cavity, Edge
from sumpwright.kit.leaks import Probe, probes_on
from sumpwright.kit.solids import Sheet, polygons_of
from sumpwright.quantities.units import FloatArray, Metre


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """A corner of the pan, or a place along a seam.

    The zone is a block round ``place`` cut square to each edge that leaves it; sheets may
    change inside it, and the window of the leak test is a little larger.
    """

    name: str
    place: FloatArray  # (3,) m
    faces: tuple[int, ...]  # sheets that may change
    directions: FloatArray  # (k, 3) unit vectors along the edges that leave
    reaches: FloatArray  # (k,) m, how far the zone goes along each
    half: Metre  # half side of the block
    edges: tuple[int, ...] = ()  # cavity edges that leave here

    def zone(self, sheet: Sheet) -> Polygon:
        """The zone in a sheet's frame."""
        return self._block(sheet, self.half, 0.0)

    def _block(self, sheet: Sheet, half: Metre, margin: Metre) -> Polygon:
        centre = sheet.frame.to_flat(self.place[None])[0]
        shape = shapely.box(*(centre - half), *(centre + half))
        axes = np.stack([sheet.frame.x_axis, sheet.frame.y_axis])
        for direction, reach in zip(self.directions, self.reaches, strict=True):
            flat = axes @ direction
            size = float(np.linalg.norm(flat))
            if size < 0.3:
                continue
            shape = shape.intersection(half_plane(centre, flat / size, (reach + margin) / size, 8.0 * half))
        parts = polygons_of(shape)
        return parts[0] if parts else Polygon()

    def window(self, margin: Metre) -> Manifold:
        """The block in space, larger by ``margin``, open downwards only below the rail plane."""
        half = self.half + margin
        block = Manifold.cube((2.0 * half,) * 3, True).translate(tuple(self.place))
        for direction, reach in zip(self.directions, self.reaches, strict=True):
            level = float(direction @ self.place) + reach + margin
            block = block.trim_by_plane(tuple(-direction), -level)
        if self.place[2] + half > 0.0:
            block = block.trim_by_plane((0.0, 0.0, -1.0), 0.0)
        return block

    def probes(
        self, sheets: Mapping[int, Sheet], faces: Mapping[int, Polygon], thickness: Metre
    ) -> list[Probe]:
        """Probes on both sides of every sheet at the spot, away from the seams where there is room."""
        out: list[Probe] = []
        for key in self.faces:
            sheet = sheets[key]
            near = self._block(sheet, 0.95 * self.half, 0.0)
            for is_inside, distances in ((True, (0.3, 0.0)), (False, (2.2, 1.2, 0.4, 0.0))):
                metal = sheet.outline.intersection(faces[key])
                for away in distances:
                    spots = metal.buffer(-away * thickness).intersection(near)
                    found = (
                        probes_on(sheet, shapely.union_all(polygons_of(spots)), is_inside)
                        if not spots.is_empty
                        else []
                    )
                    if found:
                        out += found
                        break
        return out


def half_plane(centre: FloatArray, normal: FloatArray, level: Metre, size: Metre) -> Polygon:
    """The part of the plane with (p - centre) . normal <= level, as a big square."""
    across = np.array([-normal[1], normal[0]])
    top = centre + level * normal
    return Polygon(
        [
            top - size * across,
            top - size * (across + 2.0 * normal),
            top + size * (across - 2.0 * normal),
            top + size * across,
        ]
    )


def corner_spots(
    cavity: Cavity, sheets: Mapping[int, Sheet], flange_thickness: Metre, reach_in_t: float
) -> list[Spot]:
    """One spot a corner of the cavity; corners at the rail are taken where the seam meets the flange."""
    around: dict[int, list[int]] = {}
    for edge in cavity.edges:
        for vertex in (edge.start, edge.end):
            around.setdefault(vertex, []).append(edge.index)
    spots = []
    for vertex, edges in sorted(around.items()):
        place = np.asarray(cavity.vertices[vertex])
        faces = sorted(
            {f for e in edges for f in (cavity.edges[e].face_a, cavity.edges[e].face_b) if f in sheets}
        )
        if not faces:
            continue
        t = max(sheets[f].thickness for f in faces)
        directions, lengths = [], []
        for e in edges:
            edge = cavity.edges[e]
            other = edge.end if edge.start == vertex else edge.start
            step = cavity.vertices[other] - place
            directions.append(step / np.linalg.norm(step))
            lengths.append(edge.length)
        at_rail = place[2] > -1e-9
        if at_rail:
            steepest = min(range(len(edges)), key=lambda k: directions[k][2])
            down = flange_thickness / max(1e-3, -directions[steepest][2])
            if down < lengths[steepest]:
                place = place + down * directions[steepest]
                lengths = [length - (down if k == steepest else 0.0) for k, length in enumerate(lengths)]
        reach = reach_in_t * t
        spots.append(
            Spot(
                _corner_name(cavity, faces, at_rail),
                place,
                tuple(faces),
                np.array(directions),
                np.array([min(reach, 0.5 * length) for length in lengths]),
                1.2 * reach,
                tuple(edges),
            )
        )
    return spots


def _corner_name(cavity: Cavity, faces: Sequence[int], at_rail: bool) -> str:
    names = [cavity.faces[f].name for f in faces] + (["flange"] if at_rail else [])
    return (
        "corner of " + ", ".join(names[:-1]) + f" and {names[-1]}"
        if len(names) > 1
        else f"corner of {names[0]}"
    )


def edge_spots(cavity: Cavity, edge: Edge, places: FloatArray, thickness: Metre) -> list[Spot]:
    """Spots on one seam, three thicknesses apart, that cover the given places of it."""
    along = (cavity.vertices[edge.end] - cavity.vertices[edge.start]) / edge.length
    names = f"seam between {cavity.faces[edge.face_a].name} and {cavity.faces[edge.face_b].name}"
    spots: list[Spot] = []
    for place in places:
        if spots and np.linalg.norm(place - spots[-1].place) < 3.0 * thickness:
            continue
        reaches = np.array([2.0 * thickness, 2.0 * thickness])
        spots.append(
            Spot(
                names, place, (edge.face_a, edge.face_b), np.stack([along, -along]), reaches, 3.6 * thickness
            )
        )
    return spots
