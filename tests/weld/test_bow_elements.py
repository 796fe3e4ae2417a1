"""The triangles against plate theory, beam theory and the patch test."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.weld.bow_elements import (
    areas,
    element_stiffness,
    greatest_compression,
    local_axes,
    panel_stress,
    poisson_of,
)
from sumpwright.weld.bow_solve import (
    SeamLine,
    held_still,
    ready,
    rigid_moves,
    seam_pull,
    stiffness,
)
from sumpwright.weld.distortion_formulas import strip_bow
from tests.weld.sheets_by_hand import MODULUS, POISSON, flat_sheet


@pytest.mark.expected_from("property", "a triangle has six rigid moves and no other without stiffness")
def test_no_move_is_free_but_the_rigid_ones():
    mesh = flat_sheet(0.3, 0.1, 5, 3, uneven=0.3)
    for matrix in element_stiffness(mesh)[:6]:
        values = np.linalg.eigvalsh(matrix)
        assert (values > 1e-9 * values.max()).sum() == 12
    whole = stiffness(mesh)
    assert abs(whole @ rigid_moves(mesh.nodes)).max() < 1e-9 * abs(whole).max()


@pytest.mark.expected_from("closed form", "patch test: an even strain and an even curvature come out exactly")
def test_even_strain_and_even_curvature_come_out_exactly():
    mesh = flat_sheet(0.3, 0.2, 5, 4, uneven=0.3)
    x, y = mesh.nodes[:, 0], mesh.nodes[:, 1]
    exact = np.zeros((len(x), 6))
    exact[:, 0] = 1e-3 * x + 4e-4 * y
    exact[:, 1] = 2e-4 * x - 5e-4 * y
    exact[:, 2] = 0.3 * x**2 - 0.2 * y**2 + 0.1 * x * y
    exact[:, 3] = -0.4 * y + 0.1 * x  # dw/dy
    exact[:, 4] = -(0.6 * x + 0.1 * y)
    exact[:, 5] = 0.5 * (2e-4 - 4e-4)
    edge = (x < 1e-9) | (x > 0.3 - 1e-9) | (y < 1e-9) | (y > 0.2 - 1e-9)
    held = (6 * np.flatnonzero(edge)[:, None] + np.arange(6)).ravel()
    whole = stiffness(mesh)
    pushed = np.zeros(exact.size)
    pushed[held] = exact.ravel()[held]
    free = np.setdiff1d(np.arange(exact.size), held)
    moved = ready(mesh, whole, held).moved_by(-(whole @ pushed)[None])[0].ravel()
    np.testing.assert_allclose(moved[free], exact.ravel()[free], atol=1e-9)
    stress = panel_stress(mesh, exact)
    axes, _ = local_axes(mesh)
    in_x = MODULUS / (1 - POISSON**2) * (1e-3 - POISSON * 5e-4)
    in_y = MODULUS / (1 - POISSON**2) * (-5e-4 + POISSON * 1e-3)
    np.testing.assert_allclose(stress[:, 0] + stress[:, 1], in_x + in_y, rtol=1e-9)
    shear = MODULUS / (2 * (1 + POISSON)) * 6e-4
    least = 0.5 * (in_x + in_y) - np.hypot(0.5 * (in_x - in_y), shear)
    np.testing.assert_allclose(greatest_compression(stress), -least, rtol=1e-9)
    assert axes.shape == (len(mesh.triangles), 3, 3)


@pytest.mark.expected_from(
    "closed form", "strip shrunk along one edge: F e L2 / (8 E I) of beam theory, L/b = 10"
)
@pytest.mark.parametrize("across", [1, 2, 4])
def test_a_strip_shrunk_along_one_edge_bows_like_a_beam(across):
    """One triangle across the strip is enough: nothing locks."""
    length, width, thickness, pull = 0.5, 0.05, 0.003, 1000.0
    mesh = flat_sheet(length, width, 10 * across, across, thickness, uneven=0.2)
    low = np.flatnonzero(mesh.nodes[:, 1] < 1e-9)
    seam = SeamLine("bead", low[np.argsort(mesh.nodes[low, 0])], np.zeros(3))
    sheet = ready(mesh, stiffness(mesh), held_still(mesh))
    moved = sheet.moved_by(pull * seam_pull(mesh, seam)[None])
    top = np.flatnonzero(mesh.nodes[:, 1] > width - 1e-9)
    top = top[np.argsort(mesh.nodes[top, 0])]
    x, sideways = mesh.nodes[top, 0], moved[0, top, 1]
    bow = float(np.interp(0.5 * length, x, sideways)) - 0.5 * float(sideways[0] + sideways[-1])
    beam = strip_bow(pull, 0.5 * width, length, MODULUS, thickness * width**3 / 12.0)
    assert bow == pytest.approx(beam, rel=0.06)


@pytest.mark.expected_from(
    "published", "Roark's plate tables, cases 1a and 8: alpha for a/b 1, 1.4 and 2, edges resting and clamped"
)
@pytest.mark.parametrize(
    ("ratio", "resting", "clamped"), [(1.0, 0.0444, 0.0138), (1.4, 0.0770, 0.0226), (2.0, 0.1110, 0.0277)]
)
def test_a_plate_under_even_pressure(ratio, resting, clamped):
    width, thickness, modulus, pressure = 0.2, 0.002, 207e9, 13.8e3
    mesh = flat_sheet(ratio * width, width, round(12 * ratio), 12, thickness, modulus, 0.3)
    whole = stiffness(mesh)
    load = np.zeros((len(mesh.nodes), 6))
    each = pressure * areas(local_axes(mesh)[1]) / 3.0
    np.add.at(load[:, 2], mesh.triangles.ravel(), np.repeat(each, 3))
    x, y = mesh.nodes[:, 0], mesh.nodes[:, 1]
    edge = np.flatnonzero((x < 1e-9) | (x > ratio * width - 1e-9) | (y < 1e-9) | (y > width - 1e-9))
    in_plane = (6 * np.arange(len(x))[:, None] + [0, 1, 5]).ravel()
    for alpha, kept in ((resting, [2]), (clamped, [2, 3, 4])):
        held = np.unique(np.concatenate([in_plane, (6 * edge[:, None] + kept).ravel()]))
        deepest = ready(mesh, whole, held).moved_by(load.reshape(1, -1))[0, :, 2].max()
        # Twelve triangles across: within a few per cent of the limit.
        assert deepest * modulus * thickness**3 / (pressure * width**4) == pytest.approx(alpha, rel=0.03)


@pytest.mark.expected_from("convergence", "finer triangles come nearer to 0.0444 of Roark's square plate")
def test_finer_triangles_come_nearer():
    errors = []
    for cells in (4, 8, 16):
        mesh = flat_sheet(0.2, 0.2, cells, cells, 0.002, 207e9, 0.3)
        load = np.zeros((len(mesh.nodes), 6))
        each = 13.8e3 * areas(local_axes(mesh)[1]) / 3.0
        np.add.at(load[:, 2], mesh.triangles.ravel(), np.repeat(each, 3))
        x, y = mesh.nodes[:, 0], mesh.nodes[:, 1]
        edge = np.flatnonzero((x < 1e-9) | (x > 0.2 - 1e-9) | (y < 1e-9) | (y > 0.2 - 1e-9))
        held = np.unique(np.concatenate([(6 * np.arange(len(x))[:, None] + [0, 1, 5]).ravel(), 6 * edge + 2]))
        deepest = ready(mesh, stiffness(mesh), held).moved_by(load.reshape(1, -1))[0, :, 2].max()
        errors.append(abs(deepest * 207e9 * 0.002**3 / (13.8e3 * 0.2**4) / 0.04436 - 1.0))
    assert errors[0] > 2.0 * errors[1] > 4.0 * errors[2] / 2.0
    assert errors[2] < 0.005


@pytest.mark.expected_from("pinned", "recalled values: aluminium 0.33, steels 0.29")
def test_poisson_by_family():
    assert poisson_of("aluminium") == 0.33
    assert poisson_of("stainless") == 0.29
