"""A whole box with a flange against a model of solid bricks by another library."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from sumpwright.weld.bow import out_of_plane
from sumpwright.weld.bow_elements import areas, local_axes
from sumpwright.weld.bow_mesh import CannotMeshError, Panel, mesh_panels
from sumpwright.weld.bow_solve import held_still, ready, seam_pull, stiffness
from sumpwright.weld.distortion_formulas import strip_bow
from tests.weld.sheets_by_hand import MODULUS, meshed, open_box
from tests.weld.solid_box import box_bow

LENGTH, WIDTH, SHEET, FLANGE, RIM, PULL = 0.3, 0.16, 0.003, 0.008, 0.023, 1000.0
CASES = {
    "plain": (0.05, None, ("right", "left")),
    "one seam": (0.05, None, ("right",)),
    "with an inner wall": (0.05, 0.08, ("right", "left")),
    "twice as deep": (0.10, None, ("right", "left")),
    "twice as deep with an inner wall": (0.10, 0.08, ("right", "left")),
}


@functools.cache
def by_bricks(case):
    height, inner, seams = CASES[case]
    places, lift = box_bow(LENGTH, WIDTH, height, SHEET, FLANGE, RIM, PULL, seams, inner)
    return float(np.ptp(out_of_plane(places, lift)))


@functools.cache
def by_panels(case, size=0.014):
    height, inner, seams = CASES[case]
    corners, panels = open_box(LENGTH, WIDTH, height, SHEET, FLANGE, RIM, inner)
    mesh, seam = meshed(corners, panels, size)
    ends = {"right": (0, 1), "left": (3, 2)}
    load = PULL * sum(seam_pull(mesh, seam(*ends[name])) for name in seams)
    moved = ready(mesh, stiffness(mesh), held_still(mesh)).moved_by(load[None])[0]
    flange = np.unique(mesh.triangles[mesh.panel == 5])
    return float(np.ptp(out_of_plane(mesh.nodes[flange], moved[flange, 2])))


@pytest.mark.expected_from(
    "convergence", "bricks of 20 nodes (scikit-fem), the sheet one brick thick; no plate or beam in them"
)
@pytest.mark.parametrize("case", list(CASES))
def test_the_flange_bows_as_solid_bricks_say(case):
    # Middle planes stand for sheets: corners are stiffer by about a thickness in a height.
    assert by_panels(case) == pytest.approx(by_bricks(case), rel=0.10)


@pytest.mark.expected_from("convergence", "the change that solid bricks say, asked for within 20 %")
@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("plain", "with an inner wall"),
        ("twice as deep", "twice as deep with an inner wall"),
        ("plain", "twice as deep"),
    ],
)
def test_a_wall_added_or_a_side_deepened_changes_the_bow_as_bricks_say(before, after):
    change = by_panels(after) / by_panels(before) - 1.0
    bricks = by_bricks(after) / by_bricks(before) - 1.0
    assert change == pytest.approx(bricks, rel=0.20)


@pytest.mark.expected_from("closed form", "beam theory of the box's own section, for contrast")
def test_a_beam_would_not_do():
    """Beam theory on the same section misses the bow of a short wide box by more than a fifth."""
    height = 0.05
    strips = [
        ((WIDTH + 2 * SHEET) * SHEET, -height - 0.5 * SHEET, SHEET),
        (2 * SHEET * (height - FLANGE), -0.5 * (height + FLANGE), height - FLANGE),
        (2 * RIM * FLANGE, -0.5 * FLANGE, FLANGE),
    ]
    area = sum(strip[0] for strip in strips)
    middle = sum(strip[0] * strip[1] for strip in strips) / area
    inertia = sum(a * (z - middle) ** 2 + a * deep**2 / 12.0 for a, z, deep in strips)
    bow = strip_bow(2 * PULL, middle + height + 0.5 * SHEET, LENGTH, MODULUS, inertia)
    assert abs(bow / by_bricks("plain") - 1.0) > 0.2


@pytest.mark.expected_from("convergence", "finer triangles change the box's bow little")
def test_the_cells_are_fine_enough():
    assert by_panels("plain", 0.014) == pytest.approx(by_panels("plain", 0.009), rel=0.03)


@pytest.mark.expected_from("property", "triangles fill every panel, and panels share their nodes")
def test_panels_share_their_nodes():
    corners, panels = open_box(LENGTH, WIDTH, 0.05, SHEET, FLANGE, RIM, 0.08)
    mesh, chains = mesh_panels(corners, panels, 0.02)
    area = areas(local_axes(mesh)[1])
    assert area[mesh.panel == 0].sum() == pytest.approx((LENGTH + SHEET) * (WIDTH + SHEET))
    ring = (LENGTH + 2 * RIM) * (WIDTH + 2 * RIM) - (LENGTH + SHEET) * (WIDTH + SHEET)
    assert area[mesh.panel == 5].sum() == pytest.approx(ring)
    used = np.unique(mesh.triangles)
    assert len(used) == len(mesh.nodes)
    # Every line between panels has the same nodes on both sides: no side of a triangle is alone
    # but at the flange's outer edge and the inner wall's top.
    sides = np.sort(mesh.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    unique, count = np.unique(sides, axis=0, return_counts=True)
    alone = mesh.nodes[unique[count == 1]].mean(axis=1)
    at_edge = (np.abs(alone[:, 2] + 0.5 * FLANGE) < 1e-9) | (np.abs(alone[:, 2] + FLANGE) < 1e-9)
    assert at_edge.all()
    line = chains.along(3, 0)
    assert np.all(np.diff(mesh.nodes[line, 1]) < 0.0)
    with pytest.raises(KeyError):
        chains.along(0, 2)


def test_a_panel_that_folds_over_itself_is_refused():
    corners = np.array([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (1.0, 1.0, 0.0)])
    crossed = Panel("crossed", ((0, 1, 2, 3),), (), (0.0, 0.0, 1.0), 0.003, MODULUS, 0.3)
    with pytest.raises(CannotMeshError, match="crossed"):
        mesh_panels(corners, (crossed,), 0.2)
