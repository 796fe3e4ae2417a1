"""Every kind of reading: its derivatives, that it gives the pattern back, and what it helps."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.rail import Land, MirrorSide, Reading, Seal
from sumpwright.rail.check import check
from sumpwright.rail.formulas import arch_radius, pooled_spread, tool_scale
from sumpwright.rail.lands import land_shapes
from sumpwright.rail.network import build_network
from sumpwright.rail.repeats import repeat_spreads, widened
from sumpwright.rail.solve import solve
from sumpwright.rail.uncertainty import off_by
from tests.rail.rails import FLAT, M6, MM, RailHole, centre, hole, inputs, ring_pairs, ring_points, ring_rail

EDGE = 6.6 * MM


def reading(
    kind, a, value, *, b=None, with_hole=None, group="", part="", u=0.05 * MM, tool="caliper", line=200
):
    return Reading(line, kind, a, b, value, tool, u, False, with_hole, "", group, part)


def offsets(xy, holes, group, normal, shift, part="", u=0.05 * MM):
    extra = {"": 0.0, "near": -EDGE / 2, "far": EDGE / 2}[part]
    n = np.array(normal) / np.hypot(*normal)
    return [
        reading(
            "offset", f"h{k + 1}", float(n @ xy[k] - shift + extra), group=group, part=part, u=u, line=300 + k
        )
        for k in holes
    ]


def readouts(xy, holes, group, angle, shift, hand=1.0, scale=1.0, kind="readout", u=0.02 * MM, rng=None):
    c, s = math.cos(angle), math.sin(angle)
    out = []
    for k in holes:
        x, y = scale * np.array([[c, -s], [s, c]]) @ (xy[k] * np.array([1.0, hand])) + shift
        noise = (0.0, 0.0) if rng is None else rng.normal(0, u, 2)
        out += [
            reading(
                kind,
                f"h{k + 1}",
                float(x + noise[0]),
                group=group,
                part="x",
                u=u,
                tool="readout",
                line=400 + k,
            ),
            reading(
                kind,
                f"h{k + 1}",
                float(y + noise[1]),
                group=group,
                part="y",
                u=u,
                tool="readout",
                line=400 + k,
            ),
        ]
    return out


def every_kind(xy):
    return [
        reading("offset", "h1", 0.02, group="front"),
        reading("offset", "h3", 0.05, group="front", part="near"),
        reading("offset", "h5", 0.05, group="front", part="far"),
        reading("on_one_circle", "h1", 0.0, group="arc"),
        reading("on_one_circle", "h2", 0.0, group="arc"),
        reading("on_one_circle", "h4", 0.0, group="arc"),
        reading("square", "h2", 0.0, b="h1", with_hole="h3"),
        reading("mirrored", "h1", 0.0, b="h4", part="middle"),
        reading("mirrored", "h1", 0.0, b="h4", part="across"),
        reading("mirrored", "h2", 0.0, b="h3", part="middle"),
        *readouts(xy, range(6), "mill", 0.4, (0.1, 0.2), hand=-1.0),
        *readouts(xy, range(6), "bed", -2.0, (0.1, 0.2), kind="scan", scale=1.003),
    ]


@pytest.mark.expected_from("closed form", "derivatives against central differences")
def test_every_kind_knows_its_derivatives():
    xy = ring_points(6)
    network = build_network(inputs([hole(f"h{k + 1}", EDGE) for k in range(6)], every_kind(xy)))
    at = network.start_vector(xy) + np.random.default_rng(2).normal(0, 1e-3, network.unknown_count)
    at[network.held] = network.start_vector(xy)[network.held]
    step = 1e-6
    for k in range(at.size):
        if k in network.held:
            continue
        up, down = at.copy(), at.copy()
        up[k] += step
        down[k] -= step
        slope = (network.computed(up) - network.computed(down)) / (2 * step)
        assert network.jacobian(at)[:, k] == pytest.approx(slope, abs=1e-6), k


@pytest.mark.expected_from("property", "readout coordinates alone give the pattern, whichever way up")
@pytest.mark.parametrize("hand", [1.0, -1.0])
def test_readout_alone(hand):
    a, xy = ring_rail(12)
    a = replace(a, readings=tuple(readouts(xy, range(12), "mill", 2.2, (0.3, -0.1), hand=hand)))
    result = solve(a)
    assert result.cannot == ()
    assert result.pattern.xy == pytest.approx(xy, abs=1e-9)
    # Nothing checks a coordinate that was read once.
    assert result.redundancy == 0


@pytest.mark.expected_from("property", "two set-ups and distances agree; a slip in one figure is named")
def test_two_set_ups_and_a_slip():
    rng = np.random.default_rng(5)
    a, xy = ring_rail(12, pairs=ring_pairs(12, (1, 3)))
    both = [
        *readouts(xy, range(12), "mill", 0.3, (0.0, 0.1), rng=rng),
        *readouts(xy, range(2, 12), "turned over", 1.9, (0.2, 0.1), hand=-1.0, rng=rng),
    ]
    both[13] = replace(both[13], value=both[13].value + 0.5 * MM)
    result = solve(replace(a, readings=(*a.readings, *both)))
    bad = [c for c in result.checks if c.set_aside]
    assert [(c.reading.a, c.reading.part) for c in bad] == [("h7", "y")]
    assert result.pattern.xy == pytest.approx(xy, abs=0.15 * MM)


@pytest.mark.expected_from("property", "a scan gives the shape, the calipers give its scale")
def test_a_scan_of_wrong_scale_is_put_right_by_the_calipers():
    a, xy = ring_rail(12)
    scan = readouts(xy, range(12), "bed", 1.0, (0.1, 0.1), kind="scan", scale=1.004, u=0.08 * MM)
    long = centre(2, "h1", "h7", float(np.hypot(*(xy[0] - xy[6]))), 0.05 * MM)
    result = solve(replace(a, readings=(long, *scan)))
    assert result.pattern.xy == pytest.approx(xy, abs=1e-9)
    without = solve(replace(a, readings=tuple(scan)))
    assert without.pattern is None
    assert "free to move" in without.cannot[0][0] or "h" in without.cannot[0][0]


@pytest.mark.expected_from("property", "offsets from a straight edge sharpen a weakly held side")
@pytest.mark.parametrize("part", ["", "near", "far"])
def test_offsets_from_a_straight_edge(part):
    a, xy = ring_rail(10, pairs=ring_pairs(10, (1, 2, 3)), u=1e-12)
    a = replace(
        a,
        holes=tuple(hole(h.name, EDGE) for h in a.holes),
        readings=tuple(replace(r, u=0.05 * MM) for r in a.readings),
    )
    more = offsets(xy, range(10), "bar", (0.3, -1.0), -0.4, part)
    result = solve(replace(a, readings=(*a.readings, *more)))
    assert result.pattern.xy == pytest.approx(xy, abs=1e-9)
    assert off_by(result.pattern).max() < off_by(solve(a).pattern).max()


@pytest.mark.expected_from("closed form", "holes placed on a circle, in a square corner, in mirrored pairs")
def test_shapes_that_are_known_beforehand_help_and_agree():
    t = np.array([0.2, 0.9, 1.7, 2.4, 3.4, 4.0, 4.9, 5.8])
    xy = 0.15 * np.stack((np.cos(t), np.sin(t)), axis=1)
    xy = np.concatenate((xy, xy * np.array([-1.0, 1.0]) + [0.5, 0.0]))
    xy = np.concatenate((xy, [(0.25, 0.3), (0.25, 0.1), (0.4, 0.1)]))
    n = len(xy)
    names = [f"h{k + 1}" for k in range(n)]
    pairs = ring_pairs(n, (1, 3, 7))
    rng = np.random.default_rng(11)
    read = [
        centre(2 + q, names[i], names[j], math.dist(xy[i], xy[j]) + rng.normal(0, 5e-5))
        for q, (i, j) in enumerate(pairs)
    ]
    base = inputs([hole(nm) for nm in names], read, mirror=MirrorSide("h17", "left", "above"), second="h9")
    e = xy[8] - xy[0]
    base = replace(base, bearing_left=math.atan2(e[1], e[0]))
    plain = solve(base)
    known = [
        *(reading("on_one_circle", names[k], 0.0, group="arc", tool="by eye") for k in range(8)),
        reading("square", "h18", 0.0, b="h17", with_hole="h19"),
        *(
            reading("mirrored", names[k], 0.0, b=names[k + 8], part=part)
            for k in range(8)
            for part in ("middle", "across")
        ),
    ]
    helped = solve(replace(base, readings=(*read, *known)))
    assert helped.cannot == ()
    assert helped.fit < helped.fit_range[1]
    assert helped.redundancy == plain.redundancy + 8 + 1 + 16 - 3 - 2
    worst = np.abs(plain.pattern.xy - (xy - xy[0])).max()
    assert np.abs(helped.pattern.xy - (xy - xy[0])).max() < worst
    assert off_by(helped.pattern).max() < 0.8 * off_by(plain.pattern).max()


@pytest.mark.expected_from("property", "a hole that is not on the circle it is said to be on is named")
def test_a_hole_off_its_circle_is_named():
    t = np.linspace(0.0, 2.0 * np.pi, 11)[:-1]
    xy = 0.2 * np.stack((np.cos(t), 0.9 * np.sin(t) / 0.9), axis=1)
    xy[3] *= 1.01
    names = [f"h{k + 1}" for k in range(10)]
    read = [
        centre(2, names[i], names[j], float(np.hypot(*(xy[i] - xy[j])))) for i, j in ring_pairs(10, (1, 2, 4))
    ]
    known = [
        reading("on_one_circle", nm, 0.0, group="flange", u=0.1 * MM, line=50 + k)
        for k, nm in enumerate(names)
    ]
    base = inputs(
        [hole(nm) for nm in names], [*read, *known], mirror=MirrorSide("h5", "left", "above"), second="h6"
    )
    bad = [c for c in solve(base).checks if c.set_aside]
    assert [(c.reading.kind, c.reading.a) for c in bad] == [("on_one_circle", "h4")]
    assert bad[0].should_have_been == pytest.approx(2.0 * MM, abs=0.05 * MM)


@pytest.mark.expected_from("published", "steel 11.5e-6 per kelvin: 10 K over 400 mm is 46 micrometres")
def test_a_warm_caliper_reads_short():
    assert (tool_scale(303.15) - 1.0) * 0.4 == pytest.approx(46e-6, rel=1e-9)
    a, xy = ring_rail(10, pairs=ring_pairs(10, (1, 2, 3)), u=1e-12)
    short = replace(
        a, readings=tuple(replace(r, value=r.value / tool_scale(308.15), u=5e-5) for r in a.readings)
    )
    result = solve(replace(short, tool_temperature=308.15))
    assert result.pattern.xy == pytest.approx(xy, abs=1e-9)
    assert result.checks[0].computed == pytest.approx(short.readings[0].value, abs=1e-9)


@pytest.mark.expected_from("closed form", "three readings 0, 1, 2 and two of 0, 2: (2 + 2) / 3")
def test_pooled_spread():
    assert pooled_spread(2.0 + 2.0, 3) == pytest.approx(math.sqrt(4.0 / 3.0))


@pytest.mark.expected_from("property", "repeats that scatter threefold raise the figure, a slip does not")
def test_repeats_tell_the_tools_spread():
    rng = np.random.default_rng(4)
    a, _ = ring_rail(8, pairs=ring_pairs(8, (1, 2, 3)))
    rough = [replace(r, value=r.value + rng.normal(0, 0.15 * MM)) for r in a.readings for _ in range(2)]
    (spread,) = repeat_spreads(tuple(rough))
    assert spread.is_wider
    assert spread.repeats == len(a.readings)
    assert spread.used == pytest.approx(0.15 * MM, rel=0.4)
    assert all(r.u == spread.used for r in widened(tuple(rough), (spread,)))
    made = replace(a, readings=tuple(rough))
    out = check(made, solve(made))
    assert [f.verdict for f in out.findings if f.code == "RAIL-13"] == [Verdict.CLOSE]
    fine = [replace(r, value=r.value + rng.normal(0, 0.04 * MM)) for r in a.readings for _ in range(2)]
    fine[5] = replace(fine[5], value=fine[5].value + 3.0 * MM)
    (spread,) = repeat_spreads(tuple(fine))
    assert not spread.is_wider
    assert spread.spread < 0.06 * MM
    bad = [c.reading.value for c in solve(replace(a, readings=tuple(fine))).checks if c.set_aside]
    assert bad == [fine[5].value]


@pytest.mark.expected_from("closed form", "a circle of radius 52: chord 80, rise 52 - sqrt(52**2 - 40**2)")
def test_an_arch_from_chord_and_rise():
    rise = 52.0 - math.sqrt(52.0**2 - 40.0**2)
    assert arch_radius(80.0, rise) == pytest.approx(52.0)
    arch = Land("front arch", "arch", Seal("end seal", 3 * MM), width=14 * MM)
    a, _ = ring_rail(8)
    made = replace(
        a,
        lands=(FLAT, arch),
        readings=(
            *a.readings,
            reading("chord", "front arch", 80 * MM),
            reading("rise", "front arch", rise * MM),
        ),
    )
    (shape,) = land_shapes(made)
    assert shape.radius.value == pytest.approx(52 * MM)
    # By differences of the formula itself.
    by_rise = (arch_radius(0.08, rise * MM + 1e-7) - arch_radius(0.08, rise * MM - 1e-7)) / 2e-7
    by_chord = (arch_radius(0.08 + 1e-7, rise * MM) - arch_radius(0.08 - 1e-7, rise * MM)) / 2e-7
    assert shape.radius.u == pytest.approx(5e-5 * math.hypot(by_rise, by_chord), rel=1e-4)
    pattern = solve(made).pattern
    assert pattern.lands[1].radius == pytest.approx(52 * MM)


@pytest.mark.expected_from("closed form", "heights -12.05, -11.95, -12.00: mean, highest less lowest")
def test_heights_of_lands():
    low = Land("low", "flat", Seal("gasket", 1 * MM))
    a, _ = ring_rail(8)
    holes = tuple(RailHole(h.name, M6, "low" if k in (3, 4) else "main", None) for k, h in enumerate(a.holes))
    made = replace(
        a,
        holes=holes,
        lands=(FLAT, low),
        readings=(
            *a.readings,
            reading("height", "h4", -12.05 * MM),
            reading("height", "h5", -11.95 * MM),
            reading("height", "low", -12.00 * MM),
            reading("height", "h1", 0.0),
            reading("height", "h8", 0.3 * MM),
        ),
    )
    result = solve(made)
    main, low_shape = result.land_shapes
    assert low_shape.height.value == pytest.approx(-12.0 * MM)
    assert low_shape.unevenness == pytest.approx(0.1 * MM)
    assert result.pattern.lands[1].height == pytest.approx(-12.0 * MM)
    assert main.unevenness == pytest.approx(0.3 * MM)
    said = [f for f in check(made, result).findings if f.code == "RAIL-07"]
    assert [f.where for f in said] == ["land main", "land low"]
    assert all(f.verdict is Verdict.CANNOT_SAY for f in said)


def test_unlike_lands_meet_where_their_spans_end():
    arch = Land("front arch", "arch", Seal("end seal", 3 * MM), radius=52 * MM, from_hole="h3", to_hole="h4")
    step = Land("low", "step", Seal("gasket", 1 * MM), height=-0.012, from_hole="h4", to_hole="h6")
    alike = Land("bay", "flat", FLAT.seal, from_hole="h7", to_hole="h8")
    a, _ = ring_rail(8)
    made = replace(a, lands=(FLAT, arch, step, alike))
    joints = [(j.hole, {j.inner, j.outer}) for j in solve(made).land_joints]
    assert joints == [("h3", {"front arch", "main"}), ("h4", {"front arch", "low"}), ("h6", {"low", "main"})]
    (said,) = [f for f in check(made, solve(made)).findings if f.code == "RAIL-14"]
    assert "dab of liquid sealant" in said.do
    assert solve(a).land_joints == ()


@pytest.mark.parametrize(
    ("bad", "word"),
    [
        (reading("offset", "h1", 0.1), "which straight edge"),
        (reading("on_one_circle", "h1", 0.0), "which straight edge or circle"),
        (reading("readout", "h1", 0.1), "which figure"),
        (reading("mirrored", "h1", 0.0, b="h1", part="middle"), "same hole twice"),
        (reading("square", "h1", 0.0, b="h2"), "does not name all"),
        (reading("height", "nowhere", 0.0), "no hole and no land"),
        (reading("rise", "nowhere", 0.1), "no land"),
        (reading("offset", "h1", -0.1, group="bar"), "no distance"),
    ],
)
def test_readings_that_lack_something_are_named(bad, word):
    a, _ = ring_rail(6)
    result = solve(replace(a, readings=(*a.readings, bad)))
    assert result.pattern is None
    assert word in result.cannot[0][0]
    assert "line 200" in result.cannot[0][0]
