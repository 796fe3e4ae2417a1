"""What the old pan did besides holding oil, and who does it now."""

from __future__ import annotations

from sumpwright.body.finding_words import plain
from sumpwright.body.model import OldPanDuty, PanBody
from sumpwright.findings import Finding, Verdict

_WAYS_ROUND = {
    "pressure": (
        "keep that part of the old casting as an adapter between block and pan, fit a remote filter or "
        "cooler with hoses, or plug the passage where the engine maker's data allows it; then say in the job "
        "what it was moved to"
    ),
    "structural": (
        "fit a separate brace or girdle between block and gearbox, or keep that part of the old casting; "
        "then say in the job what it was moved to"
    ),
}


def old_pan_findings(body: PanBody) -> list[Finding]:
    """One finding a duty that a plain sheet pan does not take over by itself."""
    found: list[Finding] = []
    for duty in body.inputs.old_pan.duties:
        if duty.kind == "storage":
            continue
        if duty.kind == "attached":
            found.append(_attached(body, duty))
        else:
            found.append(_pressure_or_load(duty))
    return found


def _pressure_or_load(duty: OldPanDuty) -> Finding:
    name = plain(duty.name)
    carries = "oil under pressure" if duty.kind == "pressure" else "load"
    if duty.moved_to:
        return Finding(
            "BODY-12",
            Verdict.HOLDS,
            f"old pan: {name}",
            f"The old pan's {name} carried {carries}; it was moved to: {plain(duty.moved_to)}.",
            how_sure="As the job says; whether that is strong and tight enough is not judged here.",
            source="job-file",
        )
    return Finding(
        "BODY-12",
        Verdict.FAILS,
        f"old pan: {name}",
        f"The old pan's {name} carries {carries}, and a plain sheet pan cannot.",
        how_sure="As the job says.",
        do=_WAYS_ROUND[duty.kind],
        source="common practice, no source",
        cautions=(
            ("A lost oil passage or a failed hose starves the bearings and sprays hot oil.",)
            if duty.kind == "pressure"
            else ()
        ),
    )


def _attached(body: PanBody, duty: OldPanDuty) -> Finding:
    name = plain(duty.name)
    place = duty.moved_to
    if place is None and duty.name.strip().lower() == "pickup" and body.inputs.pickup is not None:
        place = "the pickup of this job"
    if place:
        return Finding(
            "BODY-13",
            Verdict.HOLDS,
            f"old pan: {name}",
            f"The old pan held the {name}; now: {plain(place)}.",
            how_sure="As the job says.",
            source="job-file",
        )
    return Finding(
        "BODY-13",
        Verdict.CANNOT_SAY,
        f"old pan: {name}",
        f"The old pan held the {name}, and the job does not say what holds it now.",
        how_sure="Nothing is given to judge by.",
        do="say in the job, under what the old pan's duties were moved to, what holds it now",
        source="job-file",
    )
