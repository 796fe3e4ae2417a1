"""What there is to say of the leak test and of what was written down."""

from __future__ import annotations

from sumpwright.findings import Figure, Finding, StageReport, Verdict, judge_at_most
from sumpwright.kit import SheetKit
from sumpwright.proof.built_check import built_findings
from sumpwright.proof.model import PanelStrength, ProofInputs, ProofResult, TestGear
from sumpwright.proof.solve import CEILING, LEAST_TEST
from sumpwright.quantities.units import CubicMetrePerSecond, Pascal

WEEP: CubicMetrePerSecond = 0.05e-6
"""Standard air through a hole that weeps about half a millilitre of hot oil a day."""

_BOUNDS = (
    "A welded edge lies between one that turns freely and one that does not; the worse of the two"
    " counts. The metal's strength is the lowest of its published range."
)


def check(inputs: ProofInputs, kit: SheetKit, result: ProofResult) -> StageReport:
    """Findings on pressure and gear, and on the readings where there are any."""
    findings: list[Finding] = [*_not_known(result)]
    if result.panels and result.test_pressure is not None:
        findings += [
            _metal(inputs, result, result.panels[0]),
            *_bulging(result, result.test_pressure),
            _ceiling(inputs, result),
        ]
        if result.test_pressure < LEAST_TEST:
            findings.append(_too_low(result, result.test_pressure))
    if result.gear is not None:
        findings += _gear(result.gear)
    if result.detectable is not None and result.warming_fakes is not None:
        findings.append(_decay_is_a_screen(inputs, result.detectable, result.warming_fakes))
    findings += built_findings(inputs, result)
    return StageReport(findings=tuple(findings))


def _kpa(name: str, value: Pascal, digits: int | None = 1) -> Figure:
    return Figure(name, value, "Pa", "pressure", digits)


def _mpa(name: str, value: Pascal) -> Figure:
    return Figure(name, value, "Pa", "stress")


def _not_known(result: ProofResult) -> list[Finding]:
    return [
        Finding(
            code="PROOF-09",
            verdict=Verdict.CANNOT_SAY,
            where=panel,
            says=f"What air pressure it bears is not known: {why}",
            how_sure="Nothing was worked out for it.",
            do="Test with dye or paraffin, or name a metal that the tables know",
            source="derived",
        )
        for panel, why in result.not_computed
    ]


def _metal(inputs: ProofInputs, result: ProofResult, weakest: PanelStrength) -> Finding:
    """The asked pressure against the weakest panel's metal."""
    used = inputs.asked_pressure if inputs.pressure_is_given else result.test_pressure
    assert used is not None
    share = used / inputs.asked_pressure
    verdict = judge_at_most(used, weakest.metal_limit, None)
    lowered = not inputs.pressure_is_given and used < inputs.asked_pressure
    says = (
        "At a test pressure of {test} the weld round this panel works at {stress}; half of what the metal"
        " bears there is reached at {limit}"
    )
    if lowered:
        says += ", which is why the test is set lower than the usual {usual}"
    do = "Set proof.pressure to {safe} or less" if verdict is Verdict.FAILS else ""
    return Finding(
        code="PROOF-01",
        verdict=verdict,
        where=weakest.panel,
        says=says,
        figures=(
            _kpa("test", used),
            _mpa("stress", weakest.stress_at_weld * share),
            _kpa("limit", weakest.metal_limit),
            _kpa("usual", inputs.asked_pressure),
            _kpa("safe", result.test_pressure or 0.0),
        ),
        value=used,
        limit=weakest.metal_limit,
        unit="Pa",
        kind="pressure",
        how_sure=_BOUNDS,
        do=do,
        source="timoshenko-plates",
        place=weakest.place,
        cautions=("compressed-air",),
    )


def _bulging(result: ProofResult, test: Pascal) -> list[Finding]:
    """Panels whose bulge passes half their thickness: the formula's end, not the metal's."""
    beyond = [panel for panel in result.panels if panel.formula_limit < test]
    if not beyond:
        least = min(result.panels, key=lambda panel: panel.formula_limit)
        return [
            Finding(
                code="PROOF-02",
                verdict=Verdict.HOLDS,
                where=least.panel,
                says="Every panel bulges less than half its thickness at {test}, so the formula for thin"
                " plates holds; this one would come to that at {limit}",
                figures=(_kpa("test", test), _kpa("limit", least.formula_limit)),
                value=test,
                limit=least.formula_limit,
                unit="Pa",
                kind="pressure",
                how_sure="With edges that turn freely, the kindest they can be.",
                source="timoshenko-plates",
                place=least.place,
            )
        ]
    return [_stretched(panel, test, result.asked_pressure) for panel in beyond]


def _stretched(panel: PanelStrength, test: Pascal, asked: Pascal) -> Finding:
    """One panel beyond half its thickness: what bending and skin together say of it."""
    stretch = panel.stretch
    if stretch is None:
        return Finding(
            code="PROOF-02",
            verdict=Verdict.CANNOT_SAY,
            where=panel.panel,
            says="At {test} this panel bulges far more than half its thickness ({least} to {most} by the"
            " formula for thin plates, which ends at {limit}), too far to be worked out",
            figures=(
                _kpa("test", test),
                Figure("least", panel.bulge_clamped * test / asked, "m", "length", 2),
                Figure("most", panel.bulge_supported * test / asked, "m", "length", 2),
                _kpa("limit", panel.formula_limit),
            ),
            value=test,
            limit=panel.formula_limit,
            unit="Pa",
            kind="pressure",
            how_sure="Beyond half the thickness the sheet also pulls like a skin, which the formula leaves"
            " out: the true bulge is smaller.",
            do="Support this panel from outside with a padded batten across its middle while it is under"
            " air, or test at {limit} or less, or use dye",
            source="timoshenko-plates",
            place=panel.place,
            cautions=("compressed-air",),
        )
    verdict = judge_at_most(test, stretch.metal_limit, None)
    return Finding(
        code="PROOF-02",
        verdict=verdict,
        where=panel.panel,
        says="At {at} this panel bulges {least} to {most}, more than half its thickness, and pulls like a"
        " skin as well as it bends; half of what its metal bears is reached at {limit}, and the test is"
        " made at {test}",
        figures=(
            _kpa("at", stretch.pressure),
            Figure("least", stretch.bulge_least, "m", "length", 2),
            Figure("most", stretch.bulge_most, "m", "length", 2),
            _kpa("limit", stretch.metal_limit),
            _kpa("test", test),
        ),
        value=test,
        limit=stretch.metal_limit,
        unit="Pa",
        kind="pressure",
        how_sure="Bending and skin worked out together, for edges that turn or not and draw in or not: the"
        " worst of the four counts. It bulges visibly and springs back.",
        do="Support this panel from outside with a padded batten across its middle while it is under air,"
        " or test at {limit} or less, or use dye"
        if verdict is not Verdict.HOLDS
        else "",
        source="von-karman-plates",
        place=panel.place,
    )


def _ceiling(inputs: ProofInputs, result: ProofResult) -> Finding:
    return Finding(
        code="PROOF-03",
        verdict=judge_at_most(inputs.asked_pressure, CEILING, None),
        where="leak test",
        says="The test is asked for at {asked}; air in a sheet pan stays below {ceiling} whatever its metal"
        " bears. At {test} the closed pan stores {energy} by the code, of which {free} can throw something",
        figures=(
            _kpa("asked", inputs.asked_pressure),
            _kpa("ceiling", CEILING, 0),
            _kpa("test", result.test_pressure or 0.0),
            Figure("energy", result.energy or 0.0, "J", "energy", 0),
            Figure("free", result.energy_free or 0.0, "J", "energy", 1),
        ),
        value=inputs.asked_pressure,
        limit=CEILING,
        unit="Pa",
        kind="pressure",
        how_sure="A rule, not a measurement. A shop's air line stores a hundred times as much: hence"
        " regulator"
        " and relief valve.",
        do="Set proof.pressure to {ceiling} or less" if inputs.asked_pressure > CEILING else "",
        source="asme-pcc-2",
        cautions=("compressed-air",),
    )


def _too_low(result: ProofResult, test: Pascal) -> Finding:
    return Finding(
        code="PROOF-04",
        verdict=Verdict.CANNOT_SAY,
        where="leak test",
        says="Its metal lets this pan be tested with {test} of air only; below {least} bubbles and gauge say"
        " too little",
        figures=(_kpa("test", test, 2), _kpa("least", LEAST_TEST)),
        value=test,
        limit=LEAST_TEST,
        unit="Pa",
        kind="pressure",
        how_sure=_BOUNDS,
        do="Test with dye or paraffin, or support the weak panels from outside",
        source="common-practice",
    )


def _gear(gear: TestGear) -> list[Finding]:
    found = [
        Finding(
            code="PROOF-05",
            verdict=judge_at_most(gear.plate_stress, gear.plate_stress_limit, None),
            where="blanking plate",
            says="A plate of {thick} bulges {bulge} under the test and works at {stress}; half its yield"
            " strength is {limit}. It pushes off with {thrust}, {share} on the most loaded bolt",
            figures=(
                Figure("thick", gear.plate_thickness, "m", "length"),
                Figure("bulge", gear.plate_bulge, "m", "length", 2),
                _mpa("stress", gear.plate_stress),
                _mpa("limit", gear.plate_stress_limit),
                Figure("thrust", gear.thrust, "N", "force", 0),
                Figure("share", gear.bolt_share, "N", "force", 0),
            ),
            value=gear.plate_stress,
            limit=gear.plate_stress_limit,
            unit="Pa",
            kind="stress",
            how_sure="Counted as turning freely over its bolts, the worst it can do.",
            do="Use a thicker plate, or a bar across its middle"
            if gear.plate_stress > gear.plate_stress_limit
            else "",
            source="timoshenko-plates",
        ),
        Finding(
            code="PROOF-06",
            verdict=judge_at_most(gear.lift, gear.lift_limit, None),
            where="blanking plate",
            says="Between the two bolts furthest apart ({pitch}) the plate lifts {lift} off its gasket;"
            " {limit} usually seals",
            figures=(
                Figure("pitch", gear.widest_pitch, "m", "length", 0),
                Figure("lift", gear.lift, "m", "length", 3),
                Figure("limit", gear.lift_limit, "m", "length", 3),
            ),
            value=gear.lift,
            limit=gear.lift_limit,
            unit="m",
            kind="length",
            how_sure="The land counted as a bar over its bolts; the plate beside it helps.",
            do="Put a clamp over the edge half way between them" if gear.lift > gear.lift_limit else "",
            source="common-practice",
        ),
    ]
    found += [
        Finding(
            code="PROOF-07",
            verdict=Verdict.CLOSE,
            where=land,
            says="A flat plate does not close this land",
            how_sure="It is an arch or a step of the rail.",
            do="Cut a filler block to the land's own shape from the 1:1 template and bed it in the same"
            " sealant as the gasket",
            source="derived",
        )
        for land in gear.curved_lands
    ]
    return found


def _decay_is_a_screen(inputs: ProofInputs, detectable: CubicMetrePerSecond, warming: Pascal) -> Finding:
    """Whether gauge and time could show a weeping hole at all."""
    verdict = Verdict.HOLDS if detectable <= WEEP else Verdict.CLOSE
    return Finding(
        code="PROOF-08",
        verdict=verdict,
        where="leak test",
        says="Watching the gauge for {time} shows a leak of {seen} or more; a hole that weeps half a"
        " millilitre"
        " of hot oil a day passes {weep}. One degree Celsius of warming alone moves the gauge by {warm}",
        figures=(
            Figure("time", inputs.hold_time, "s", "time", 0),
            Figure("seen", detectable, "m3/s", "air lost", 1),
            Figure("weep", WEEP, "m3/s", "air lost", 1),
            _kpa("warm", warming, 2),
        ),
        value=detectable,
        limit=WEEP,
        unit="m3/s",
        kind="air lost",
        how_sure="From how finely gauge and thermometer can be read; a thin pan also breathes.",
        do="Use the gauge as a screen only, and pass the pan on zero growing bubbles"
        if detectable > WEEP
        else "",
        source="gas-law",
    )
