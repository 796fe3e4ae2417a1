"""What the body stage says of a rail that is not one plane."""

from __future__ import annotations

import numpy as np

from sumpwright.body.finding_words import length_figure, plain
from sumpwright.body.model import PanBody
from sumpwright.body.rail_shape_model import ArchSeat, LandTrouble, StepLand
from sumpwright.findings import Assumption, Figure, Finding, Verdict


def land_findings(body: PanBody) -> list[Finding]:
    """One finding a land that is not in the datum plane."""
    if body.uneven is None:
        return []
    return [
        *(_trouble(each) for each in body.uneven.trouble),
        *(_step(step) for step in body.uneven.steps),
        *(_arch(arch) for arch in body.uneven.arches),
    ]


def land_assumptions(body: PanBody) -> list[Assumption]:
    """What was taken of the lands where the job does not say."""
    if body.uneven is None or not (body.uneven.steps or body.uneven.arches):
        return []
    return [
        Assumption(
            "rail.lands",
            "Oil is counted up to the datum plane of the rail; between a lower land and that plane the "
            "block's own inside is taken to stand flush with the pan's walls.",
        )
    ]


def _trouble(each: LandTrouble) -> Finding:
    return Finding(
        "BODY-15",
        Verdict.CANNOT_SAY,
        plain(f"land {each.land}"),
        f"The land '{plain(each.land)}' {plain(each.what)}, so the pan is drawn as if it were flat there.",
        how_sure="From the lands and holes as given.",
        do=plain(each.cure),
        source="common practice, no source",
    )


def _step(step: StepLand) -> Finding:
    middle = np.mean(step.between, axis=0)
    place = (float(middle[0]), float(middle[1]), step.top)
    figures = (
        length_figure("depth", -step.top, 2),
        length_figure("film", step.film, 2),
        Figure("faces", float(len(step.faces)), "1", "count"),
    )
    if all(face.is_given for face in step.faces):
        return Finding(
            "BODY-16",
            Verdict.HOLDS,
            plain(f"land {step.name}"),
            "The flange steps down by {depth} here; its risers stand {film} off the block's upright faces, "
            "for the seal.",
            figures,
            how_sure="From the heights, seals and upright faces as given.",
            source="plane-geometry",
            place=place,
        )
    return Finding(
        "BODY-16",
        Verdict.CANNOT_SAY,
        plain(f"land {step.name}"),
        "The flange steps down by {depth} here, but where the block's upright faces stand was not read: "
        "midway between the holes on either side is taken.",
        figures,
        how_sure="The place of a riser decides whether it seals; nothing was read of it.",
        do="measure where the block's upright faces stand, and give them as from_line and to_line",
        source="common practice, no source",
        place=place,
    )


def _arch(arch: ArchSeat) -> Finding:
    place = (0.5 * (arch.inner_x + arch.outer_x), arch.centre[0], arch.crown)
    figures = (
        length_figure("radius", arch.radius, 1),
        length_figure("crown", abs(arch.crown), 1),
        length_figure("width", abs(arch.outer_x - arch.inner_x), 1),
    )
    if arch.middle_is_given:
        return Finding(
            "BODY-17",
            Verdict.HOLDS,
            plain(f"land {arch.name}"),
            "The pan's seat has a radius of {radius} and is {width} wide; its crown lies {crown} "
            + ("below the flange's face." if arch.hangs else "above the flange's face."),
            figures,
            how_sure="The block's round as given, with the clamped seal put on.",
            source="plane-geometry",
            place=place,
        )
    return Finding(
        "BODY-17",
        Verdict.CANNOT_SAY,
        plain(f"land {arch.name}"),
        "The pan's seat has a radius of {radius} and is {width} wide, but where its middle stands was not "
        "read: midway between the two holes is taken.",
        figures,
        how_sure="A seat beside the block's round does not seal; nothing was read of its place.",
        do="measure the middle of the seat from two holes, and give it as 'middle'",
        source="common practice, no source",
        place=place,
    )
