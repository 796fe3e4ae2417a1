"""Kits of many random bodies: each closes and proves it, or is refused with the place.

``make soak`` runs the whole list; the plain tests one in a hundred of it.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
import shapely
from scipy import ndimage

from sumpwright.body.solve import solve as solve_body
from sumpwright.kit.rebuild import sheet_of
from sumpwright.kit.solve import solve
from sumpwright.kit.spots import corner_spots
from tests.body.random_bodies import near_real_body, random_body
from tests.kit.made_bodies import kit_inputs

SOAK = bool(os.environ.get("SUMPWRIGHT_SOAK"))
HARSH = range(1000 if SOAK else 10)
NEAR_REAL = range(300 if SOAK else 6)


def verdict(seed, draw):
    """One of "gate", "refused", "closed"; anything else is a fault and fails at once."""
    body = solve_body(*draw(seed))
    kit = solve(kit_inputs(), body)
    report = kit.rebuild
    if body.cavity is None or body.gate:
        assert report.refused
        assert not kit.parts
        return "gate"
    if report.refused:
        assert report.gaps, f"seed {seed} is refused without a place"
        assert all(gap.where and np.isfinite(gap.place).all() for gap in report.gaps)
        return "refused"
    metal = sum(sheet_of(part).solid().volume() for part in kit.parts)
    assert report.worst_gap <= 0.00025, seed
    assert report.overlap < 1e-6 * metal, seed
    assert report.intrusion < 1e-6 * metal, seed
    assert report.escapes == 0, seed
    for part in kit.parts:
        outline = sheet_of(part).outline
        assert outline.is_valid, seed
        assert isinstance(outline, shapely.Polygon), seed
    return "closed"


def tally(seeds, draw):
    counts = {"gate": 0, "refused": 0, "closed": 0}
    for seed in seeds:
        counts[verdict(seed, draw)] += 1
    print(counts)  # kept in soak.log
    return counts


@pytest.mark.soak
@pytest.mark.expected_from(
    "property", "none of a fixed list of harsh bodies is open; six in ten pass the gate; few are refused"
)
def test_harsh_bodies_close_or_are_refused():
    counts = tally(HARSH, random_body)
    assert counts["gate"] <= 0.4 * len(HARSH)
    assert counts["refused"] <= 0.1 * len(HARSH)


@pytest.mark.soak
@pytest.mark.expected_from("property", "bodies like real pans all close")
def test_bodies_like_real_pans_close():
    counts = tally(NEAR_REAL, near_real_body)
    assert counts["refused"] == 0


def voxel_leaks(sheets, cavity_point, outside_point, place, half, diameter, step):
    """Flood round a corner through voxels whose centres stand half a ball away from all metal."""
    ticks = np.arange(-half, half + step, step)
    grid = place + np.stack(np.meshgrid(ticks, ticks, ticks, indexing="ij"), axis=-1)
    points = grid.reshape(-1, 3)
    distance = np.full(len(points), np.inf)
    for sheet in sheets:
        height = (points - sheet.frame.origin) @ sheet.frame.normal
        lift = np.maximum(np.maximum(-height, height - sheet.thickness), 0.0)
        near = np.flatnonzero(lift < diameter)
        flat = shapely.distance(shapely.points(sheet.frame.to_flat(points[near])), sheet.outline)
        distance[near] = np.minimum(distance[near], np.hypot(flat, lift[near]))
    free = distance.reshape(grid.shape[:3]) > 0.5 * diameter
    free &= grid[..., 2] < 0.0  # the blanking plate
    label, _ = ndimage.label(free)

    def label_at(point):
        index = np.clip(np.round((point - place + half) / step).astype(int), 0, len(ticks) - 1)
        return label[tuple(index)]

    inside, outside = label_at(cavity_point), label_at(outside_point)
    assert min(inside, outside) > 0, "the probes must stand in the open"
    return inside == outside


@pytest.mark.expected_from(
    "property", "a voxel flood round closed corners of a kit finds no way out; with a part shrunk it does"
)
@pytest.mark.parametrize("seed", [0, 5])
def test_closed_corners_pass_a_voxel_flood(seed):
    body = solve_body(*near_real_body(seed))
    kit = solve(kit_inputs(), body)
    sheets = [sheet_of(part) for part in kit.parts]
    by_face = {sheet.face: sheet for sheet in sheets if sheet.face is not None}
    t = body.inputs.sheet
    inward = {v for e in body.cavity.edges if e.is_inward for v in (e.start, e.end)}
    spots = [
        spot
        for spot in corner_spots(body.cavity, by_face, body.inputs.flange_thickness, 3.0)
        if any(np.linalg.norm(spot.place - body.cavity.vertices[v]) < 1e-9 for v in inward)
    ][:3]
    assert spots
    for spot in spots:
        half, step, diameter = 2.4 * t, t / 10, 0.35 * t
        face = by_face[spot.faces[0]]
        metal = face.outline.buffer(-0.9 * t)
        centre = face.frame.to_flat(spot.place[None])[0]
        near = metal.intersection(shapely.box(*(centre - 2 * t), *(centre + 2 * t)))
        spot_in_plane = near.representative_point()
        ground = face.frame.to_space(np.array([[spot_in_plane.x, spot_in_plane.y]]))[0]
        inside = ground - 0.6 * t * face.frame.normal
        outside = ground + 1.6 * t * face.frame.normal
        args = (inside, outside, spot.place, half, diameter, step)
        assert not voxel_leaks(sheets, *args)
        shrunk = [
            sheet.with_outline(sheet.outline.buffer(-0.5 * t, join_style="mitre")) if sheet is face else sheet
            for sheet in sheets
        ]
        assert voxel_leaks(shrunk, *args)
