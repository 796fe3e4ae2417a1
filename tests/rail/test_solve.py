"""From readings to a hole pattern: published and recomputed checks, properties, what cannot be said."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.rail import MirrorSide, Reading
from sumpwright.rail.network import build_network
from sumpwright.rail.solve import solve
from sumpwright.rail.uncertainty import distance_between, off_by
from tests.rail.rails import MM, centre, five_hole_rail, hole, inputs, ring_pairs, ring_points, ring_rail

FIVE = "five-hole rail, recomputed independently (engineering handbook, section 1.1)"


@pytest.mark.expected_from("published", FIVE)
def test_five_hole_rail():
    result = solve(five_hole_rail())
    assert result.cannot == ()
    assert result.pattern.xy * 1e3 == pytest.approx(
        np.array([(0, 0), (420.0134, 0), (440.0054, 189.9717), (209.9544, 204.9626), (-15.0156, 180.0110)]),
        abs=1e-3,
    )
    assert result.redundancy == 3
    assert result.fit == pytest.approx(0.6760, abs=1e-4)
    assert result.fit_range == pytest.approx((0.2158, 9.3484), abs=1e-4)
    assert result.s0 == pytest.approx(0.4747, abs=1e-4)
    assert np.trace(result.pattern.covariance) * 1e6 == pytest.approx(0.01553, abs=1e-5)
    assert np.trace(result.pattern.free_covariance) * 1e6 == pytest.approx(0.00800, abs=1e-5)
    assert sum(c.redundancy for c in result.checks) == pytest.approx(3.0)
    assert not any(c.set_aside for c in result.checks)


@pytest.mark.expected_from("published", FIVE)
def test_five_hole_rail_with_one_bad_reading():
    result = solve(five_hole_rail({6: 0.60}))
    bad = [c for c in result.checks if c.set_aside]
    assert [(c.reading.a, c.reading.b) for c in bad] == [("2", "4")]
    assert bad[0].normalised == pytest.approx(5.215, abs=0.01)
    assert result.redundancy == 2
    assert result.fit == pytest.approx(0.590, abs=1e-3)
    assert (bad[0].reading.value - bad[0].should_have_been) * 1e3 == pytest.approx(0.568, abs=1e-3)


@pytest.mark.expected_from("property", "the floating covariance has the smallest trace of all datums")
def test_floating_covariance_is_least():
    a, _ = ring_rail(9, pairs=ring_pairs(9, (1, 2, 4)))
    traces = []
    for datum, second in (("h1", "h5"), ("h3", "h7"), ("h2", "h9")):
        made = replace(a, datum=datum, second=second, mirror=MirrorSide("h4", "left", "above"))
        pattern = solve(made).pattern
        assert np.trace(pattern.free_covariance) < np.trace(pattern.covariance)
        traces.append(np.trace(pattern.free_covariance))
    assert traces == pytest.approx([traces[0]] * 3, rel=1e-6)


@pytest.mark.expected_from(
    "property", "a pattern of exact readings comes back exactly, whatever the kind of reading"
)
@pytest.mark.parametrize("kind", ["centre", "inside", "outside"])
def test_exact_readings_give_the_pattern_back(kind):
    a, xy = ring_rail(12, kind=kind, pairs=ring_pairs(12, (1, 2, 3, 5)), u=1e-12)
    a = replace(a, readings=tuple(replace(r, u=0.05 * MM) for r in a.readings))
    result = solve(a)
    assert result.pattern.xy == pytest.approx(xy, abs=1e-9)


@pytest.mark.expected_from(
    "property", "inside and outside of the same pairs: the sum of the diameters cancels"
)
def test_diameters_come_out_of_inside_and_outside_readings():
    xy = ring_points(8)
    names = [f"h{k}" for k in range(8)]
    edge = 7.3 * MM
    readings = []
    for i, j in ring_pairs(8, (1, 2, 3)):
        d = float(np.hypot(*(xy[i] - xy[j])))
        readings.append(
            Reading(len(readings) + 2, "inside", names[i], names[j], d - edge, "caliper", 5e-5, True)
        )
        readings.append(
            Reading(len(readings) + 2, "outside", names[i], names[j], d + edge, "caliper", 5e-5, True)
        )
    result = solve(inputs([hole(n) for n in names], readings, mirror=MirrorSide("h3", "left", "above")))
    assert [m.value for m in result.pattern.edge_diameters] == pytest.approx([edge] * 8, abs=1e-9)
    assert distance_between(result.pattern, "h0", "h4").value == pytest.approx(
        np.hypot(*(xy[0] - xy[4])), abs=1e-9
    )


@pytest.mark.expected_from("closed form", "derivatives against central differences")
def test_every_row_knows_its_derivatives():
    xy = ring_points(6)
    names = [f"h{k}" for k in range(6)]
    readings = [
        Reading(2, "centre", "h0", "h1", 0.1, "caliper", 5e-5, True),
        Reading(3, "inside", "h1", "h2", 0.1, "caliper", 5e-5, True),
        Reading(4, "outside", "h2", "h3", 0.1, "caliper", 5e-5, True),
        Reading(5, "same_side", "h4", "h3", 0.1, "caliper", 5e-5, True),
        Reading(6, "diameter", "h4", None, 0.007, "caliper", 5e-5, True),
        Reading(7, "in_line", "h0", "h5", 0.0, "straight edge", 1e-4, True, with_hole="h3"),
        Reading(8, "in_line", "h0", "h5", 0.02, "straight edge", 1e-4, True, with_hole="h2"),
    ]
    network = build_network(inputs([hole(n) for n in names], readings))
    at = network.start_vector(xy)
    step = 1e-6
    for k in range(at.size):
        up, down = at.copy(), at.copy()
        up[k] += step
        down[k] -= step
        slope = (network.computed(up) - network.computed(down)) / (2 * step)
        assert network.jacobian(at)[:, k] == pytest.approx(slope, abs=1e-7)


@pytest.mark.expected_from("property", "a hole held by one distance and a straight row")
def test_a_straight_row_holds_as_well_as_a_distance():
    a, xy = ring_rail(8, pairs=ring_pairs(8, (1, 2, 3)), u=1e-12)
    middle = 0.37 * xy[0] + 0.63 * xy[4]
    more = Reading(90, "in_line", "h1", "h5", 0.0, "straight edge", 1e-4, True, with_hole="extra")
    near = centre(91, "extra", "h1", float(np.hypot(*(middle - xy[0]))))
    side = centre(92, "extra", "h5", float(np.hypot(*(middle - xy[4]))))
    a = replace(
        a,
        holes=(*a.holes, hole("extra")),
        readings=tuple(replace(r, u=5e-5) for r in (*a.readings, more, near, side)),
    )
    result = solve(a)
    assert result.cannot == ()
    assert result.pattern.xy[-1] == pytest.approx(middle, abs=1e-6)


@pytest.mark.expected_from("property", "the pattern does not depend on the order of the readings")
def test_order_of_readings_changes_nothing():
    a, _ = ring_rail(14, kind="inside")
    shuffled = tuple(a.readings[k] for k in np.random.default_rng(3).permutation(len(a.readings)))
    one, two = solve(a), solve(replace(a, readings=shuffled))
    assert two.pattern.xy == pytest.approx(one.pattern.xy, abs=1e-11)
    assert two.pattern.covariance == pytest.approx(one.pattern.covariance, rel=1e-6, abs=1e-16)


@pytest.mark.expected_from("property", "new names for the holes change nothing but the names")
def test_renaming_changes_nothing():
    a, _ = ring_rail(11)
    new = {h.name: f"q{(7 * k) % 11}" for k, h in enumerate(a.holes)}
    b = replace(
        a,
        holes=tuple(replace(h, name=new[h.name]) for h in a.holes),
        readings=tuple(replace(r, a=new[r.a], b=new[r.b]) for r in a.readings),
        datum=new[a.datum],
        second=new[a.second],
        mirror=replace(a.mirror, hole=new[a.mirror.hole]),
    )
    assert np.array_equal(solve(a).pattern.xy, solve(b).pattern.xy)


@pytest.mark.expected_from(
    "property", "turning the bearing turns the pattern and its uncertainty, nothing else"
)
@pytest.mark.parametrize("turn", [0.4, -2.0, math.pi])
def test_turning_the_bearing_turns_the_pattern(turn):
    a, _ = ring_rail(10)
    one, two = solve(a).pattern, solve(replace(a, bearing_left=a.bearing_left + turn)).pattern
    c, s = math.cos(turn), math.sin(turn)
    assert two.xy == pytest.approx(one.xy @ np.array([[c, s], [-s, c]]), abs=1e-11)
    assert off_by(two) == pytest.approx(off_by(one), rel=1e-6)


@pytest.mark.expected_from("closed form", "seen from below, left and right change places")
def test_the_side_is_told_from_above_or_from_below():
    a, xy = ring_rail(10)
    above = a.mirror
    other = "right" if above.side == "left" else "left"
    same = solve(replace(a, mirror=MirrorSide(above.hole, other, "below"))).pattern.xy
    turned_over = solve(replace(a, mirror=MirrorSide(above.hole, above.side, "below"))).pattern.xy
    assert same == pytest.approx(solve(a).pattern.xy, abs=1e-12)
    e = xy[a.holes.index(next(h for h in a.holes if h.name == a.second))]
    e = e / np.hypot(*e)
    mirrored = 2.0 * np.outer(same @ e, e) - same
    assert turned_over == pytest.approx(mirrored, abs=1e-12)


@pytest.mark.expected_from("closed form", "engine frame: x to the front, y to the left, seen from above")
def test_the_engine_frame():
    # Datum at the rear right, second hole straight ahead of it, third hole to the left.
    readings = [
        centre(2, "rear", "front", 0.4),
        centre(3, "rear", "left", 0.2),
        centre(4, "front", "left", math.hypot(0.4, 0.2)),
    ]
    side = MirrorSide("left", "left", "above")
    result = solve(inputs([hole("rear"), hole("front"), hole("left")], readings, mirror=side))
    assert result.pattern.xy == pytest.approx(np.array([(0, 0), (0.4, 0), (0, 0.2)]), abs=1e-12)
    assert result.redundancy == 0
    assert result.fit is None


@pytest.mark.expected_from("property", "a wild reading is named, and what it should have been is right")
@pytest.mark.parametrize("error", [0.7 * MM, -2.5 * MM, 30 * MM, -90 * MM, 250 * MM])
def test_one_wild_reading_is_named(error):
    a, xy = ring_rail(16, kind="inside", pairs=ring_pairs(16, (1, 2, 3, 6)))
    readings = list(a.readings)
    k = max(range(len(readings)), key=lambda q: readings[q].value)
    true = readings[k].value
    readings[k] = replace(readings[k], value=true + error)
    result = solve(replace(a, readings=tuple(readings)))
    bad = [c for c in result.checks if c.set_aside]
    assert [c.reading.line for c in bad] == [readings[k].line]
    assert bad[0].should_have_been == pytest.approx(true, abs=0.3 * MM)
    assert result.pattern.xy == pytest.approx(xy, abs=0.4 * MM)


@pytest.mark.expected_from(
    "property", "with one spare reading every reading explains a miss as well as another"
)
def test_with_one_spare_reading_no_reading_can_be_named():
    names = ["a", "b", "c", "d"]
    xy = np.array([(0, 0), (0.3, 0), (0.28, 0.2), (0.02, 0.18)])
    readings = [
        centre(k + 2, names[i], names[j], float(np.hypot(*(xy[i] - xy[j]))))
        for k, (i, j) in enumerate(itertools.combinations(range(4), 2))
    ]
    readings[1] = replace(readings[1], value=readings[1].value + 2 * MM)
    result = solve(inputs([hole(n) for n in names], readings, mirror=MirrorSide("c", "left", "above")))
    assert not any(c.set_aside for c in result.checks)
    assert result.not_told_apart == (tuple(range(6)),)
    assert result.fit > result.fit_range[1]
    assert result.covariance_factor > 1.0


def _square(extra=()):
    xy = {"a": (0, 0), "b": (0.4, 0), "c": (0.4, 0.2), "d": (0, 0.2)}
    pairs = list(itertools.combinations("abcd", 2))
    readings = [centre(k + 2, p, q, math.dist(xy[p], xy[q])) for k, (p, q) in enumerate([*pairs, *extra])]
    return xy, readings


def _cannot(made):
    result = solve(made)
    assert result.pattern is None
    assert result.cannot
    for missing, cure in result.cannot:
        assert missing
        assert cure
    return " / ".join(f"{missing}: {cure}" for missing, cure in result.cannot)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_holes(count):
    holes = [hole(n) for n in ("a", "b")[:count]]
    readings = [centre(2, "a", "b", 0.1)] if count == 2 else []
    said = _cannot(inputs(holes, readings, datum="a", second="b"))
    assert "hole" in said
    if count == 2:
        assert "two holes alone" in said


def test_a_hole_nothing_was_read_to():
    _, readings = _square()
    said = _cannot(inputs([hole(n) for n in "abcde"], readings, mirror=MirrorSide("c", "left", "above")))
    assert "nothing was read to e" in said
    assert "read e to three holes" in said


def test_two_parts_that_no_reading_joins():
    _, readings = _square()
    more = [replace(r, line=r.line + 20, a=r.a + "2", b=r.b + "2") for r in readings]
    holes = [hole(n) for n in ("a", "b", "c", "d", "a2", "b2", "c2", "d2")]
    said = _cannot(inputs(holes, readings + more, mirror=MirrorSide("c", "left", "above")))
    assert "no reading joins a2, b2, c2 and d2" in said


def test_two_parts_joined_by_one_reading_can_move():
    _, readings = _square()
    more = [replace(r, line=r.line + 20, a=r.a + "2", b=r.b + "2") for r in readings]
    holes = [hole(n) for n in ("a", "b", "c", "d", "a2", "b2", "c2", "d2")]
    joint = centre(60, "b", "a2", 0.1)
    said = _cannot(inputs(holes, [*readings, *more, joint], mirror=MirrorSide("c", "left", "above")))
    assert "free to move" in said
    assert "2" in said.split(":")[-1]


def test_a_hole_with_two_readings_has_two_places():
    xy, readings = _square()
    e = (0.2, -0.05)
    readings += [centre(20, "e", "a", math.dist(e, xy["a"])), centre(21, "e", "b", math.dist(e, xy["b"]))]
    said = _cannot(inputs([hole(n) for n in "abcde"], readings, mirror=MirrorSide("c", "left", "above")))
    assert "two shapes: e could lie in two places" in said
    assert "a reading c to e" in said or "a reading d to e" in said


def test_a_third_reading_from_the_same_row_does_not_settle_the_side():
    xy, readings = _square()
    f, e = (0.2, 0.0), (0.25, -0.06)
    readings += [centre(15, "f", p, math.dist(f, xy[p])) for p in "abcd"]
    readings += [centre(20, "e", p, math.dist(e, q)) for p, q in (("a", xy["a"]), ("b", xy["b"]), ("f", f))]
    said = _cannot(inputs([hole(n) for n in "abcdef"], readings, mirror=MirrorSide("c", "left", "above")))
    assert "two shapes: e could lie in two places" in said


def test_an_end_that_hangs_on_two_holes_can_be_folded_over():
    xy, readings = _square()
    end = {"e": (0.55, 0.03), "f": (0.56, 0.16)}
    both = {**xy, **end}
    pairs = [("b", "e"), ("b", "f"), ("c", "e"), ("c", "f"), ("e", "f")]
    readings += [centre(20 + k, p, q, math.dist(both[p], both[q])) for k, (p, q) in enumerate(pairs)]
    said = _cannot(inputs([hole(n) for n in "abcdef"], readings, mirror=MirrorSide("c", "left", "above")))
    assert "two shapes" in said


def test_a_frame_just_stiff_enough_can_snap_into_another_shape():
    # Two triangles joined by three bars: no two holes part them, yet nothing is to spare.
    xy = {
        "a": (0, 0),
        "b": (0.3, 0.02),
        "c": (0.12, 0.1),
        "d": (0.02, 0.31),
        "e": (0.33, 0.28),
        "f": (0.16, 0.2),
    }
    pairs = [*itertools.combinations("abc", 2), *itertools.combinations("def", 2), "ad", "be", "cf"]
    readings = [centre(2 + k, p, q, math.dist(xy[p], xy[q])) for k, (p, q) in enumerate(pairs)]
    said = _cannot(inputs([hole(n) for n in "abcdef"], readings, mirror=MirrorSide("c", "left", "above")))
    assert "two shapes" in said
    a, _, b = said.rsplit("a reading ", 1)[1].split(",")[0].partition(" to ")
    more = centre(30, a, b, math.dist(xy[a], xy[b]))
    again = inputs([hole(n) for n in "abcdef"], [*readings, more], mirror=MirrorSide("c", "left", "above"))
    assert solve(again).cannot == ()


def test_all_holes_in_one_line():
    names = [f"h{k}" for k in range(5)]
    x = (0.0, 0.1, 0.23, 0.31, 0.45)
    readings = [
        centre(2 + k, names[i], names[j], x[j] - x[i])
        for k, (i, j) in enumerate(itertools.combinations(range(5), 2))
    ]
    said = _cannot(inputs([hole(n) for n in names], readings, mirror=MirrorSide("h2", "left", "above")))
    assert "line" in said or "free to move" in said
    rng = np.random.default_rng(1)
    noisy = [replace(r, value=r.value + rng.normal(0, 5e-5)) for r in readings]
    said = _cannot(inputs([hole(n) for n in names], noisy, mirror=MirrorSide("h2", "left", "above")))
    assert "line" in said or "free to move" in said


def test_side_and_bearing_not_given():
    a = five_hole_rail()
    said = _cannot(replace(a, mirror=None))
    assert "mirror image" in said
    assert "rail.side_hole" in said
    assert solve(replace(a, mirror=None)).fit is not None
    assert "rail.bearing_left" in _cannot(replace(a, bearing_left=None))
    assert "tells no side" in _cannot(replace(a, mirror=MirrorSide("2", "left", "above"))) or (
        "lies on the line" in _cannot(replace(a, mirror=MirrorSide("2", "left", "above")))
    )
    assert "no hole of the rail" in _cannot(replace(a, mirror=MirrorSide("77", "left", "above")))


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"a": "zz"}, '"zz"'),
        ({"b": None}, "does not name all"),
        ({"b": "1"}, "same hole twice"),
        ({"value": float("nan")}, "no distance"),
        ({"value": float("inf")}, "no distance"),
        ({"value": -0.1}, "no distance"),
        ({"value": 0.0}, "reads zero"),
        ({"u": 0.0}, "uncertainty"),
        ({"u": float("nan")}, "uncertainty"),
    ],
)
def test_a_reading_that_cannot_be_used_is_named_with_its_line(change, word):
    a = five_hole_rail()
    said = _cannot(replace(a, readings=(replace(a.readings[0], **change), *a.readings[1:])))
    assert word in said
    assert "line 2" in said


def test_datum_and_names_are_checked():
    a = five_hole_rail()
    assert "datum" in _cannot(replace(a, datum="nowhere"))
    assert "both datum and second" in _cannot(replace(a, second=a.datum))
    assert "two holes are called 1" in _cannot(replace(a, holes=(*a.holes, a.holes[0])))


@pytest.mark.expected_from("property", "2,000 readings: many repeats, all pairs of many holes, a long chain")
@pytest.mark.parametrize("what", ["repeats", "all pairs"])
def test_two_thousand_readings(what):
    if what == "repeats":
        pairs = ring_pairs(16, (1, 2, 3, 5)) * 32
        a, xy = ring_rail(16, pairs=pairs[:2000], kind="inside")
    else:
        pairs = list(itertools.combinations(range(64), 2))[:2000]
        a, xy = ring_rail(64, pairs=pairs)
    result = solve(a)
    assert result.pattern.xy == pytest.approx(xy, abs=0.2 * MM)


@pytest.mark.expected_from("property", "same input, same bytes")
def test_the_same_readings_give_the_same_bytes():
    a, _ = ring_rail(12, kind="inside")
    one, two = solve(a), solve(a)
    assert one.pattern.xy.tobytes() == two.pattern.xy.tobytes()
    assert one.pattern.covariance.tobytes() == two.pattern.covariance.tobytes()
    assert one.checks == two.checks
