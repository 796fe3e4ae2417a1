"""Findings on level sensors and extraction tubes."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import Finding, Verdict, judge_at_least, judge_at_most
from sumpwright.oil.check_heights import LEAST_MOUTH_COVER
from sumpwright.oil.figures import length, litres
from sumpwright.oil.model import Extraction, OilInputs, OilResult, SensorReach
from sumpwright.quantities.units import CubicMetre

LEFT_SHARE = 0.05
"""Of the fill, that may stay behind an extraction tube where the job says nothing: common practice."""
RIM_SHARE = 0.25
"""A round end this share of its width off the floor is as open round its rim as across."""


def fitting_findings(inputs: OilInputs, body: PanBody, result: OilResult) -> list[Finding]:
    """Everything of sensors and extraction tubes."""
    found: list[Finding] = []
    known = {one.name: one for one in result.sensors}
    for fitting in body.inputs.fittings:
        if fitting.kind == "sensor":
            sensor = known.get(fitting.name)
            found += [_unknown(fitting.name)] if sensor is None else _sensor(sensor)
    for tube in result.extractions:
        found += _extraction(inputs, tube)
    return found


def _plain(name: str) -> str:
    return name.replace("{", "(").replace("}", ")")


def _unknown(name: str) -> Finding:
    return Finding(
        code="OIL-13",
        verdict=Verdict.CANNOT_SAY,
        where=_plain(name),
        says=f"At how much oil the {_plain(name)} switches is not known",
        how_sure="Nothing to judge.",
        do="Enter the point where it switches: the last of inside of this fitting",
        source="job-file",
    )


def _sensor(sensor: SensorReach) -> list[Finding]:
    name = _plain(sensor.name)
    found = []
    sure = "Level and at rest, the switching point as given; foam and the swing of a float are left out."
    if sensor.under_low is None:
        found.append(
            Finding(
                code="OIL-13",
                verdict=Verdict.CANNOT_SAY,
                where=name,
                says=f"The {name} switches with {{switch}} in the pan; whether that is below the low mark is "
                "not known",
                figures=(litres("switch", sensor.switches_at),),
                how_sure="Nothing to judge by.",
                do="Enter oil.fill and oil.between_marks",
                source="plane-geometry",
                place=sensor.place,
            )
        )
    else:
        verdict = judge_at_least(sensor.under_low, 0.0, None)
        says = (
            f"Engine stopped, the {name} goes dry with {{switch}} in the pan, {{under}} under the low mark"
            if sensor.under_low >= 0.0
            else f"Engine stopped, the {name} goes dry with {{switch}} in the pan, {{above}} above the low "
            "mark"
        )
        running = sensor.under_low_running
        if running is not None:
            says += (
                "; running at the low mark it is still wet"
                if running >= 0.0
                else "; running it is dry already with {early} more than the low mark in the pan when stopped"
            )
        found.append(
            Finding(
                code="OIL-13",
                verdict=verdict,
                where=name,
                says=says,
                figures=(
                    litres("switch", sensor.switches_at),
                    litres("under", sensor.under_low),
                    litres("above", -sensor.under_low),
                    litres("early", -(running or 0.0)),
                ),
                value=sensor.under_low,
                limit=0.0,
                unit="m3",
                kind="volume",
                how_sure=sure,
                do="" if verdict is Verdict.HOLDS else "Set it lower: it calls for oil that is not missing",
                source="plane-geometry",
                place=sensor.place,
            )
        )
    if sensor.over_mouth is not None:
        verdict = judge_at_least(sensor.over_mouth, LEAST_MOUTH_COVER, None)
        found.append(
            Finding(
                code="OIL-14",
                verdict=verdict,
                where=name,
                says=f"When the {name} goes dry, {{cover}} of oil still stand over the pickup's mouth; "
                "{limit} are the least"
                if sensor.over_mouth >= 0.0
                else f"When the {name} goes dry, the pickup's mouth has stood in air for {{above}}: it warns "
                "too late",
                figures=(
                    length("cover", sensor.over_mouth, 0),
                    length("above", -sensor.over_mouth, 0),
                    length("limit", LEAST_MOUTH_COVER, 0),
                ),
                value=sensor.over_mouth,
                limit=LEAST_MOUTH_COVER,
                unit="m",
                kind="length",
                how_sure=sure,
                do="" if verdict is Verdict.HOLDS else "Set it higher, still under the low mark",
                source="common-practice",
                place=sensor.place,
            )
        )
    return found


def _extraction(inputs: OilInputs, tube: Extraction) -> list[Finding]:
    name = _plain(tube.name)
    if tube.left_behind is None:
        return [
            Finding(
                code="OIL-15",
                verdict=Verdict.FAILS,
                where=name,
                says=f"The inner end of the {name} lies outside the oil space: it sucks nothing",
                how_sure="Follows from its line and the oil-side faces.",
                do="Correct inside of this fitting: its last point is the open end",
                source="plane-geometry",
                place=tube.end,
            )
        ]
    limit = _limit(inputs)
    sure = "Exact for the oil-side faces, the vehicle level, the oil at rest; the film on them is left out."
    figures = [litres("left", tube.left_behind)]
    says = f"Sucked out through the {name}, the vehicle level, {{left}} stay in the pan"
    verdict, do = Verdict.CANNOT_SAY, "Enter drain.most_left or oil.fill"
    if limit is not None:
        figures.append(litres("limit", limit))
        says += "; {limit} may stay"
        verdict = judge_at_most(tube.left_behind, limit, None)
        do = "" if verdict is Verdict.HOLDS else _cure(tube)
    if tube.pools:
        figures += [litres("worst", tube.pools[0].pool_volume), length("deep", tube.pools[0].pool_depth, 1)]
        says += f", {{worst}} of it on the {_plain(tube.pools[0].face)}, {{deep}} deep"
    found = [
        Finding(
            code="OIL-15",
            verdict=verdict,
            where=name,
            says=says,
            figures=tuple(figures),
            value=tube.left_behind,
            limit=limit,
            unit="m3",
            kind="volume",
            how_sure=sure,
            do=do,
            source="common-practice",
            place=tube.pools[0].deepest if tube.pools else tube.end,
        )
    ]
    if tube.off_floor is not None:
        least = RIM_SHARE * tube.across
        verdict = judge_at_least(tube.off_floor, least, None)
        found.append(
            Finding(
                code="OIL-16",
                verdict=verdict,
                where=name,
                says=f"The open end of the {name} is {{off}} above the floor; at {{least}} its rim is as "
                "open as its bore",
                figures=(length("off", tube.off_floor, 1), length("least", least, 1)),
                value=tube.off_floor,
                limit=least,
                unit="m",
                kind="length",
                how_sure="For an end cut off square; its outside diameter taken for the bore.",
                do="" if verdict is Verdict.HOLDS else "End it higher, or cut its end off slanting",
                source="plane-geometry",
                place=tube.end,
            )
        )
    return found


def _limit(inputs: OilInputs) -> CubicMetre | None:
    if inputs.most_left is not None:
        return inputs.most_left
    return None if inputs.fill is None else LEFT_SHARE * inputs.fill


def _cure(tube: Extraction) -> str:
    worst = tube.pools[0]
    if worst.at_plug:
        return f"End the tube lower, at the deepest point of the {_plain(worst.face)}"
    if worst.wall:
        return f"Cut a drain slot through wall '{_plain(worst.wall)}'"
    return f"End the tube at the deepest point of the {_plain(worst.face)}, or let that floor fall towards it"
