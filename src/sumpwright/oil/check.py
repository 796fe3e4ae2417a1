"""What the oil stage says: does it hold the fill, is the dipstick true, is the mouth covered."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import (
    Assumption,
    Figure,
    StageReport,
)
from sumpwright.oil.check_drain import MOST_LEFT, left_in_pockets
from sumpwright.oil.check_fittings import LEFT_SHARE, fitting_findings
from sumpwright.oil.check_heights import crank_clear, mouth_at_low_mark, ports_clear
from sumpwright.oil.check_old_pan import against_old_pan, old_pan_assumptions
from sumpwright.oil.check_stick import marks, slope_reading, stick_end
from sumpwright.oil.check_volume import balance, fill_that_fits, holds_the_fill, hot_below_rail, oil_itself
from sumpwright.oil.deeper import depth_that_fits
from sumpwright.oil.figures import litres
from sumpwright.oil.model import OilInputs, OilResult
from sumpwright.oil.properties import HOT, POURED, USUAL_DENSITY_15


def check(inputs: OilInputs, body: PanBody, result: OilResult) -> StageReport:
    """Findings of the oil stage, in the order of the work."""
    findings = [
        holds_the_fill(inputs, body, result),
        hot_below_rail(inputs, body, result),
        *balance(inputs, result),
        *against_old_pan(inputs, result),
        *marks(inputs, body, result),
        *stick_end(body, result),
        mouth_at_low_mark(inputs, body, result),
        left_in_pockets(inputs, result),
        *fitting_findings(inputs, body, result),
        *crank_clear(inputs, result),
        *ports_clear(inputs, result),
        *slope_reading(inputs, result),
        *oil_itself(inputs),
    ]
    return StageReport(
        findings=tuple(findings),
        proposals=(*fill_that_fits(inputs, result), *depth_that_fits(inputs, body, result)),
        assumptions=(*_assumptions(inputs, result), *old_pan_assumptions(inputs, result)),
    )


def _assumptions(inputs: OilInputs, result: OilResult) -> list[Assumption]:
    taken = []
    if result.hold_up is not None and result.hold_up.basis == "band":
        taken.append(
            Assumption(
                key="oil.hold_up",
                says="Of the fill, {least} to {most} are up in the running engine (10 to 25 %)",
                figures=(
                    litres("least", result.hold_up.hold_up_least),
                    litres("most", result.hold_up.hold_up_most),
                ),
            )
        )
    trapped = result.trapped
    if trapped is not None and trapped.basis == "taken as none" and inputs.fill is not None:
        taken.append(
            Assumption(key="oil.trapped", says="All oil drains back at this attitude, none stays trapped")
        )
    if trapped is not None and trapped.basis == "band":
        taken.append(
            Assumption(
                key="oil.trapped",
                says="The engine is laid over: up to {most} of the fill may stay behind its drain-backs. The "
                "marks count none of it, the pickup's cover all of it; measure it at this attitude",
                figures=(litres("most", trapped.trapped_most),),
            )
        )
    if inputs.fill is not None and inputs.oil.density_15 is None:
        taken.append(
            Assumption(
                key="oil.density",
                says="The oil weighs {density} at {base}",
                figures=(
                    Figure("density", USUAL_DENSITY_15, "kg/m3", "density"),
                    Figure("base", POURED, "K", "temperature"),
                ),
                source="from-memory",
            )
        )
    if inputs.most_left is None and result.drained:
        taken.append(
            Assumption(
                key="drain.most_left",
                says="Up to {most} may stay in pockets after draining",
                figures=(litres("most", MOST_LEFT),),
            )
        )
    if inputs.most_left is None and inputs.fill is not None and result.extractions:
        taken.append(
            Assumption(
                key="drain.most_left",
                says="Up to {most} of the fill may stay behind an extraction tube",
                figures=(Figure("most", LEFT_SHARE, "1", "percent", 0),),
            )
        )
    if inputs.fill is not None and inputs.read_at is None:
        taken.append(
            Assumption(key="oil.read_at", says="The dipstick is read as cold as the oil was poured in")
        )
    if inputs.fill is not None and inputs.hot is None:
        taken.append(
            Assumption(
                key="oil.hot",
                says="Hot oil in the pan has {hot}",
                figures=(Figure("hot", HOT, "K", "temperature"),),
            )
        )
    if inputs.fill is not None and inputs.poured_at is None:
        taken.append(
            Assumption(
                key="oil.poured_at",
                says="The litres are counted at {poured}",
                figures=(Figure("poured", POURED, "K", "temperature"),),
            )
        )
    return taken
