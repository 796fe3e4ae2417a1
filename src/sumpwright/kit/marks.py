"""Etched marks: every part's name, its side, the front, and match marks across every seam.

Marks lie on the drawn side, wholly in metal, clear of edges, holes and each other, and get
smaller on small parts down to what can still be read. Of a seam both edges carry the same
number at the same place, off its middle, so that a part held the wrong way round shows it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.body import PanBody
from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.geometry import Stroke
from sumpwright.kit.handed import handed_pairs
from sumpwright.kit.lettering import tail_depth, words_width, write
from sumpwright.kit.mark_places import box, place_box, reading_angles, room_for_box, upright, without
from sumpwright.kit.metal import chords, metal_of
from sumpwright.kit.model import FlatPart, Joint, Mark
from sumpwright.kit.unfolding import flat_place
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

HEIGHTS: tuple[Metre, ...] = (0.010, 0.008, 0.006, 0.005, 0.004, 0.003, 0.0025)
"""Letter heights to try; the last is the least that reads after deburring."""

NUMBER_HEIGHTS: tuple[Metre, ...] = (0.005, 0.004, 0.003, 0.0025)

SHARES = (0.38, 0.62, 0.31, 0.69, 0.45, 0.55, 0.24, 0.76, 0.17, 0.83, 0.1, 0.9)
"""Places along a seam to try for its match mark, never its very middle."""

LEAST_CLEAR: Metre = 0.0015
ROOM: Metre = 0.001
"""Bare metal about a mark: to the part's edges and holes, and between two marks."""

SIDE_WORDS = {True: "seen from below", False: "outside"}
"""The drawn side of the flange, and of every other part."""


@dataclass(frozen=True, slots=True, eq=False)
class _Bench:
    """One part while it is being marked."""

    part: FlatPart
    metal: Polygon
    close: BaseGeometry  # metal clear of edges and holes, less what marks cover
    airy: BaseGeometry  # the same with generous room about each mark
    marks: tuple[Mark, ...] = ()

    def with_mark(self, mark: Mark, covered: list[FloatArray], room: Metre) -> _Bench:
        """The part with one more mark, ``room`` about it where there is a choice."""
        return replace(
            self,
            close=without(self.close, covered, ROOM),
            airy=without(self.airy, covered, max(ROOM, room)),
            marks=(*self.marks, mark),
        )


def with_marks(parts: tuple[FlatPart, ...], joints: tuple[Joint, ...], body: PanBody) -> tuple[FlatPart, ...]:
    """The parts with their etched marks and, in ``note``, handed pairs and what could not be etched.

    Match marks carry the seam's number: its place in ``joints``, counted from one.
    """
    benches = _marked(parts, joints, body, frozenset())
    # A part too small for its name even when bare is not crowded: a second round would not help it.
    crowded = frozenset(
        part.name
        for number, part in enumerate(parts, start=1)
        if not _is_named(benches[part.name]) and _is_named(_named(_bench(part), number))
    )
    if crowded:
        # On these a name matters more than match marks.
        benches = _marked(parts, joints, body, crowded)
    pair_notes = {}
    for pair in handed_pairs(parts):
        pair_notes[pair.one] = f"{pair.one_word} of a handed pair: mirror image of {pair.other}"
        pair_notes[pair.other] = f"{pair.other_word} of a handed pair: mirror image of {pair.one}"
    marked = []
    for number, part in enumerate(parts, start=1):
        marks = benches[part.name].marks
        notes = [part.note, pair_notes.get(part.name, ""), _missing_words(part, marks, number)]
        marked.append(replace(part, marks=marks, note="; ".join(note for note in notes if note)))
    return tuple(marked)


def _marked(
    parts: tuple[FlatPart, ...], joints: tuple[Joint, ...], body: PanBody, names_first: frozenset[str]
) -> dict[str, _Bench]:
    """All parts with match marks and names; names come last, but first where they are asked to."""
    numbers = {part.name: number for number, part in enumerate(parts, start=1)}
    benches = {part.name: _bench(part) for part in parts}
    for name in sorted(names_first):
        benches[name] = _named(benches[name], numbers[name])
    for number, joint in enumerate(joints, start=1):
        if joint.kind == "bend":  # both sides are one piece
            continue
        _match(benches, joint, str(number), body.inputs.sheet)
    for name, bench in benches.items():
        if name not in names_first:
            benches[name] = _named(bench, numbers[name])
    return benches


def _is_named(bench: _Bench) -> bool:
    return any(mark.kind == "name" and mark.words == bench.part.name for mark in bench.marks)


def marks_findings(parts: tuple[FlatPart, ...], joints: tuple[Joint, ...]) -> tuple[Finding, ...]:
    """Which parts and seams carry no full marks, and which parts are handed."""
    unnamed = [part.name for part in parts if not _is_fully_named(part)]
    numbers = {part.name: {m.words for m in part.marks if m.kind == "match"} for part in parts}
    blank = [
        number
        for number, joint in enumerate(joints, start=1)
        if joint.kind != "bend"
        and not all(str(number) in numbers.get(name, set()) for name in (joint.part_a, joint.part_b))
    ]
    found = [
        Finding(
            code="KIT-30",
            verdict=Verdict.CLOSE if unnamed else Verdict.HOLDS,
            where=f"parts {', '.join(unnamed)}" if unnamed else "part marks",
            says="{unnamed} of {count} parts are too small for their etched name"
            if unnamed
            else "all {count} parts carry their etched name",
            figures=(
                Figure("unnamed", len(unnamed), "1", "count"),
                Figure("count", len(parts), "1", "count"),
            ),
            how_sure="by the drawing",
            do="write on these parts by hand as they come off the cutter" if unnamed else "",
            source="common-practice",
        ),
        Finding(
            code="KIT-31",
            verdict=Verdict.CLOSE if blank else Verdict.HOLDS,
            where=f"seams {', '.join(map(str, blank))}" if blank else "match marks",
            says="{blank} of {count} seams have no room for a match mark on both edges"
            if blank
            else "all {count} seams carry the same number on both edges",
            figures=(
                Figure("blank", len(blank), "1", "count"),
                Figure("count", len(joints), "1", "count"),
            ),
            how_sure="by the drawing",
            do="lay these edges together by the weld map" if blank else "",
            source="common-practice",
        ),
    ]
    pairs = handed_pairs(parts)
    if pairs:
        said = "; ".join(f"{p.one} ({p.one_word}) and {p.other} ({p.other_word})" for p in pairs)
        found.append(
            Finding(
                code="KIT-32",
                verdict=Verdict.HOLDS,
                where=said,
                says="{count} handed pairs: the two of a pair are mirror images and do not swap"
                if len(pairs) > 1
                else "one handed pair: the two are mirror images and do not swap",
                figures=(Figure("count", len(pairs), "1", "count"),),
                how_sure="by comparing the outlines",
                do="keep the etched side out when bending and tacking them",
                source="common-practice",
            )
        )
    return tuple(found)


def _is_fully_named(part: FlatPart) -> bool:
    """Whether a part carries its name; a bent one carries those of all its faces."""
    if part.folds:
        return sum(mark.kind == "name" for mark in part.marks) >= len(part.faces)
    return _has(part, "name", part.name)


def _has(part: FlatPart, kind: str, words: str) -> bool:
    return any(mark.kind == kind and mark.words == words for mark in part.marks)


def _missing_words(part: FlatPart, marks: tuple[Mark, ...], number: int) -> str:
    named = next((mark for mark in marks if mark.kind == "name"), None)
    if named is None:
        return "too small to etch: write its name on it"
    if named.words != part.name:
        return f"too small for its name: etched with number {number}"
    return "" if any(mark.kind == "side" for mark in marks) else "no room to etch which side this is"


def _is_flange(part: FlatPart) -> bool:
    """The flange lies in the rail plane and is no face of the cavity."""
    return part.face is None and part.frame.normal[2] < -0.999


def _bench(part: FlatPart) -> _Bench:
    import shapely

    metal = metal_of(part)
    clear = max(LEAST_CLEAR, min(part.thickness, 0.004))
    free: BaseGeometry = metal.buffer(-clear, join_style="mitre")
    if free.is_empty:
        free = metal.buffer(-LEAST_CLEAR, join_style="mitre")
    if _is_flange(part) and part.holes:
        # Bolt heads and washers sit here: what they cover cannot be read.
        heads = [
            shapely.Point(hole.x, hole.y).buffer(1.1 * hole.diameter, quad_segs=3) for hole in part.holes
        ]
        free = free.difference(shapely.union_all(heads))
    # Tens of corners from arcs do not matter to a mark, only cost time.
    free = free.simplify(5e-5)
    if part.marks:
        free = without(free, [_covered(mark) for mark in part.marks], ROOM)
    return _Bench(part, metal, free, free, part.marks)


def _covered(mark: Mark) -> FloatArray:
    """The rectangle (4, 2) round a mark's strokes."""
    points = np.concatenate([np.asarray(stroke.points) for stroke in mark.strokes])
    (x1, y1), (x2, y2) = points.min(axis=0), points.max(axis=0)
    return np.array([[x1, y1], [x2, y1], [x2, y2], [x1, y2]])


def with_words(part: FlatPart, words: str) -> FlatPart:
    """The part with more words etched where there is room; in its note where there is none."""
    bench = _bench(part)
    middle = np.array([bench.metal.centroid.x, bench.metal.centroid.y])
    angles = reading_angles(np.asarray(chords(part.outline, 2e-4)))
    for lines in _line_breaks(words):
        placed = _place_lines(bench, lines, _heights_for(bench.metal), angles, middle)
        if placed is not None:
            return replace(part, marks=(*part.marks, Mark(words, placed[0], "place")))
    note = f"no room to etch: {words}"
    return replace(part, note="; ".join(text for text in (part.note, note) if text))


def _named(bench: _Bench, number: int) -> _Bench:
    """Name, side and front, as large as fits; the number alone where the name does not."""
    part = bench.part
    middle = np.array([bench.metal.centroid.x, bench.metal.centroid.y])
    angles = reading_angles(np.asarray(chords(part.outline, 2e-4)))
    heights = _heights_for(bench.metal)
    for lines in (*_line_breaks(part.name), (str(number),)):
        words = part.name if lines != (str(number),) else str(number)
        placed = _place_lines(bench, lines, heights, angles, middle)
        if placed is not None:
            strokes, covered, room = placed
            bench = bench.with_mark(Mark(words, strokes, "name"), covered, room)
            middle = np.mean([ring.mean(axis=0) for ring in covered], axis=0)
            break
    else:
        return bench
    word = SIDE_WORDS[_is_flange(part)]
    for lines in _line_breaks(word):
        placed = _place_lines(bench, lines, [h for h in heights if h <= 0.006], angles, middle)
        if placed is not None:
            strokes, covered, room = placed
            bench = bench.with_mark(Mark(word, strokes, "side"), covered, room)
            break
    return _fronted(bench, heights, middle)


def _heights_for(metal: Polygon) -> list[Metre]:
    """Heights to try: on a small part letters must not be the size of the part."""
    reach = math.sqrt(metal.area)
    return [height for height in HEIGHTS if height <= 0.2 * reach] or [HEIGHTS[-1]]


def _line_breaks(name: str) -> list[tuple[str, ...]]:
    """The name in one line, then broken at spaces into two and three even lines."""
    words = name.split()
    counts = [count for count in (2, 3) if count <= len(words)]
    return [(" ".join(words),), *(_even_breaks(words, count) for count in counts)]


def _even_breaks(words: list[str], count: int) -> tuple[str, ...]:
    def lines_of(cuts: tuple[int, ...]) -> tuple[str, ...]:
        edges = (0, *cuts, len(words))
        return tuple(" ".join(words[a:b]) for a, b in pairwise(edges))

    every = (lines_of(cuts) for cuts in combinations(range(1, len(words)), count - 1))
    return min(every, key=lambda lines: max(len(line) for line in lines))


def _place_lines(
    bench: _Bench,
    lines: tuple[str, ...],
    heights: list[Metre],
    angles: tuple[Radian, ...],
    near: FloatArray,
) -> tuple[tuple[Stroke, ...], list[FloatArray], Metre] | None:
    """Lines of letters, the largest that fit: strokes, the rectangle they cover, room about it."""
    # A part without marks yet has one and the same room twice.
    for free in (bench.airy,) if bench.airy is bench.close else (bench.airy, bench.close):
        broadest, longest = room_for_box(free)
        for height in heights:
            pitch = 1.7 * height
            tail = max(tail_depth(line, height) for line in lines)
            width = max(words_width(line, height) for line in lines)
            depth = pitch * (len(lines) - 1) + height + 2.0 * tail
            if min(width, depth) > broadest or math.hypot(width, depth) > longest:
                continue
            for angle in angles:
                middle = place_box(free, width, depth, angle, near)
                if middle is None:
                    continue
                up = np.array([-math.sin(angle), math.cos(angle)])
                strokes: list[Stroke] = []
                for k, line in enumerate(lines):
                    foot = middle + up * pitch * (0.5 * (len(lines) - 1) - k)
                    strokes += write(line, height, foot, angle)
                return tuple(strokes), [box(middle, width, depth, angle)], 0.6 * height
    return None


def _fronted(bench: _Bench, heights: list[Metre], near: FloatArray) -> _Bench:
    """An arrow to the engine's front, on parts in whose plane the front lies."""
    frame = bench.part.frame
    front = np.array([float(frame.x_axis[0]), float(frame.y_axis[0])])
    if math.hypot(*front) < 0.7:
        return bench
    heading = math.atan2(front[1], front[0])
    reading = upright(heading)
    points_right = abs(reading - heading) < 1e-6
    for height in [h for h in heights if h <= 0.006]:
        word, gap, arrow = words_width("front", height), 0.8 * height, 2.5 * height
        width = word + gap + arrow
        middle = place_box(bench.airy, width, 1.1 * height, reading, near)
        if middle is None:
            continue
        along = np.array([math.cos(reading), math.sin(reading)])
        ahead = along if points_right else -along
        text_middle = middle - ahead * 0.5 * (gap + arrow)
        tip = middle + ahead * 0.5 * width
        side = np.array([-ahead[1], ahead[0]])
        shaft = Stroke(frozen_array([tip - ahead * arrow, tip]))
        barbs = Stroke(
            frozen_array(
                [
                    tip - ahead * 0.7 * height + side * 0.4 * height,
                    tip,
                    tip - ahead * 0.7 * height - side * 0.4 * height,
                ]
            )
        )
        strokes = (*write("front", height, text_middle, reading), shaft, barbs)
        covered = [box(middle, width, 1.1 * height, reading)]
        return bench.with_mark(Mark("front", strokes, "front"), covered, 0.6 * height)
    return bench


@dataclass(frozen=True, slots=True, eq=False)
class _Tick:
    """A match mark on one part: an arrowhead at the seam with the number behind it."""

    strokes: tuple[Stroke, ...]
    covered: list[FloatArray]


def _read_one_way(number: str) -> str:
    """The number with a point at its foot if it is another number upside down: 6 and 9, 16 and 91."""
    turned = number[::-1].translate(str.maketrans("69", "96"))
    return f"{number}." if set(number) <= set("01689") and turned != number else number


def _match(benches: dict[str, _Bench], joint: Joint, number: str, sheet: Metre) -> None:
    """Put the seam's number on both its parts at the same place, where both have room."""
    if joint.part_a not in benches or joint.part_b not in benches or joint.length <= 0.0:
        return
    one, other = benches[joint.part_a], benches[joint.part_b]
    start, end = np.array(joint.start), np.array(joint.end)
    for free_one, free_other in ((one.airy, other.airy), (one.close, other.close)):
        for height in NUMBER_HEIGHTS:
            for share in SHARES:
                if min(share, 1.0 - share) * joint.length < height:
                    continue
                seam = _SeamPlace(joint, start + share * (end - start), end - start, sheet)
                tick = _tick(one.part, one.metal, free_one, seam, height, number)
                if tick is None:
                    continue
                opposite = _tick(other.part, other.metal, free_other, seam, height, number)
                if opposite is None:
                    continue
                for bench, made in ((one, tick), (other, opposite)):
                    mark = Mark(number, made.strokes, "match")
                    benches[bench.part.name] = bench.with_mark(mark, made.covered, 0.8 * height)
                return


@dataclass(frozen=True, slots=True, eq=False)
class _SeamPlace:
    """Where along a seam a match mark is tried."""

    joint: Joint
    place: FloatArray  # (3,) m
    along: FloatArray  # (3,) from the seam's start to its end
    sheet: Metre


def _tick(
    part: FlatPart, metal: Polygon, free: BaseGeometry, seam: _SeamPlace, height: Metre, number: str
) -> _Tick | None:
    """The mark on one part, or None where there is no room."""
    import shapely

    frame = part.frame
    here = flat_place(part, seam.place)
    along = np.array([seam.along @ frame.x_axis, seam.along @ frame.y_axis])
    length = math.hypot(*along)
    if length < 1e-9:
        return None
    along = along / length
    inward = np.array([-along[1], along[0]])
    # Beside the seam lies the bead; on the flange also the wall that stands on it.
    skip = 0.0
    if seam.joint.kind == "wall under flange" and _is_flange(part):
        skip = 2.0 * seam.sheet + 0.002
    etched = _read_one_way(number)
    width = words_width(etched, height)
    for direction in (inward, -inward):
        run = shapely.LineString([here, here + 0.06 * direction]).intersection(metal)
        if run.is_empty or run.length < height:
            continue
        first = float(shapely.Point(*here).distance(run))
        if first > 0.02:
            continue
        clear = max(LEAST_CLEAR, min(part.thickness, 0.004))
        foot = here + direction * (first + skip + clear * 1.05)
        line = math.atan2(along[1], along[0])
        # An open arrowhead that points at the seam; the number stands behind it, so that
        # the two are never read together.
        arrow = np.array(
            [
                foot + 0.8 * height * direction - 0.4 * height * along,
                foot,
                foot + 0.8 * height * direction + 0.4 * height * along,
            ]
        )
        text_middle = foot + direction * 1.8 * height
        covered = [
            box(foot + 0.4 * height * direction, 0.8 * height, 0.8 * height, line),
            box(text_middle, width, height, line),
        ]
        if all(free.covers(shapely.Polygon(ring)) for ring in covered):
            strokes = (
                Stroke(frozen_array(arrow)),
                *write(etched, height, text_middle, upright(line)),
            )
            return _Tick(strokes, covered)
    return None
