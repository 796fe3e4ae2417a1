"""What the inside says: does it fit, how is it held, what of it has to be watched."""

from __future__ import annotations

import math

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.kit.internals_model import Fixing, Internals
from sumpwright.kit.rule_cases import length_figure

MEANS = {
    "tacked": "It stays in: nothing works loose, but nothing behind it is cleaned or mended without cutting.",
    "bolted": "It comes out to clean and mend, but each of its {count} bolts can work loose: lock them.",
}


def internals_findings(internals: Internals) -> tuple[Finding, ...]:
    """Everything to say of the inside, trouble first."""
    found: list[Finding] = []
    for trouble in internals.trouble:
        found.append(
            Finding(
                "KIT-80",
                Verdict.FAILS,
                trouble.where,
                "This cannot be made as asked: " + _plain(trouble.what) + ".",
                how_sure="By the shapes as given.",
                do=_plain(f"{trouble.cure[:1].upper()}{trouble.cure[1:]}."),
                source="job-file",
                place=trouble.place,
            )
        )
    found += _fits(internals)
    found += [_held(fixing) for fixing in internals.fixings]
    if internals.doors:
        found.append(_doors(internals))
    if internals.tube is not None and internals.tube.cuts:
        found.append(_tube(internals))
    return tuple(found)


def _fits(internals: Internals) -> list[Finding]:
    if internals.clashes:
        return [
            Finding(
                "KIT-81",
                Verdict.FAILS,
                clash.parts,
                "Set up at their places, {share} of metal is where it cannot be.",
                (Figure("share", clash.volume, "m3", "volume", 6),),
                clash.volume,
                0.0,
                "m3",
                "volume",
                0.0,
                "Computed from the cut outlines themselves.",
                "Move one of the two, or make it smaller.",
                "common practice, no source",
                clash.place,
            )
            for clash in internals.clashes
        ]
    placed = len(internals.names) - len(internals.loose)
    if not placed:
        return []
    return [
        Finding(
            "KIT-81",
            Verdict.HOLDS,
            "inside parts",
            "Set up at their places, none of {count} inside parts touches another or leaves the oil space.",
            (Figure("count", float(placed), "1", "count"),),
            how_sure="Computed from the cut outlines; parts that are placed while fitting are not in it.",
            source="common practice, no source",
        )
    ]


def _held(fixing: Fixing) -> Finding:
    figures: tuple[Figure, ...] = ()
    if fixing.way == "bolted":
        figures = (Figure("count", float(len(fixing.places)), "1", "count"),)
    return Finding(
        "KIT-82",
        Verdict.HOLDS,
        fixing.wall,
        "The wall is " + fixing.way + ". " + MEANS[fixing.way],
        figures,
        how_sure="By choice, not by strength: what the oil's weight does to it is not computed here.",
        do="Weld the bosses before the floor goes on, and try the bolts."
        if fixing.way == "bolted"
        else "Tack it before its corner is closed, and wash out behind it.",
        source="common practice, no source",
    )


def _doors(internals: Internals) -> Finding:
    return Finding(
        "KIT-83",
        Verdict.HOLDS,
        "doors",
        "{count} doors, each a flap with two ears, a bar and a stop; the holes lie unevenly, so that a flap "
        "turned over does not go on. Stops end the swing at {swing}.",
        (
            Figure("count", float(len(internals.doors)), "1", "count"),
            Figure("swing", internals.doors[0].opens, "rad", "angle", 0),
        ),
        how_sure="By the drawing; how they move in oil shows only in the engine.",
        do="Before closing: swing each by hand; no light round it, and it must fall shut by itself.",
        source="common practice, no source",
    )


def _tube(internals: Internals) -> Finding:
    tube = internals.tube
    assert tube is not None
    steepest = max(cut.turn for cut in tube.cuts)
    return Finding(
        "KIT-84",
        Verdict.CLOSE if steepest > math.radians(60.0) else Verdict.HOLDS,
        "pickup tube",
        "{cuts} mitre cuts; the sharpest turns {turn} in one weld, saw to a template printed at true size. "
        "Tube to buy: {stock}.",
        (
            Figure("cuts", float(len(tube.cuts)), "1", "count"),
            Figure("turn", steepest, "rad", "angle", 0),
            length_figure("stock", tube.stock_length, 0),
        ),
        steepest,
        math.radians(60.0),
        "rad",
        "angle",
        0.0,
        "By the centre line as given; measure each printed template's girth before sawing.",
        "Every mitre counts as an air leak above the oil until proven: test the tube under water. A bend, or "
        "more cuts in the corner, loses less.",
        "common practice, no source",
        None if not tube.cuts else _place(internals),
    )


def _place(internals: Internals) -> tuple[float, float, float]:
    assert internals.tube is not None
    x, y, z = max(internals.tube.cuts, key=lambda cut: cut.turn).place
    return float(x), float(y), float(z)


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
