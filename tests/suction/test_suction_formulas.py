"""Formulas of the suction side against published values, exact series and independent solutions.

Sources stand with each test: Hooper 1981 and Blevins by way of an open library's tables,
ANSI/HI 9.8's printed example, wire-cloth tables, the ISO standard atmosphere, Colebrook.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.suction import formulas as f
from sumpwright.tables.screens import screen_losses

LITRE_A_MINUTE = 1e-3 / 60.0


def _speed(litres_a_minute: float, bore: float) -> float:
    return litres_a_minute * LITRE_A_MINUTE / (math.pi * bore**2 / 4.0)


@pytest.mark.expected_from("closed form", "Hagen-Poiseuille: 128 mu L Q / (pi d^4) = 22 409 Pa")
def test_thick_oil_in_a_tube_loses_what_poiseuille_says() -> None:
    v = _speed(20.0, 0.020)
    re = f.reynolds_number(880.0, v, 0.020, 0.88)
    assert re == pytest.approx(21.22, abs=0.01)
    loss = f.churchill_friction_factor(re, 0.0) * 0.30 / 0.020 * 0.5 * 880.0 * v**2
    exact = 128.0 * 0.88 * 0.30 * 20.0 * LITRE_A_MINUTE / (math.pi * 0.020**4)
    assert exact == pytest.approx(22_409.0, rel=1e-4)
    assert loss == pytest.approx(exact, rel=1e-3)


@pytest.mark.expected_from("published", "churchill-1977 as worked for 60 L/min, 22 mm, 10.8 mm2/s: 1.43 kPa")
def test_thin_oil_in_a_drawn_tube() -> None:
    v = _speed(60.0, 0.022)
    re = f.reynolds_number(815.0, v, 0.022, 10.8e-6 * 815.0)
    assert re == pytest.approx(5359.0, abs=1.0)
    factor = f.churchill_friction_factor(re, 1.5e-6 / 0.022)
    assert factor == pytest.approx(0.0372, abs=5e-5)
    assert factor * 0.30 / 0.022 * 0.5 * 815.0 * v**2 == pytest.approx(1430.0, abs=5.0)


@pytest.mark.expected_from(
    "published", "Colebrook's equation as an open fluid library solves it; 5 % is Churchill's own claim"
)
@pytest.mark.parametrize("reynolds", [5e3, 2e4, 1e5, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-3])
def test_friction_factor_beside_colebrook(reynolds: float, roughness: float) -> None:
    from fluids.friction import Colebrook

    assert f.churchill_friction_factor(reynolds, roughness) == pytest.approx(
        Colebrook(reynolds, roughness), rel=0.05
    )


@pytest.mark.expected_from(
    "published", "Moody chart, smooth tube at Re 1e5: f = 0.0180, read from the chart, from memory"
)
def test_friction_factor_beside_the_chart() -> None:
    assert f.churchill_friction_factor(1e5, 0.0) == pytest.approx(0.0180, abs=0.0003)


@pytest.mark.expected_from(
    "closed form", "64 / Re and the same formula in plain powers in an open fluid library"
)
def test_friction_factor_at_any_thickness_of_oil() -> None:
    from fluids.friction import Churchill_1977

    for re in (1e-6, 1e-3, 1.0, 100.0, 2000.0):
        assert f.churchill_friction_factor(re, 0.0) == pytest.approx(64.0 / re, rel=2e-3)
    for re in (50.0, 3000.0, 2e5):
        assert f.churchill_friction_factor(re, 2e-4) == pytest.approx(Churchill_1977(re, 2e-4), rel=1e-9)


@pytest.mark.expected_from("closed form", "exact series: 56.908 square, 72.931 at 1:4, 96 between plates")
def test_duct_constants() -> None:
    assert f.duct_laminar_constant(1.0) == pytest.approx(56.908, abs=1e-3)
    assert f.duct_laminar_constant(0.5) == pytest.approx(62.192, abs=1e-3)
    assert f.duct_laminar_constant(0.25) == pytest.approx(72.931, abs=1e-3)
    assert f.duct_laminar_constant(1e-4) == pytest.approx(96.0, rel=2e-4)


@pytest.mark.expected_from("published", "Shah-London polynomial, within 0.06 %, from memory")
@pytest.mark.parametrize("a", [0.1, 0.3, 0.6, 0.9])
def test_duct_constant_beside_the_polynomial(a: float) -> None:
    polynomial = 96.0 * (1 - 1.3553 * a + 1.9467 * a**2 - 1.7012 * a**3 + 0.9564 * a**4 - 0.2537 * a**5)
    assert f.duct_laminar_constant(a) == pytest.approx(polynomial, rel=7e-4)


@pytest.mark.expected_from(
    "convergence", "Poisson's equation on the duct's section by scikit-fem, quadratic elements"
)
@pytest.mark.parametrize("aspect", [1.0, 0.25])
def test_duct_constant_beside_finite_elements(aspect: float) -> None:
    import skfem
    from skfem.models.poisson import laplace, unit_load

    mesh = skfem.MeshQuad.init_tensor(np.linspace(0, 1, 25), np.linspace(0, aspect, 25))
    basis = skfem.Basis(mesh, skfem.ElementQuad2())
    a, b = laplace.assemble(basis), unit_load.assemble(basis)
    u = skfem.solve(*skfem.condense(a, b, D=basis.get_dofs()))
    mean = float(b @ u) / aspect  # mean velocity for dp/dx = mu
    across = 2.0 * aspect / (1.0 + aspect)
    assert f.duct_laminar_constant(aspect) == pytest.approx(2.0 * across**2 / mean, rel=1e-4)


@pytest.mark.expected_from("published", "hooper-1981: 90 degrees, R/D 1.5, Re 50, 25 mm -> 16.403")
def test_two_k_bend() -> None:
    assert f.two_k_loss(50.0, 800.0, 0.20, 0.025) == pytest.approx(16.403, rel=1e-4)


@pytest.mark.expected_from(
    "published", "hooper-1981: single mitre 2.81 against a bend's 0.61 at Re 5000, 20 mm"
)
def test_two_k_mitre_beside_bend() -> None:
    assert f.two_k_loss(5000.0, 1000.0, 1.15, 0.020) == pytest.approx(2.81, abs=0.005)
    assert f.two_k_loss(5000.0, 800.0, 0.20, 0.020) == pytest.approx(0.61, abs=0.005)


@pytest.mark.expected_from("published", "Hooper's constants in an open fluid library's table")
def test_two_k_beside_the_library() -> None:
    from fluids.fittings import Hooper2K

    for re, bore in ((20.0, 0.018), (800.0, 0.022), (9000.0, 0.025)):
        mine = f.two_k_loss(re, 800.0, 0.25, bore)
        assert mine == pytest.approx(Hooper2K(Di=bore / 0.0254, Re=re, K1=800, Kinfty=0.25), rel=1e-9)


@pytest.mark.expected_from("published", "wire-cloth tables: 6 mesh, 0.12 in opening -> 51.8 %")
def test_open_share_of_a_mesh() -> None:
    inch = 0.0254
    assert f.square_mesh_open_share(0.12 * inch, (1.0 / 6.0 - 0.12) * inch) == pytest.approx(0.518, abs=0.001)


@pytest.mark.expected_from("published", "blevins-screens: round wire, half open, Re 100 -> 2.1")
def test_screen_table() -> None:
    reynolds, loss = screen_losses()
    assert float(np.interp(100.0, reynolds, loss)) == pytest.approx(2.1, rel=0.01)
    assert np.all(np.diff(loss) < 0.0)


@pytest.mark.expected_from(
    "published", "the same table as an open fluid library interpolates it, straight and at 45 degrees"
)
def test_screen_table_beside_the_library() -> None:
    from fluids.filters import round_edge_screen

    reynolds, loss = screen_losses()
    for re in (20.0, 60.0, 200.0, 400.0):
        assert float(np.interp(re, reynolds, loss)) == pytest.approx(round_edge_screen(0.5, re), rel=0.01)
    assert round_edge_screen(0.5, 100.0, 45.0) == pytest.approx(0.5 * 2.1, rel=0.01)


@pytest.mark.expected_from(
    "published", "armour-cannon-1968 (constants from memory): 20 x 0.41 mm, 0.1 m/s, 0.88 Pa s -> 7.8 kPa"
)
def test_screen_in_cold_oil() -> None:
    count = 20.0 / 0.0254
    wire = 0.41e-3
    loss = f.woven_screen_loss(0.1, 880.0, 0.88, count, wire, 1.0 / count - wire)
    assert loss == pytest.approx(7800.0, rel=0.005)


@pytest.mark.expected_from(
    "property",
    "creeping flow: loss in proportion to flow; no flow, no loss; hot within 1.5 to 1.7 of the table",
)
def test_screen_limits() -> None:
    count, wire = 20.0 / 0.0254, 0.41e-3
    opening = 1.0 / count - wire
    slow = f.woven_screen_loss(1e-6, 880.0, 0.88, count, wire, opening)
    assert f.woven_screen_loss(2e-6, 880.0, 0.88, count, wire, opening) == pytest.approx(2.0 * slow, rel=1e-6)
    assert f.woven_screen_loss(0.0, 880.0, 0.88, count, wire, opening) == 0.0
    rho, mu, u = 815.0, 8.8e-3, 0.33
    reynolds, loss = screen_losses()
    share = f.square_mesh_open_share(opening, wire)
    # The table stands for half-open screens; its loss goes with (1 - a^2) / a^2, which is 3 there.
    scale = (1.0 - share**2) / share**2 / 3.0
    table = float(np.interp(rho * u * opening / mu, reynolds, loss)) * scale * 0.5 * rho * u**2
    assert 1.4 < f.woven_screen_loss(u, rho, mu, count, wire, opening) / table < 1.8


@pytest.mark.expected_from("published", "hi-9-8, printed example: 3200 gpm, 16 in bell -> 44.7 in")
def test_depth_without_a_vortex() -> None:
    bore = 16 * 0.0254
    flow = 3200 * 3.785411784e-3 / 60.0
    depth = f.no_vortex_depth(bore, flow / (math.pi * bore**2 / 4.0))
    assert depth / 0.0254 == pytest.approx(44.7, abs=0.1)


@pytest.mark.expected_from(
    "closed form", "creeping solution blended with C = 0.61: 20 mm hole, 30 mm head -> 4.41 and 8.75 L/min"
)
def test_hole_passes_thick_and_thin_oil() -> None:
    area = math.pi * 0.010**2
    cold = f.opening_velocity(880.0 * 9.80665 * 0.030, 880.0, 0.88, 0.020, 0.0)
    assert cold * area / LITRE_A_MINUTE == pytest.approx(4.41, rel=0.01)
    hot = f.opening_velocity(815.0 * 9.80665 * 0.030, 815.0, 8.15e-3, 0.020, 0.0)
    assert hot * area / LITRE_A_MINUTE == pytest.approx(8.75, rel=0.01)
    assert f.opening_loss(cold, 880.0, 0.88, 0.020, 0.0) == pytest.approx(880.0 * 9.80665 * 0.030, rel=1e-9)


@pytest.mark.expected_from(
    "published", "ISO 2533 standard atmosphere, and an open library's full layer model"
)
def test_standard_atmosphere() -> None:
    from fluids.atmosphere import ATMOSPHERE_1976

    for height, kilopascal in ((0, 101.33), (1000, 89.9), (1500, 84.6), (2000, 79.5), (2500, 74.7)):
        assert f.standard_atmosphere_pressure(height) == pytest.approx(1e3 * kilopascal, abs=60.0)
        assert f.standard_atmosphere_pressure(height) == pytest.approx(
            # The library takes the height above the sea, the formula the geopotential one: 1.3e-4 at 2500 m.
            ATMOSPHERE_1976(height).P,
            rel=2e-4,
        )


@pytest.mark.expected_from(
    "closed form",
    "cantilever with an end mass; steel 20 x 1.5, 250 mm, 0.45 kg: 88 Hz, a four's second order at 2640 rpm",
)
def test_note_of_a_free_tube() -> None:
    stiffness = f.tube_bending_stiffness(0.020, 0.017, 207e9)
    mass = 7850.0 * math.pi / 4.0 * (0.020**2 - 0.017**2) * 0.25
    note = f.cantilever_frequency(stiffness, 0.25, mass, 0.45)
    assert note == pytest.approx(88.0, abs=0.5)
    assert note / 2.0 * 60.0 == pytest.approx(2640.0, abs=15.0)


@pytest.mark.expected_from(
    "closed form",
    "first root of cos x cosh x = -1, x = 1.8751: the bare cantilever, within the 1.5 % of the lumped mass",
)
def test_note_of_a_bare_tube() -> None:
    stiffness = f.tube_bending_stiffness(0.020, 0.017, 207e9)
    mass = 0.17
    exact = 1.875104**2 / (2.0 * math.pi) * math.sqrt(stiffness / (mass * 0.25**3))
    assert f.cantilever_frequency(stiffness, 0.25, mass, 0.0) == pytest.approx(exact, rel=0.015)


@pytest.mark.expected_from(
    "closed form", "orifice: 0.1 mm all round 22 mm at 15 kPa, of the order of 40 L/min of air"
)
def test_air_through_a_ring_gap() -> None:
    assert f.ring_gap_air_flow(1e-4, 0.022, 15e3, 1.2) / LITRE_A_MINUTE == pytest.approx(40.0, abs=1.0)


@pytest.mark.expected_from(
    "closed form", "Stokes: 0.1 mm in 10.8 mm2/s -> 0.50 mm/s; 60 mm in 5 s clears 0.49 mm"
)
def test_bubbles() -> None:
    assert f.bubble_rise(1e-4, 815.0, 815.0 * 10.8e-6, 9.80665) == pytest.approx(0.50e-3, abs=0.01e-3)
    d = f.smallest_clearing_bubble(0.060, 5.0, 815.0, 815.0 * 10.8e-6, 9.80665)
    assert d == pytest.approx(0.49e-3, abs=0.005e-3)
    assert f.residence_time(5e-3, 60.0 * LITRE_A_MINUTE) == pytest.approx(5.0)
    assert f.bubble_rise(d, 815.0, 815.0 * 10.8e-6, 9.80665) * 5.0 == pytest.approx(0.060)


@pytest.mark.expected_from(
    "closed form", "0.09 (p0 - p) / p: 2.4 % at 0.80 bar, 4.0 % at 0.70 bar; rim of a circle; creeping fill"
)
def test_small_ones() -> None:
    assert f.released_air_share(0.80e5, 101_325.0) == pytest.approx(0.024, abs=0.0005)
    assert f.released_air_share(0.70e5, 101_325.0) == pytest.approx(0.040, abs=0.0005)
    assert f.curtain_area(0.032, 0.010) == pytest.approx(math.pi * 0.032 * 0.010)
    assert f.entrance_loss(80.0, 0.5) == pytest.approx(2.5)


@pytest.mark.expected_from(
    "convergence", "the radial equation of a round tube by finite differences, error falling with the square"
)
def test_round_tube_beside_finite_differences() -> None:
    bore, mu, gradient = 0.020, 0.88, 1.0
    exact = math.pi * bore**4 * gradient / (128.0 * mu)
    errors = []
    for count in (40, 80):
        step = 0.5 * bore / count
        radii = (np.arange(count) + 0.5) * step
        inner, outer = radii - 0.5 * step, radii + 0.5 * step
        matrix = np.zeros((count, count))
        for i in range(count):
            if i > 0:
                matrix[i, i - 1] += inner[i] / step
                matrix[i, i] -= inner[i] / step
            if i < count - 1:
                matrix[i, i + 1] += outer[i] / step
                matrix[i, i] -= outer[i] / step
            else:
                matrix[i, i] -= 2.0 * outer[i] / step  # the wall stands half a step away
        velocity = np.linalg.solve(matrix, -gradient / mu * radii * step)
        errors.append(abs(float(np.sum(velocity * 2.0 * math.pi * radii * step)) / exact - 1.0))
    assert errors[1] < 1e-3
    assert errors[0] / errors[1] == pytest.approx(4.0, abs=0.5)


@pytest.mark.expected_from("closed form", "both ways lose the same, worked back from shares chosen at will")
@pytest.mark.parametrize("share", [0.02, 0.35, 0.5, 0.97])
@pytest.mark.parametrize(("creeping", "inertial"), [(3.0, 0.0), (0.0, 7.0), (2.0, 5.0), (1e6, 1e-3)])
def test_a_flow_parts_so_that_both_ways_lose_the_same(share: float, creeping: float, inertial: float) -> None:
    lost = creeping * share + inertial * share**2
    rest = 1.0 - share
    # The other way's loss made up of any two parts that come to the same.
    other_creeping, other_inertial = 0.3 * lost / rest, 0.7 * lost / rest**2
    assert f.parted_share(creeping, inertial, other_creeping, other_inertial) == pytest.approx(
        share, rel=1e-12
    )
    assert f.parted_share(other_creeping, other_inertial, creeping, inertial) == pytest.approx(
        rest, rel=1e-12
    )


@pytest.mark.expected_from("property", "no flow loses nothing on either way, whatever its share")
def test_no_flow_parts_anyhow() -> None:
    assert f.parted_share(0.0, 0.0, 0.0, 0.0) == 0.5
