"""What can count: each answer with its unit, which way it is usually wanted, and its place in the work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Leg = Literal["shape", "oil", "cover", "suction", "clearance", "kit", "drive", "weld"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One answer that a plan may count."""

    name: str
    kind: str  # as in Figure.kind
    unit: str  # base SI; "money" for a price
    want: Literal["more", "less"]
    leg: Leg
    says: str  # what it is, for the page and the plan's reader


ANSWERS: tuple[Kind, ...] = (
    Kind("capacity", "volume", "m3", "more", "shape", "oil up to the rail, standing level"),
    Kind("drain residue", "small volume", "m3", "less", "oil", "oil that stays when the plug is out, level"),
    Kind(
        "ground",
        "length",
        "m",
        "more",
        "shape",
        "lowest point over the ground at ride height, less what is asked for",
    ),
    Kind(
        "cover margin",
        "length",
        "m",
        "more",
        "cover",
        "least oil over the mouth under all loads held, less what is wanted",
    ),
    Kind(
        "suction margin",
        "pressure",
        "Pa",
        "more",
        "suction",
        "pressure at the pump over its limit, at the worked point with least of it",
    ),
    Kind(
        "clearance",
        "length",
        "m",
        "more",
        "clearance",
        "gap to the nearest keep-out over all postures, less what is asked for",
    ),
    Kind("weld length", "length", "m", "less", "kit", "all seams, bends not counted"),
    Kind("mass", "mass", "kg", "less", "kit", "of all parts"),
    Kind("price", "price", "money", "less", "kit", "at the shop's rates, sheet by the box round each part"),
    Kind("reserve", "time", "s", "more", "drive", "least time of oil left over the mouth in any manoeuvre"),
    Kind("bow", "length", "m", "less", "weld", "flange out of flat, let go cold, the worst of its range"),
)
"""In the order of the work: cheap answers first, so that a broken hard limit stops a variant early."""

BY_NAME = {answer.name: answer for answer in ANSWERS}


def in_order(names: tuple[str, ...]) -> tuple[str, ...]:
    """Names of answers in the order in which they are worked out."""
    return tuple(answer.name for answer in ANSWERS if answer.name in names)
