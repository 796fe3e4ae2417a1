"""Book formulas of the suction side: floats (or arrays of them) in, the same out."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    Hertz,
    Kilogram,
    KilogramPerCubicMetre,
    Metre,
    MetrePerSecond,
    MetrePerSecondSquared,
    NewtonSquareMetre,
    Pascal,
    PascalSecond,
    Ratio,
    Second,
    SquareMetre,
)

STILL_LAMINAR = 2300.0
"""Reynolds number up to which a tube's flow is taken as laminar."""


def standard_atmosphere_pressure(altitude: Metre) -> Pascal:
    """Air pressure at a height above the sea on a standard day.

    p = 101325 (1 - 2.25577e-5 h)^5.25588

    Args:
        altitude: h, height above sea level [m].

    Returns:
        p, absolute pressure [Pa].

    Valid for: 0 to 11 000 m, the standard atmosphere's lowest layer.
    Source: standard-atmosphere
    """
    return 101_325.0 * float((1.0 - 2.25577e-5 * altitude) ** 5.25588)


def reynolds_number(
    density: KilogramPerCubicMetre, velocity: MetrePerSecond, width: Metre, viscosity: PascalSecond
) -> Ratio:
    """Whether flow is orderly or churned: inertia against stickiness.

    Re = rho v d / mu

    Args:
        density: rho, of the oil [kg/m3].
        velocity: v, mean [m/s].
        width: d, bore or hydraulic diameter [m].
        viscosity: mu, dynamic [Pa s].

    Returns:
        Re [1].

    Valid for: Newtonian oil.
    Source: derived
    """
    return density * velocity * width / viscosity


def churchill_friction_factor(reynolds: Ratio, relative_roughness: Ratio) -> Ratio:
    """Friction factor of a round tube in every regime, after Darcy.

    f = 8 [ (8/Re)^12 + (A + B)^-1.5 ]^(1/12),
    A = [2.457 ln(1 / ((7/Re)^0.9 + 0.27 e/d))]^16, B = (37530/Re)^16

    Args:
        reynolds: Re [1].
        relative_roughness: e/d, roughness over bore [1].

    Returns:
        f, Darcy's factor [1].

    Valid for: any Re above 0; between 2 000 and 4 000 the real flow is unsteady.
    Source: churchill-1977
    """
    re: Any = np.asarray(reynolds, dtype=np.float64)
    # In logarithms: (37530/Re)^16 leaves the range of floats for very thick oil.
    log_a = 16.0 * np.log(2.457 * np.log(1.0 / ((7.0 / re) ** 0.9 + 0.27 * relative_roughness)).clip(1e-30))
    log_b = 16.0 * np.log(37_530.0 / re)
    log_turbulent = -1.5 * np.logaddexp(log_a, log_b)
    log_laminar = 12.0 * np.log(8.0 / re)
    factor: Any = 8.0 * np.exp(np.logaddexp(log_laminar, log_turbulent) / 12.0)
    return factor if factor.ndim else float(factor)


def duct_laminar_constant(aspect: Ratio) -> Ratio:
    """Darcy factor times Reynolds number of orderly flow in a rectangular duct.

    f Re = 96 / [ (1 + a)^2 (1 - 192 a / pi^5 sum over odd n of tanh(n pi / 2a) / n^5) ]

    Args:
        aspect: a, short side over long side [1].

    Returns:
        f Re on the hydraulic diameter [1].

    Valid for: aspect above 0 up to 1, laminar, fully developed flow.
    Source: duct-series
    """
    n = np.arange(1.0, 200.0, 2.0)
    series = float(np.sum(np.tanh(n * math.pi / (2.0 * aspect)) / n**5))
    return 96.0 / ((1.0 + aspect) ** 2 * (1.0 - 192.0 * aspect / math.pi**5 * series))


def two_k_loss(reynolds: Ratio, low_constant: Ratio, high_constant: Ratio, bore: Metre) -> Ratio:
    """Loss coefficient of a bend or mitre, in velocity heads, thick oil included.

    K = K1 / Re + Kinf (1 + 25.4 / D[mm])

    Args:
        reynolds: Re in the tube [1].
        low_constant: K1 [1].
        high_constant: Kinf [1].
        bore: D, clear bore [m].

    Returns:
        K [1].

    Valid for: pipe from 25 mm; on 16 to 25 mm tube within about 30 %.
    Source: hooper-1981
    """
    return low_constant / reynolds + high_constant * (1.0 + 0.0254 / bore)


def entrance_loss(reynolds: Ratio, high_constant: Ratio) -> Ratio:
    """Loss coefficient of a tube's mouth, in velocity heads.

    K = 160 / Re + Kinf

    Args:
        reynolds: Re in the tube [1].
        high_constant: Kinf, 0.5 flush, 1.0 projecting, 0.05 bell [1].

    Returns:
        K [1].

    Valid for: any Re; the low-Re part is recalled, not looked up.
    Source: hooper-1981
    """
    return 160.0 / reynolds + high_constant


def square_mesh_open_share(opening: Metre, wire: Metre) -> Ratio:
    """Open part of a plain square mesh.

    alpha = (w / (w + d))^2

    Args:
        opening: w, clear width of a mesh [m].
        wire: d, wire diameter [m].

    Returns:
        alpha, open share of the face [1].

    Valid for: plain weave, equal count both ways.
    Source: wire-cloth-practice
    """
    return (opening / (opening + wire)) ** 2


def woven_screen_loss(
    approach: MetrePerSecond,
    density: KilogramPerCubicMetre,
    viscosity: PascalSecond,
    wires_per_metre: Ratio,
    wire: Metre,
    opening: Metre,
) -> Pascal:
    """Pressure lost through a woven screen, from creeping to churned flow.

    dp = f B rho u^2 / (eps^2 D), f = 8.61 / Re + 0.52, Re = rho u / (mu a^2 D),
    B = 2 d, a = pi N sqrt(1 + N^2 d^2), eps = 1 - pi N d sqrt(1 + N^2 d^2) / 4

    Args:
        approach: u, flow over the whole face [m/s].
        density: rho [kg/m3].
        viscosity: mu, dynamic [Pa s].
        wires_per_metre: N, wires to the metre each way [1].
        wire: d, wire diameter [m].
        opening: D, clear width of a mesh [m].

    Returns:
        dp [Pa].

    Valid for: plain square weave; within 50 % for cold oil, up to 1.7 times too high hot.
    Source: armour-cannon-1968
    """
    root = math.sqrt(1.0 + (wires_per_metre * wire) ** 2)
    a = math.pi * wires_per_metre * root
    eps = 1.0 - math.pi * wires_per_metre * wire * root / 4.0
    # f rho u^2 with f's two parts written out, so that no flow is no loss and not 0/0.
    creeping = 8.61 * viscosity * a**2 * opening * approach
    inertial = 0.52 * density * approach**2
    return (creeping + inertial) * 2.0 * wire / (eps**2 * opening)


def opening_loss(
    velocity: MetrePerSecond,
    density: KilogramPerCubicMetre,
    viscosity: PascalSecond,
    diameter: Metre,
    thickness: Metre,
) -> Pascal:
    """Pressure lost through a sharp-edged hole, thick oil included.

    dp = rho u^2 / (2 C^2) + 6 pi mu u / d (1 + 16 t / (3 pi d)), C = 0.61

    Args:
        velocity: u, mean through the hole [m/s].
        density: rho [kg/m3].
        viscosity: mu, dynamic [Pa s].
        diameter: d, of the hole; for a slit twice its width [m].
        thickness: t, of the plate [m].

    Returns:
        dp [Pa].

    Valid for: any Re; the second part is the exact creeping solution, their sum a blend.
    Source: sampson-dagan
    """
    return density * velocity**2 / (2.0 * 0.61**2) + 6.0 * math.pi * viscosity * velocity / diameter * (
        1.0 + 16.0 * thickness / (3.0 * math.pi * diameter)
    )


def opening_velocity(
    pressure: Pascal,
    density: KilogramPerCubicMetre,
    viscosity: PascalSecond,
    diameter: Metre,
    thickness: Metre,
) -> MetrePerSecond:
    """Mean velocity through a sharp-edged hole under a pressure: ``opening_loss`` solved for u.

    u = 2 dp / (b + sqrt(b^2 + 4 a dp)), a = rho / (2 C^2), b = 6 pi mu / d (1 + 16 t / (3 pi d))

    Args:
        pressure: dp across the hole [Pa].
        density: rho [kg/m3].
        viscosity: mu, dynamic [Pa s].
        diameter: d, of the hole; for a slit twice its width [m].
        thickness: t, of the plate [m].

    Returns:
        u [m/s].

    Valid for: as opening_loss.
    Source: sampson-dagan
    """
    a = density / (2.0 * 0.61**2)
    b = 6.0 * math.pi * viscosity / diameter * (1.0 + 16.0 * thickness / (3.0 * math.pi * diameter))
    return 2.0 * pressure / (b + math.sqrt(b * b + 4.0 * a * pressure))


def parted_share(
    one_creeping: Pascal, one_inertial: Pascal, other_creeping: Pascal, other_inertial: Pascal
) -> Ratio:
    """Share of a flow that takes the first of two ways side by side, which see the same pressure.

    a s + b s^2 = c (1 - s) + d (1 - s)^2, so with e = a + c + 2 d
    s = 2 (c + d) / (e + sqrt(e^2 + 4 (b - d) (c + d)))

    Args:
        one_creeping: a, what the whole flow would lose on the first way by stickiness [Pa].
        one_inertial: b, and by inertia [Pa].
        other_creeping: c, the same on the second way by stickiness [Pa].
        other_inertial: d, and by inertia [Pa].

    Returns:
        s, of the first way [1]; a half where there is no flow.

    Valid for: ways whose loss is one part with the flow and one with its square.
    Source: derived
    """
    e: Any = np.asarray(one_creeping + other_creeping + 2.0 * other_inertial, dtype=np.float64)
    whole: Any = other_creeping + other_inertial
    root = np.sqrt(np.maximum(e * e + 4.0 * (one_inertial - other_inertial) * whole, 0.0))
    share: Any = np.divide(2.0 * whole, e + root, out=np.full_like(e, 0.5), where=e + root > 0.0)
    return share if share.ndim else float(share)


def no_vortex_depth(bore: Metre, velocity: MetrePerSecond) -> Metre:
    """Oil over a mouth that keeps air from being swirled in, after the rule for water sumps.

    S = D (1 + 2.3 v / sqrt(g D))

    Args:
        bore: D, of the mouth [m].
        velocity: v, in the mouth [m/s].

    Returns:
        S, depth of the mouth's rim below the surface [m].

    Valid for: water in wide sumps; oil swirls less, so this is on the safe side.
    Source: hi-9-8
    """
    return bore * (1.0 + 2.3 * velocity / math.sqrt(9.80665 * bore))


def ring_gap_air_flow(
    gap: Metre, diameter: Metre, depression: Pascal, air_density: KilogramPerCubicMetre
) -> CubicMetrePerSecond:
    """Air drawn through a gap all round a joint, at most.

    Q = C pi D h sqrt(2 dp / rho), C = 0.61

    Args:
        gap: h, radial [m].
        diameter: D, of the joint [m].
        depression: dp below the air outside [Pa].
        air_density: rho, of the air [kg/m3].

    Returns:
        Q, at outside pressure [m3/s].

    Valid for: a sharp short gap; an upper bound, friction in the gap is left out.
    Source: derived
    """
    return 0.61 * math.pi * diameter * gap * math.sqrt(2.0 * depression / air_density)


def tube_bending_stiffness(outside: Metre, bore: Metre, elastic_modulus: Pascal) -> NewtonSquareMetre:
    """Bending stiffness of a round tube, as beam formulas want it.

    E I = E pi (D^4 - d^4) / 64

    Args:
        outside: D [m].
        bore: d [m].
        elastic_modulus: E [Pa].

    Returns:
        E I [N m2].

    Valid for: elastic round tube.
    Source: beam-theory
    """
    return elastic_modulus * math.pi * (outside**4 - bore**4) / 64.0


def cantilever_frequency(
    stiffness: NewtonSquareMetre, free_length: Metre, tube_mass: Kilogram, end_mass: Kilogram
) -> Hertz:
    """First frequency of a tube held at one end with a mass on the other.

    f = 1/(2 pi) sqrt(3 E I / (L^3 (M + 33/140 m)))

    Args:
        stiffness: E I [N m2].
        free_length: L [m].
        tube_mass: m, of the free stretch [kg].
        end_mass: M [kg].

    Returns:
        f [Hz].

    Valid for: a rigid base, small motion; within 30 % on a real bracket.
    Source: beam-theory
    """
    return math.sqrt(3.0 * stiffness / (free_length**3 * (end_mass + 33.0 / 140.0 * tube_mass))) / (
        2.0 * math.pi
    )


def bubble_rise(
    diameter: Metre,
    density: KilogramPerCubicMetre,
    viscosity: PascalSecond,
    gravity: MetrePerSecondSquared,
) -> MetrePerSecond:
    """How fast a small air bubble rises; engine oil's bubbles behave as rigid.

    V = g d^2 rho / (18 mu)

    Args:
        diameter: d, of the bubble [m].
        density: rho, of the oil; the air's is nothing beside it [kg/m3].
        viscosity: mu, dynamic [Pa s].
        gravity: g, effective [m/s2].

    Returns:
        V [m/s].

    Valid for: bubble Reynolds number below 1.
    Source: stokes-law
    """
    return gravity * diameter**2 * density / (18.0 * viscosity)


def smallest_clearing_bubble(
    depth: Metre,
    time: Second,
    density: KilogramPerCubicMetre,
    viscosity: PascalSecond,
    gravity: MetrePerSecondSquared,
) -> Metre:
    """Smallest bubble that rises through the oil's depth while the oil stays in the pan.

    d = sqrt(18 mu H / (g rho T))

    Args:
        depth: H, of oil over the mouth [m].
        time: T, that oil stays in the pan [s].
        density: rho, of the oil [kg/m3].
        viscosity: mu, dynamic [Pa s].
        gravity: g, effective [m/s2].

    Returns:
        d [m].

    Valid for: still oil, bubble Reynolds number below 1; smaller ones go round with the oil.
    Source: stokes-law
    """
    return math.sqrt(18.0 * viscosity * depth / (gravity * density * time))


def residence_time(oil: CubicMetre, flow: CubicMetrePerSecond) -> Second:
    """How long a drop stays in the pan on average.

    T = V / Q

    Args:
        oil: V, in the running pan [m3].
        flow: Q, the pump's [m3/s].

    Returns:
        T [s].

    Valid for: well mixed oil.
    Source: derived
    """
    return oil / flow


def fall_speed(height: Metre) -> MetrePerSecond:
    """Speed at which oil that falls freely strikes the surface below; what beats air into it.

    v = sqrt(2 g h)

    Args:
        height: h, from where it lets go to the surface [m].

    Returns:
        v [m/s].

    Valid for: free fall at standard gravity; led down a wall it arrives far slower.
    Source: derived
    """
    return math.sqrt(2.0 * 9.80665 * max(height, 0.0))


def released_air_share(pressure: Pascal, atmosphere: Pascal) -> Ratio:
    """Air that comes out of solution when oil drops to a pressure, by volume of oil, at that pressure.

    r = 0.09 (p0 - p) / p

    Args:
        pressure: p, absolute [Pa].
        atmosphere: p0, at which the oil had taken its fill of air [Pa].

    Returns:
        r, volume of air per volume of oil [1].

    Valid for: oil given time to release it; Bunsen coefficient 0.09, from memory.
    Source: from-memory
    """
    return 0.09 * (atmosphere - pressure) / pressure


def curtain_area(mouth: Metre, gap: Metre) -> SquareMetre:
    """Area between the mouth's rim and the floor below it, through which the oil must come.

    A = pi D h

    Args:
        mouth: D, diameter of the rim [m].
        gap: h, rim to floor [m].

    Returns:
        A [m2].

    Valid for: a rim parallel to the floor; otherwise take the mean gap.
    Source: plane-geometry
    """
    return math.pi * mouth * gap


def creeping_fill_time(length: Metre, bore: Metre, viscosity: PascalSecond, depression: Pascal) -> Second:
    """Time to draw thick oil into an empty level tube under a steady depression.

    t = 16 mu L^2 / (d^2 dp)

    Args:
        length: L, of the tube [m].
        bore: d [m].
        viscosity: mu, dynamic [Pa s].
        depression: dp [Pa].

    Returns:
        t [s].

    Valid for: laminar flow, no other loss; the check of the general computation.
    Source: derived
    """
    return 16.0 * viscosity * length**2 / (bore**2 * depression)
