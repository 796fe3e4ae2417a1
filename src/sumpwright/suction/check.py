"""What the suction stage says: is the pump fed, hot and cold, and what would let it down."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.pickup_line import SuctionJoint
from sumpwright.findings import (
    Assumption,
    Figure,
    Finding,
    Proposal,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.oil.properties import properties_of
from sumpwright.quantities.units import Kelvin, Metre, MetrePerSecond, Pascal
from sumpwright.suction.model import SuctionInputs, SuctionResult, WorkedPoint
from sumpwright.suction.solve import FREQUENCY_DOUBT, STANDING_ON_BAFFLE

FASTEST: MetrePerSecond = 3.0
"""Oil in an engine's pickup tube, hot at top speed; common practice tolerates 2.5 to 3."""

LEAST_CURTAIN = 1.5
"""Way in under the mouth's rim over the tube's area; common practice 1.5 to 2."""

GAP_RANGE: tuple[Metre, Metre] = (0.008, 0.013)
"""Mouth to floor; common practice."""

SCREEN_COLD_LOSS: Pascal = 5_000.0
"""A screen that alone costs more than this cold wants a bypass; common practice."""

FACE_HOT: MetrePerSecond = 0.3
FACE_COLD: MetrePerSecond = 0.05
"""Flow over the screen's whole face, hot and at a cold start; common practice."""

SQUEEZE_RANGE = (0.10, 0.30)
"""Share of an O-ring's thickness that has to be squeezed; common practice."""

NITRILE_HOT: Kelvin = 378.15
"""Nitrile hardens above 100 to 110 degC; common practice."""

PORT_MISS: Metre = 0.001
PRACTICE = "common-practice"

_ELEMENT_WORDS = {
    "entrance": "the mouth costs",
    "screen": "the screen costs",
    "tube": "the straight tube costs",
    "bends": "the bends cost",
    "velocity": "getting the oil moving costs",
    "lift": "raising the oil costs",
}


def check(inputs: SuctionInputs, result: SuctionResult) -> StageReport:
    """Findings, proposals and assumptions of the suction stage."""
    findings: list[Finding] = []
    if result.cannot:
        findings.append(_cannot(result))
    findings.extend(_pressure(point, result) for point in result.points)
    findings.extend(_priming(inputs, result))
    findings.extend(_speeds(inputs, result))
    findings.extend(_mouth(inputs, result))
    findings.extend(_joints(inputs, result))
    findings.extend(_held(inputs, result))
    findings.extend(_return(result))
    return StageReport(tuple(findings), _proposals(result), _assumptions(inputs))


def _cannot(result: SuctionResult) -> Finding:
    return Finding(
        code="SUC-01",
        verdict=Verdict.CANNOT_SAY,
        where="pickup tube",
        says="Whether the pump gets its oil is not known. Not given: "
        + "; ".join(what for what, _ in result.cannot),
        how_sure="Nothing to judge.",
        do="Enter " + " and ".join(_in_the_job(key) for _, key in result.cannot),
        source="derived",
    )


def _in_the_job(key: str) -> str:
    """A key as it is; a whole section as it stands in the job file."""
    return key if "." in key else f"[{key}] in the job file"


def _pa(name: str, value: float) -> Figure:
    return Figure(name, value, "Pa", "pressure")


def _banded(least: float, most: float, limit: float) -> Verdict:
    """Both ends of the formulas' bands decide: holds at the worse, fails at the kinder."""
    if judge_at_least(least, limit, None) is Verdict.HOLDS:
        return Verdict.HOLDS
    if judge_at_least(most, limit, None) is Verdict.FAILS:
        return Verdict.FAILS
    return Verdict.CLOSE


def _pressure(point: WorkedPoint, result: SuctionResult) -> Finding:
    codes = {"hot, top speed": "SUC-02", "hot idle": "SUC-03", "coldest start": "SUC-04"}
    verdict = _banded(point.pressure_least, point.pressure_most, point.limit)
    worst = max((share for share in point.shares if share.element != "lift"), key=lambda share: share.loss)
    figures = (
        _pa("pressure", point.pressure),
        _pa("limit", point.limit),
        _pa("least", point.pressure_least),
        _pa("most", point.pressure_most),
        _pa("most_of", worst.loss),
        Figure("flow", point.flow, "m3/s", "flow"),
        Figure("passes", point.fed_flow, "m3/s", "flow"),
        Figure("temperature", point.temperature, "K", "temperature"),
        Figure("speed", point.speed, "Hz", "engine speed"),
    )
    if point.pressure > 0.0:
        says = (
            f"At {{temperature}} and {{speed}} the pump's inlet is at {{pressure}} absolute, "
            f"{{limit}} wanted; "
            f"{_ELEMENT_WORDS[worst.element]} most: {{most_of}}"
        )
    else:
        says = (
            "At {temperature} and {speed} the line cannot carry the {flow} that the pump asks for: "
            "{passes} pass while the inlet keeps {limit} absolute; "
            f"{_ELEMENT_WORDS[worst.element]} most"
        )
    if verdict is Verdict.HOLDS:
        do = ""
    elif worst.element == "screen":
        do = "Give the screen more face or a coarser mesh, or a bypass notch"
    elif worst.element == "bends":
        do = "Replace mitres and tight bends by bends of one and a half bores or more"
    else:
        do = "Take a wider or shorter tube"
    return Finding(
        code=codes[point.name],
        verdict=verdict,
        where=f"pump inlet, {point.name}",
        says=says,
        figures=figures,
        value=point.pressure,
        limit=point.limit,
        unit="Pa",
        kind="pressure",
        how_sure=("Between {least} and {most}: bends" if point.pressure_least > 0.0 else "Bends")
        + " and mitres on small tube within 30 %, screens "
        "within 50 % "
        "cold. The limit is common practice.",
        do=do,
        source="hooper-1981",
    )


def _priming(inputs: SuctionInputs, result: SuctionResult) -> list[Finding]:
    start = result.priming_at_start
    if inputs.coldest_start is None:
        if not result.points:
            return []
        return [
            Finding(
                code="SUC-05",
                verdict=Verdict.CANNOT_SAY,
                where="pump inlet, first start",
                says="Whether cold oil reaches the pump in time is not known: the coldest start is not given",
                how_sure="Nothing to judge.",
                do="Enter oil.coldest_start",
                source="derived",
            )
        ]
    if start is None:
        return []
    oil = properties_of(inputs.oil)
    fed = result.coldest_fed
    figures = (
        Figure("start", start.temperature, "K", "temperature"),
        Figure("within", inputs.fed_within, "s", "time"),
        Figure("time", start.fill_time if math.isfinite(start.fill_time) else -1.0, "s", "time"),
        Figure("coldest", fed.temperature if fed is not None else 0.0, "K", "temperature", 0),
        Figure(
            "gels",
            oil.pumping_at if oil is not None and oil.pumping_at is not None else 0.0,
            "K",
            "temperature",
        ),
        Figure("freezing", 273.15, "K", "temperature", 0),
    )
    if oil is not None and oil.pumping_at is not None and start.temperature < oil.pumping_at:
        verdict, says = (
            Verdict.CANNOT_SAY,
            (
                "A start at {start} lies below {gels}, where this grade still has to pump: it may "
                "stand like wax"
            ),
        )
        do = "Take a grade for colder starts, or warm the pan"
    else:
        never = not math.isfinite(start.fill_time)
        starves = fed is None or fed.temperature > start.temperature + 0.1
        verdict = (
            Verdict.FAILS if never or starves else judge_at_most(start.fill_time, inputs.fed_within, None)
        )
        reach = "never reaches the pump" if never else "is at the pump after {time}, {within} allowed"
        coldest = "; not even warm oil does in time" if fed is None else "; fed in time down to {coldest}"
        if starves and not never and fed is not None:
            coldest = ", but does not follow fast enough after that; fed properly down to {coldest}"
        says = "At {start} the oil " + reach + coldest
        do = (
            ""
            if verdict is Verdict.HOLDS
            else "Take a wider tube, a larger screen, or oil that is thinner cold"
        )
    doubt = (
        "Below {freezing} the oil's line is stretched, wax and yield stress left out."
        if oil is not None and oil.is_extrapolated(start.temperature)
        else "The pump is taken to pull as far as the cold limit allows, its dry suction is not known."
    )
    return [
        Finding(
            code="SUC-05",
            verdict=verdict,
            where="pump inlet, first start",
            says=says,
            figures=figures,
            value=start.fill_time if math.isfinite(start.fill_time) else None,
            limit=inputs.fed_within,
            unit="s",
            kind="time",
            how_sure=doubt,
            do=do,
            source="derived",
        )
    ]


def _speeds(inputs: SuctionInputs, result: SuctionResult) -> list[Finding]:
    found: list[Finding] = []
    for point in result.points:
        if point.name == "hot, top speed":
            verdict = judge_at_most(point.velocity, FASTEST, None)
            found.append(
                Finding(
                    code="SUC-06",
                    verdict=verdict,
                    where="pickup tube",
                    says="Hot at top speed the oil runs at {velocity} in the tube, up to {limit} is "
                    "tolerated",
                    figures=(
                        Figure("velocity", point.velocity, "m/s", "speed"),
                        Figure("limit", FASTEST, "m/s", "speed"),
                    ),
                    value=point.velocity,
                    limit=FASTEST,
                    unit="m/s",
                    kind="speed",
                    how_sure="Follows from flow and bore; the limit is common practice.",
                    do="" if verdict is Verdict.HOLDS else "Take a wider tube",
                    source=PRACTICE,
                )
            )
        line = inputs.line
        if line is None or line.screen is None or point.name == "hot idle":
            continue
        clear = line.screen.area * (1.0 - line.screen.blocked)
        face = point.flow / clear
        cold = point.name == "coldest start"
        limit = FACE_COLD if cold else FACE_HOT
        lost = next(share for share in point.shares if share.element == "screen")
        verdict = judge_at_most(face, limit, None)
        says = (
            "Over the screen's face the oil comes at {face}, at most {limit} wanted; the screen costs {lost}"
        )
        do = "" if verdict is Verdict.HOLDS else "Give the screen {area} of face"
        if cold and lost.loss > SCREEN_COLD_LOSS and line.screen.bypass_area <= 0.0:
            verdict = Verdict.CLOSE if verdict is Verdict.HOLDS else verdict
            says += ", more than {bypass} wants a bypass"
            do = "Cut a bypass notch into the screen's rim, or give the screen {area} of face"
        found.append(
            Finding(
                code="SUC-08" if cold else "SUC-07",
                verdict=verdict,
                where=f"screen, {point.name}",
                says=says,
                figures=(
                    Figure("face", face, "m/s", "speed"),
                    Figure("limit", limit, "m/s", "speed"),
                    _pa("lost", lost.loss),
                    _pa("bypass", SCREEN_COLD_LOSS),
                    Figure("area", point.flow / limit / max(1.0 - line.screen.blocked, 1e-6), "m2", "area"),
                ),
                value=face,
                limit=limit,
                unit="m/s",
                kind="speed",
                how_sure="Follows from flow and face; the limit is common practice.",
                do=do,
                source=PRACTICE,
            )
        )
    return found


def _mouth(inputs: SuctionInputs, result: SuctionResult) -> list[Finding]:
    found: list[Finding] = []
    line = inputs.line
    if line is None:
        return found
    if result.mouth_gap is None or result.curtain_over_tube is None:
        found.append(
            Finding(
                code="SUC-09",
                verdict=Verdict.CANNOT_SAY,
                where="pickup mouth",
                says="The gap between mouth and floor is not known",
                how_sure="Nothing to judge.",
                do="Enter suction.floor_gap, or put the mouth above a floor",
                source=PRACTICE,
            )
        )
    else:
        verdict = judge_at_least(result.curtain_over_tube, LEAST_CURTAIN, None)
        low, high = GAP_RANGE
        if verdict is Verdict.HOLDS and not (low <= result.mouth_gap <= high and line.has_feet):
            verdict = Verdict.CLOSE
        feet = "" if line.has_feet else "; nothing keeps a dented floor off the mouth"
        found.append(
            Finding(
                code="SUC-09",
                verdict=verdict,
                where="pickup mouth",
                says="The mouth stands {gap} above the floor ({low} to {high} is usual); the way in "
                "round its rim "
                "is {times} times the tube, {least} wanted" + feet,
                figures=(
                    Figure("gap", result.mouth_gap, "m", "length"),
                    Figure("low", low, "m", "length"),
                    Figure("high", high, "m", "length"),
                    Figure("times", result.curtain_over_tube, "1", "ratio"),
                    Figure("least", LEAST_CURTAIN, "1", "ratio"),
                ),
                value=result.curtain_over_tube,
                limit=LEAST_CURTAIN,
                unit="1",
                kind="ratio",
                how_sure="From the mouth's place and the oil-side floor; the figures wanted are "
                "common practice.",
                do=""
                if verdict is Verdict.HOLDS
                else "Move the mouth to the usual gap and put spacer feet under its rim",
                source=PRACTICE,
                place=_point(line.path[0]),
            )
        )
    if result.submergence is not None and result.submergence_wanted is not None:
        deep_enough = min(result.submergence_wanted, inputs.mouth_diameter)
        verdict = judge_at_least(result.submergence, deep_enough, None)
        # The rule was made for water in wide sumps: missing it alone condemns nothing.
        verdict = Verdict.HOLDS if verdict is Verdict.HOLDS else Verdict.CLOSE
        found.append(
            Finding(
                code="SUC-10",
                verdict=verdict,
                where="pickup mouth",
                says="At low mark, running, {over} of oil stand over the mouth; one mouth's width, "
                "{width}, keeps "
                "air from being swirled in (water in a wide sump would want {water})",
                figures=(
                    Figure("over", result.submergence, "m", "length"),
                    Figure("width", inputs.mouth_diameter, "m", "length"),
                    Figure("water", result.submergence_wanted, "m", "length"),
                ),
                value=result.submergence,
                limit=deep_enough,
                unit="m",
                kind="length",
                how_sure="The rule is for water; oil swirls less, by how much is not known.",
                do="" if verdict is Verdict.HOLDS else "Put a flat plate or shroud over the mouth",
                source="hi-9-8",
                place=_point(line.path[0]),
            )
        )
    if result.port_miss is not None:
        verdict = judge_at_most(result.port_miss, PORT_MISS, None)
        found.append(
            Finding(
                code="SUC-11",
                verdict=verdict,
                where="pump port",
                says="The tube ends {miss} from the pump's port, {limit} allowed",
                figures=(
                    Figure("miss", result.port_miss, "m", "length"),
                    Figure("limit", PORT_MISS, "m", "length"),
                ),
                value=result.port_miss,
                limit=PORT_MISS,
                unit="m",
                kind="length",
                how_sure="From the points given; how well they were measured is not known.",
                do=""
                if verdict is Verdict.HOLDS
                else "Correct the last point of suction.path or suction.port",
                source="plane-geometry",
                place=_point(line.port),
            )
        )
    return found


def _joints(inputs: SuctionInputs, result: SuctionResult) -> list[Finding]:
    line = inputs.line
    if line is None:
        return []
    if not line.joints:
        return [
            Finding(
                code="SUC-12",
                verdict=Verdict.CANNOT_SAY,
                where="pickup tube",
                says="No joint of the tube is named, yet it must join the pump somewhere",
                how_sure="Nothing to judge.",
                do="Enter each joint as [[suction.joints]] with its kind and where it sits",
                source=PRACTICE,
            )
        ]
    above = dict(result.joints_above)
    return [_joint(inputs, joint, above.get(joint.name)) for joint in line.joints]


def _joint(inputs: SuctionInputs, joint: SuctionJoint, above: bool | None) -> Finding:
    line = inputs.line
    assert line is not None
    figures: tuple[Figure, ...] = ()
    if (
        joint.kind == "O-ring"
        and joint.squeeze is not None
        and not (SQUEEZE_RANGE[0] <= joint.squeeze <= SQUEEZE_RANGE[1])
    ):
        verdict = Verdict.FAILS
        says = "The O-ring is squeezed by {squeeze} of its thickness; {low} to {high} seals"
        figures = (
            Figure("squeeze", joint.squeeze, "1", "percent"),
            Figure("low", SQUEEZE_RANGE[0], "1", "percent"),
            Figure("high", SQUEEZE_RANGE[1], "1", "percent"),
        )
        do = "Change the groove's depth or the ring"
    elif joint.tested is not None:
        verdict, says = Verdict.HOLDS, f"Proven by a {joint.tested} test of the finished pickup"
        do = ""
    elif above is False:
        verdict = Verdict.CLOSE
        says = "Not tested, but always under oil: a leak here costs suction, it draws no air"
        do = "Test the finished pickup in a bucket before the pan closes"
    else:
        verdict = Verdict.CANNOT_SAY
        says = (
            "Not tested and at times above the oil: a gap here draws air instead of oil"
            if above
            else "Not tested, and whether it stays under oil is not known"
        )
        do = (
            "Close the mouth, blow with low pressure under water and look for bubbles, or pull a "
            "vacuum; then "
            "enter tested for this joint"
        )
    if joint.kind == "O-ring" and inputs.hot > NITRILE_HOT and verdict is Verdict.HOLDS:
        figures = (*figures, Figure("hot", inputs.hot, "K", "temperature"))
        verdict = Verdict.CLOSE
        says += "; at {hot} a nitrile ring hardens in time"
        do = "Take a ring of fluorocarbon rubber and note it on the sheet"
    return Finding(
        code="SUC-12",
        verdict=verdict,
        where=f"suction joint '{joint.name}'",
        says=says,
        figures=figures,
        how_sure="Nothing short of a test shows a joint to be tight.",
        do=do,
        source=PRACTICE,
        place=line.at(joint.along),
        cautions=("compressed-air",) if verdict is Verdict.CANNOT_SAY else (),
    )


def _held(inputs: SuctionInputs, result: SuctionResult) -> list[Finding]:
    line = inputs.line
    if line is None:
        return []
    found: list[Finding] = []
    fixed = set(line.held_at) - set(line.slides_at)
    if {"pump", "pan"} <= fixed:
        found.append(
            Finding(
                code="SUC-13",
                verdict=Verdict.FAILS,
                where="pickup tube",
                says="The tube is fixed to both pump and pan: pan and block move against each other "
                "and crack it",
                how_sure="Block and pan grow and shake differently.",
                do="Let one end slide in an O-ring, or hold the tube on the engine alone",
                source=PRACTICE,
            )
        )
    elif not line.held_at:
        found.append(
            Finding(
                code="SUC-13",
                verdict=Verdict.CANNOT_SAY,
                where="pickup tube",
                says="Where the tube is held is not given",
                how_sure="Nothing to judge.",
                do="Enter suction.held_at",
                source=PRACTICE,
            )
        )
    else:
        found.append(
            Finding(
                code="SUC-13",
                verdict=Verdict.HOLDS,
                where="pickup tube",
                says="The tube is not tied between pump and pan",
                how_sure="As given.",
                source=PRACTICE,
            )
        )
    support = result.support
    if support is None or not support.firing_orders:
        found.append(
            Finding(
                code="SUC-14",
                verdict=Verdict.CANNOT_SAY,
                where="pickup tube",
                says="Whether the tube's own note meets the engine's beat is not known",
                how_sure="Nothing to judge.",
                do="Enter suction.material, suction.end_mass, suction.free_length and suction.cylinders",
                source="beam-theory",
            )
        )
        return found
    low, high = (1.0 - FREQUENCY_DOUBT) * support.frequency, (1.0 + FREQUENCY_DOUBT) * support.frequency
    order, idle, top = support.firing_orders[0]
    met = support.frequency / order
    if idle <= support.frequency <= top:
        verdict = Verdict.FAILS
    elif high < idle or low > top:
        verdict = Verdict.HOLDS
    else:
        verdict = Verdict.CLOSE
    found.append(
        Finding(
            code="SUC-14",
            verdict=verdict,
            where="pickup tube",
            says="The free {free} of tube rings at {own}; the firing beat runs "
            + ("from {idle} " if idle > 0.0 else "up ")
            + "to {top}"
            + (" and meets it at {met}" if verdict is Verdict.FAILS else ""),
            figures=(
                Figure("free", support.free_length, "m", "length"),
                Figure("own", support.frequency, "Hz", "frequency"),
                Figure("idle", idle, "Hz", "frequency"),
                Figure("top", top, "Hz", "frequency"),
                Figure("met", met, "Hz", "engine speed"),
                Figure("low", low, "Hz", "frequency"),
                Figure("high", high, "Hz", "frequency"),
            ),
            value=support.frequency,
            limit=top,
            unit="Hz",
            kind="frequency",
            how_sure="A rigid base is assumed; a real bracket moves it between {low} and {high}.",
            do=""
            if verdict is Verdict.HOLDS
            else "Brace the tube to a main cap or a wall so that less of it is free",
            source="beam-theory",
        )
    )
    return found


def _return(result: SuctionResult) -> list[Finding]:
    """Open area of the roof baffle: all that the pump takes has to come back through it."""
    found = []
    for name, words, back in (
        ("hot, top speed", "Hot at top speed", result.hot_return_flow),
        ("coldest start", "Cold", result.cold_return_flow),
    ):
        point = next((point for point in result.points if point.name == name), None)
        if point is None or back is None:
            continue
        verdict = judge_at_least(back, point.flow, None)
        more = point.flow / back if back > 0.0 else 1.0
        found.append(
            Finding(
                code="SUC-15",
                verdict=verdict,
                where=f"roof baffle, {name}",
                says=f"{words}, the baffle's openings let {{back}} back into the pan with {{deep}} "
                "standing on them; the pump takes {out}",
                figures=(
                    Figure("back", back, "m3/s", "flow"),
                    Figure("out", point.flow, "m3/s", "flow"),
                    Figure("deep", STANDING_ON_BAFFLE, "m", "length"),
                    Figure("more", more, "1", "ratio", 1),
                ),
                value=back,
                limit=point.flow,
                unit="m3/s",
                kind="flow",
                how_sure="Sharp-edged holes, exact where the oil creeps; {deep} of oil standing on the "
                "baffle is common practice, no source. Close holes pass a little less, crank wind can hold "
                "oil up; what a relief valve spills into the pan need not come back.",
                do=""
                if verdict is Verdict.HOLDS
                else "Give the baffle {more} times the open area, or fewer and larger openings",
                source="sampson-dagan",
            )
        )
    return found


def _proposals(result: SuctionResult) -> tuple[Proposal, ...]:
    targets = {
        "tube bore": ("suction.bore", 1e3, "mm"),
        "screen area": ("suction.screen_area", 1e4, "cm2"),
    }
    found = []
    failing = next((p for p in result.points if p.pressure < p.limit), None)
    code = {"hot, top speed": "SUC-02", "hot idle": "SUC-03", "coldest start": "SUC-04"}
    for cure in result.cures:
        if cure.what not in targets or cure.needed is None or failing is None:
            continue
        key, scale, unit = targets[cure.what]
        found.append(
            Proposal(
                code=code[failing.name],
                target=key,
                value=f"{math.ceil(cure.needed * scale * 2.0) / 2.0:g} {unit}",
                effect="Every pressure at the pump's inlet then keeps its limit, the rest unchanged",
            )
        )
    return tuple(found)


def _assumptions(inputs: SuctionInputs) -> tuple[Assumption, ...]:
    taken = []
    if inputs.line is not None and inputs.relief_returns_to is None:
        taken.append(
            Assumption(
                key="suction.relief_returns_to",
                says="The relief valve is taken to spill into the pan, so the tube carries all that "
                "the pump moves",
                source=PRACTICE,
            )
        )
    if inputs.line is not None and inputs.line.screen is None:
        taken.append(
            Assumption(key="suction.screen", says="No screen is given; none is counted", source="job-file")
        )
    return tuple(taken)


def _point(values: object) -> tuple[float, float, float]:
    x, y, z = np.asarray(values, dtype=np.float64).tolist()
    return x, y, z
