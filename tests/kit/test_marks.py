import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from sumpwright.findings import Verdict
from sumpwright.geometry import Circle, FlatFrame, Outline
from sumpwright.kit import FlatPart
from sumpwright.kit.flange import flange_part
from sumpwright.kit.flange_holes import flange_holes
from sumpwright.kit.handed import handed_pairs, same_shape
from sumpwright.kit.lettering import letters, plain, tail_depth, words_width, write
from sumpwright.kit.mark_places import box, place_box, reading_angles, upright
from sumpwright.kit.marks import LEAST_CLEAR, marks_findings, with_marks
from sumpwright.kit.metal import metal_of
from sumpwright.quantities.units import frozen_array
from tests.kit.made_bodies import edge_joints, face_parts, kit_inputs, simple_body


def lines_of(mark):
    return [LineString(stroke.points) for stroke in mark.strokes]


@pytest.fixture(scope="module")
def kit():
    body = simple_body(lean=0.1)
    inputs = kit_inputs()
    flange = flange_part(inputs, body, flange_holes(inputs, body))
    parts = (flange, *face_parts(body.cavity))
    joints = edge_joints(body.cavity)
    return with_marks(parts, joints, body), joints, body


def flat(name, points, holes=(), frame=None, thickness=0.003, cut_outs=()):
    frame = frame or FlatFrame(frozen_array([0, 0, 0]), frozen_array([1, 0, 0]), frozen_array([0, 1, 0]))
    outline = Outline(frozen_array(points), frozen_array(np.zeros(len(points))))
    return FlatPart(name, 1, outline, cut_outs, holes, (), frame, thickness, "mild")


@pytest.mark.expected_from("property", "every letter stays within its height, its tails and its width")
def test_letters_keep_their_box():
    for letter in letters():
        strokes = write(letter, 0.006, np.array([0.0, 0.0]))
        points = np.concatenate([stroke.points for stroke in strokes])
        half = 0.5 * words_width(letter, 0.006)
        assert np.abs(points[:, 0]).max() <= half + 1e-12
        assert points[:, 1].max() <= 0.003 + 1e-12
        assert points[:, 1].min() >= -0.003 - tail_depth(letter, 0.006) - 1e-12


def test_letters_are_told_apart():
    drawn = {
        letter: tuple(tuple(map(tuple, np.round(s.points, 9))) for s in write(letter, 0.006, np.zeros(2)))
        for letter in letters()
    }
    assert len(set(drawn.values())) == len(drawn)
    assert set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./") <= set(letters())


def test_unknown_letters():
    assert plain("Ölwanne é") == "Olwanne e"
    assert plain("油 pan") == "? pan"
    assert words_width("", 0.005) == 0.0
    assert write("", 0.005, np.zeros(2)) == ()


@pytest.mark.expected_from("property", "turning a line of letters turns its points")
def test_turned_letters():
    level = write("Rail 7", 0.005, np.array([0.1, 0.2]))
    turned = write("Rail 7", 0.005, np.array([0.1, 0.2]), math.pi / 2)
    for a, b in zip(level, turned, strict=True):
        away = a.points - [0.1, 0.2]
        assert b.points - [0.1, 0.2] == pytest.approx(np.stack([-away[:, 1], away[:, 0]], axis=1))


@pytest.mark.expected_from("property", "the front is marked where it lies in the part")
def test_every_part_is_named_sided_and_fronted(kit):
    parts, _, _ = kit
    for part in parts:
        kinds = {mark.kind: mark.words for mark in part.marks}
        assert kinds["name"] == part.name
        assert kinds["side"] == ("seen from below" if part.name == "flange" else "outside")
        front_in_plane = math.hypot(part.frame.x_axis[0], part.frame.y_axis[0])
        assert ("front" in kinds) == (front_in_plane > 0.7)


@pytest.mark.expected_from("property", "marks lie in metal, at least 1.5 mm from every edge and hole")
def test_marks_lie_in_metal_and_apart(kit):
    for part in kit[0]:
        metal = metal_of(part)
        for mark in part.marks:
            for line in lines_of(mark):
                assert metal.contains(line)
                assert metal.boundary.distance(line) >= LEAST_CLEAR - 5.1e-5
        for i, one in enumerate(part.marks):
            for other in part.marks[i + 1 :]:
                apart = min(a.distance(b) for a in lines_of(one) for b in lines_of(other))
                assert apart > 0.0005, (part.name, one.words, other.words)


@pytest.mark.expected_from("property", "the front arrow's tip lies towards the engine's front")
def test_front_arrow_points_to_the_front(kit):
    for part in kit[0]:
        for mark in part.marks:
            if mark.kind == "front":
                shaft, barbs = mark.strokes[-2:]
                tail, tip = part.frame.to_space(np.array(shaft.points))
                assert tip[0] - tail[0] > 0.9 * math.dist(tip, tail)
                assert part.frame.to_space(np.array(barbs.points))[1] == pytest.approx(tip)


@pytest.mark.expected_from("property", "both edges of a seam carry its number at one place, off the middle")
def test_match_marks_meet(kit):
    parts, joints, _ = kit
    by_name = {part.name: part for part in parts}
    for number, joint in enumerate(joints, start=1):
        start, end = np.array(joint.start), np.array(joint.end)
        along = (end - start) / np.linalg.norm(end - start)
        shares = []
        for name in (joint.part_a, joint.part_b):
            part = by_name[name]
            (mark,) = [m for m in part.marks if m.kind == "match" and m.words == str(number)]
            tip = part.frame.to_space(np.array(mark.strokes[0].points))[1]
            shares.append(float((tip - start) @ along))
        # the two parts lean against each other, so a sheet's thickness may shift the foot along the seam
        assert shares[0] == pytest.approx(shares[1], abs=0.0005)
        assert abs(shares[0] / np.linalg.norm(end - start) - 0.5) > 0.03


def test_numbers_that_read_upside_down_get_a_point():
    from sumpwright.kit.marks import _read_one_way

    assert [_read_one_way(n) for n in ("6", "9", "16", "8", "11", "69", "12", "60")] == [
        "6.", "9.", "16.", "8", "11", "69", "12", "60.",
    ]  # fmt: skip


def test_marks_hold_in_the_findings(kit):
    parts, joints, _ = kit
    found = {finding.code: finding for finding in marks_findings(parts, joints)}
    assert found["KIT-30"].verdict is Verdict.HOLDS
    assert found["KIT-31"].verdict is Verdict.HOLDS
    assert "KIT-32" not in found


def test_marking_repeats_exactly(kit):
    parts, joints, body = kit
    bare = tuple(
        FlatPart(p.name, p.face, p.outline, p.cut_outs, p.holes, (), p.frame, p.thickness, p.material)
        for p in parts
    )
    again = with_marks(bare, joints, body)
    for one, other in zip(parts, again, strict=True):
        assert [m.words for m in one.marks] == [m.words for m in other.marks]
        for a, b in zip(one.marks, other.marks, strict=True):
            assert all(np.array_equal(s.points, t.points) for s, t in zip(a.strokes, b.strokes, strict=True))


def test_small_parts_get_less():
    body = simple_body()
    long_name = "gusset beside the pickup"
    narrow = flat(long_name, [(0, 0), (0.016, 0), (0.016, 0.016), (0, 0.016)])
    tiny = flat("very small gusset", [(0, 0), (0.004, 0), (0.004, 0.004), (0, 0.004)])
    strip = flat("edge strip", [(0, 0), (0.2, 0), (0.2, 0.012), (0, 0.012)])
    marked = with_marks((narrow, tiny, strip), (), body)
    assert [m.words for m in marked[0].marks if m.kind == "name"] == ["1"]
    assert "number 1" in marked[0].note
    assert marked[1].marks == ()
    assert "too small to etch" in marked[1].note
    assert [m.words for m in marked[2].marks if m.kind == "name"] == ["edge strip"]
    finding = marks_findings(marked, ())[0]
    assert finding.verdict is Verdict.CLOSE
    assert long_name in finding.where
    assert "edge strip" not in finding.where


@pytest.mark.expected_from("closed form", "a 40 x 10 box fits a 50 x 20 plate anywhere in its middle 10 x 10")
def test_place_box():
    plate = Polygon([(0, 0), (50, 0), (50, 20), (0, 20)])
    assert place_box(plate, 40, 10, 0.0, np.array([25, 10])) == pytest.approx([25, 10])
    assert place_box(plate, 40, 10, 0.0, np.array([0, 0])) == pytest.approx([20, 5])
    assert place_box(plate, 40, 21, 0.0, np.array([25, 10])) is None
    assert place_box(plate, 40, 10, math.pi / 2, np.array([25, 10])) is None


@pytest.mark.expected_from("property", "whatever is placed lies inside; what random search finds is found")
def test_place_box_in_odd_shapes():
    rng = np.random.default_rng(4)
    shape = Polygon([(0, 0), (60, 0), (60, 20), (35, 20), (35, 60), (20, 60), (20, 20), (0, 20)])
    shape = shape.difference(Point(28, 12).buffer(5))
    for angle in (0.0, 0.3, math.pi / 2):
        for width, height in ((18, 6), (30, 6), (24, 10), (50, 5), (33, 12)):
            middle = place_box(shape, width, height, angle, np.array([5.0, 5.0]))
            tries = rng.uniform(0, 60, (3000, 2))
            found = any(shape.contains(Polygon(box(t, width, height, angle))) for t in tries)
            if middle is None:
                assert not found
            else:
                assert shape.buffer(1e-9).covers(Polygon(box(middle, width, height, angle)))


@pytest.mark.expected_from("closed form", "angles folded into half a turn")
def test_upright_and_angles():
    assert upright(math.pi) == pytest.approx(0.0)
    assert upright(-math.pi / 2) == pytest.approx(math.pi / 2)
    assert upright(3.0) == pytest.approx(3.0 - math.pi)
    angles = reading_angles(np.array([(0, 0), (4, 0), (4, 1), (0, 1)]))
    assert sorted(angles) == pytest.approx([0.0, math.pi / 2])


def _frame_at(y):
    return FlatFrame(frozen_array([0, y, 0]), frozen_array([1, 0, 0]), frozen_array([0, 0, 1]))


WEDGE = [(0, 0), (0.2, 0), (0.2, 0.05), (0.05, 0.08)]
OTHER_HAND = [(-x, y) for x, y in reversed(WEDGE)]


def test_handed_pairs_are_named_left_and_right():
    left, right = (
        flat("gusset a", WEDGE, frame=_frame_at(0.4)),
        flat("gusset b", OTHER_HAND, frame=_frame_at(-0.4)),
    )
    (pair,) = handed_pairs((left, right))
    assert (pair.one, pair.one_word, pair.other, pair.other_word) == ("gusset a", "left", "gusset b", "right")
    marked = with_marks((left, right), (), simple_body())
    assert "left of a handed pair: mirror image of gusset b" in marked[0].note
    assert marks_findings(marked, ())[-1].code == "KIT-32"


def test_same_or_symmetrical_parts_are_not_handed():
    turned = [(0.3 - y, x) for x, y in WEDGE]
    assert handed_pairs((flat("a", WEDGE), flat("b", turned))) == ()
    square = [(0, 0), (0.1, 0), (0.1, 0.1), (0, 0.1)]
    assert handed_pairs((flat("a", square), flat("b", [(-x, y) for x, y in reversed(square)]))) == ()
    assert handed_pairs((flat("a", WEDGE), flat("b", OTHER_HAND, thickness=0.002))) == ()


def test_one_hole_makes_a_symmetrical_part_handed():
    square = [(0, 0), (0.1, 0), (0.1, 0.06), (0, 0.06)]
    one = flat("a", square, (Circle(0.02, 0.02, 0.01),))
    other = flat("b", square, (Circle(0.08, 0.02, 0.01),))
    third = flat("c", square, (Circle(0.08, 0.04, 0.01),))
    assert len(handed_pairs((one, other))) == 1
    assert handed_pairs((one, third)) == ()  # turned round by half a turn: the same part


@pytest.mark.expected_from("property", "sliding and turning change nothing, turning over does")
def test_same_shape_under_random_motion():
    from shapely.affinity import rotate, scale, translate

    rng = np.random.default_rng(9)
    one = Polygon(WEDGE)
    for angle, dx, dy in rng.uniform(-3, 3, (12, 3)):
        moved = translate(rotate(one, angle, origin=(0, 0), use_radians=True), dx, dy)
        assert same_shape(one, moved)
        assert not same_shape(scale(one, -1, 1), moved)
