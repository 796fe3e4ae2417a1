"""The invented rails behind the examples, and the simulated day with the caliper.

``python -m tests.job.example_readings`` writes the readings files anew; a test holds the
committed files against what this gives. The true places are known here and nowhere else,
so that a test can ask whether the rail stage finds them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

EXAMPLES = Path(__file__).parents[2] / "src" / "sumpwright" / "examples"
CALIPER_REACH = 300.0  # mm
CALIPER_SPREAD = 0.04  # mm, of one reading, as the shop files say
TAPE_SPREAD = 0.3  # mm


@dataclass(frozen=True)
class Rail:
    """A rail in millimetres, whatever it is written in."""

    holes: dict[str, tuple[float, float]]  # true centres
    diameters: dict[str, float]  # of the edges the jaws touch, as the job gives them
    across: tuple[tuple[str, str], ...]  # pairs read besides the neighbours
    lines: tuple[tuple[str, str, str, str], ...]  # hole, line, line, note
    seed: int
    in_inches: bool = False
    bad: tuple[str, str, str] | None = None  # pair, note: one edge taken for the centre


def _pairs(left: range, total: int) -> list[tuple[str, str]]:
    """Holes across the rail whose numbers add up to ``total``."""
    return [(f"h{a}", f"h{total - a}") for a in left]


def _named(pairs: str) -> list[tuple[str, str]]:
    return [(f"h{pair.split('-')[0]}", f"h{pair.split('-')[1]}") for pair in pairs.split()]


def _hillclimb() -> Rail:
    left = [
        (0.0, 0.0),
        (61.8, 0.4),
        (127.6, -0.3),
        (190.3, 0.2),
        (256.1, 0.0),
        (321.7, 0.3),
        (387.2, -0.2),
        (452.0, 0.0),
    ]
    front = [(452.3, -44.2), (452.1, -170.1)]
    right = [
        (451.8, -214.0),
        (386.6, -213.6),
        (321.2, -214.3),
        (255.4, -214.1),
        (190.1, -213.8),
        (126.3, -214.2),
        (63.5, -213.9),
        (0.2, -214.1),
    ]
    rear = [(-0.2, -160.3), (0.1, -54.4)]
    places = [*left, *front, *right, *rear]
    holes = {f"h{n}": place for n, place in enumerate(places, start=1)}
    diameters = dict.fromkeys(holes, 6.8)
    diameters |= {"h5": 8.0, "h14": 8.0, "h19": 8.0, "h20": 8.0}
    # Left h1..h8, front h9 h10, right h11..h18, rear h19 h20; h18 lies across from h1.
    across = [
        *_pairs(range(1, 9), 19),
        *_pairs(range(1, 8), 18),
        *_pairs(range(2, 9), 20),
        *[(f"h{a}", f"h{a + 2}") for a in range(1, 19)],
        *_pairs(range(2, 7, 2), 17),
        *_pairs(range(3, 9, 2), 21),
        *_named(
            "19-1 20-18 19-17 20-2 19-2 20-17 20-16 19-3 9-7 10-12 9-12 10-7 9-11 10-8 9-13 10-6 1-8 18-11"
        ),
    ]
    lines = (
        ("h4", "h1", "h8", "rule laid along the left rail"),
        ("h15", "h18", "h11", "and along the right one"),
    )
    return Rail(
        holes,
        diameters,
        tuple(across),
        lines,
        20231,
        bad=("h6", "h13", "read in a hurry, engine on the hoist"),
    )


def _sailer() -> Rail:
    xs = [0.0, 81.3, 162.1, 243.6, 324.8, 406.2, 487.1, 568.7, 649.9, 731.0, 812.0]
    wave = [0.0, 0.2, -0.2, 0.3, 0.1, -0.3, 0.2, 0.0, -0.2, 0.3, 0.0]
    left = list(zip(xs, wave, strict=True))
    right = [
        (x + shift, -246.0 + y)
        for (x, y), shift in zip(
            reversed(left), [0.1, -0.2, 0.3, 0.0, 0.2, -0.1, 0.0, 0.2, 0.1, -0.3, 0.0], strict=True
        )
    ]
    places = [*left, (812.4, -82.1), (812.1, -164.3), *right, (0.2, -163.8), (-0.1, -81.7)]
    holes = {f"h{n}": place for n, place in enumerate(places, start=1)}
    diameters = dict.fromkeys(holes, 8.8)
    # Left h1..h11, front h12 h13, right h14..h24, rear h25 h26; h24 lies across from h1.
    across = [
        *_pairs(range(1, 12), 25),
        *_pairs(range(1, 11), 24),
        *_pairs(range(2, 12), 26),
        *[(f"h{a}", f"h{a + 2}") for a in range(1, 25)],
        *_pairs(range(2, 11, 2), 23),
        *_pairs(range(3, 11, 2), 27),
        *_named("25-1 26-24 25-23 26-2 25-2 26-23 25-3 26-22 12-14 13-11 13-15 12-10 12-15 13-10 12-16 13-9"),
        *_named("1-11 24-14"),
    ]
    lines = (("h6", "h1", "h11", "straight edge along the left rail"),)
    return Rail(holes, diameters, tuple(across), lines, 40823)


def _chipper(seed: int) -> Rail:
    inch = 25.4
    places = [
        (0.0, 0.0),
        (3.905, 0.01),
        (7.82, -0.008),
        (11.73, 0.0),
        (11.735, -2.81),
        (11.725, -5.55),
        (11.73, -8.35),
        (7.81, -8.345),
        (3.9, -8.355),
        (0.005, -8.35),
        (-0.01, -5.6),
        (0.01, -2.75),
    ]
    holes = {f"h{n}": (x * inch, y * inch) for n, (x, y) in enumerate(places, start=1)}
    diameters = dict.fromkeys(holes, 0.344 * inch)
    diameters |= {"h1": 0.406 * inch, "h7": 0.406 * inch}
    across = [
        *_named("1-10 2-9 3-8 4-7 1-9 2-10 2-8 3-9 3-7 4-8 1-8 3-10 2-7 4-9 1-4 10-7"),
        *[(f"h{a}", f"h{a + 2}") for a in range(1, 11)],
        *_named("11-1 12-10 12-2 11-9 12-9 11-2 5-3 6-8 5-8 6-3"),
    ]
    return Rail(holes, diameters, tuple(across), (), seed, in_inches=True)


RAILS = {
    "hillclimb-four": _hillclimb(),
    "motor-sailer": _sailer(),
    "slope-chipper": _chipper(1107),
    "slope-chipper-adapter": _chipper(1108),
}

HEADS = {
    "hillclimb-four": "# Block face cleaned and dry; 150 and 300 mm caliper, tape for the long ones.",
    "motor-sailer": "# Engine on its beds, read lying beside it; hole edges cleaned with a scraper.",
    "slope-chipper": "# Read in inches, dial caliper. The rear land is lower: measured level, with a square.",
    "slope-chipper-adapter": "# Underside of the adapter, faced on the mill. Read in inches, dial caliper.",
}


def readings_text(name: str) -> str:
    """The readings file of an example."""
    rail = RAILS[name]
    random = np.random.default_rng(rail.seed)
    names = list(rail.holes)
    edges = {name: size + random.normal(0.0, CALIPER_SPREAD) for name, size in rail.diameters.items()}
    pairs = [(a, names[(n + 1) % len(names)]) for n, a in enumerate(names)]
    rows = [HEADS[name], "kind, a, b, reading, with, u, note"]
    for a in names[:: max(1, len(names) // 6)]:
        rows.append(
            _row(rail, "diameter", a, "", edges[a] + random.normal(0.0, CALIPER_SPREAD), "caliper", "")
        )
    for place, (a, b) in enumerate(dict.fromkeys([*pairs, *rail.across])):
        distance = math.dist(rail.holes[a], rail.holes[b])
        radii = (edges[a] + edges[b]) / 2
        kind = "outside" if place % 3 == 2 else "inside"
        value = distance + (radii if kind == "outside" else -radii)
        is_long = value > CALIPER_REACH
        value += random.normal(0.0, TAPE_SPREAD if is_long else CALIPER_SPREAD)
        note = ""
        if rail.bad is not None and (a, b) == rail.bad[:2]:
            radius = rail.diameters[a] / 2
            value += -radius if kind == "outside" else radius
            note = rail.bad[2]
        rows.append(_row(rail, kind, a, b, value, "tape" if is_long else "caliper", note))
    for hole, a, b, note in rail.lines:
        (x, y), (ax, ay), (bx, by) = rail.holes[hole], rail.holes[a], rail.holes[b]
        off = abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / math.hypot(bx - ax, by - ay)
        value = max(0.0, off + random.normal(0.0, 0.03))
        rows.append(_row(rail, "in_line", hole, f"{a} {b}", value, "straight edge", note))
    return "\n".join(rows) + "\n"


def _row(rail: Rail, kind: str, a: str, b: str, millimetres: float, tool: str, note: str) -> str:
    if rail.in_inches:
        figure = f"{millimetres / 25.4:.3f}"
    else:
        figure = f"{round(millimetres * 2) / 2:.1f}" if tool == "tape" else f"{millimetres:.2f}"
    quoted = f'"{note}"' if "," in note else note
    return f"{kind}, {a}, {b}, {figure}, {tool}, , {quoted}".rstrip().rstrip(",").rstrip(", ")


if __name__ == "__main__":
    for example in RAILS:
        (EXAMPLES / example).mkdir(exist_ok=True)
        (EXAMPLES / example / "rail.csv").write_text(readings_text(example), encoding="utf-8")
