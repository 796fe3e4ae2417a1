"""The staged leak test and the install card, in words, each caution at its step."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.outputs.cautions import caution
from sumpwright.outputs.words import UnitSystem, write_value
from sumpwright.proof.model import ProofInputs, ProofResult


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step, and what can hurt at it."""

    words: str
    caution: str = ""


def _kpa(value: float, units: UnitSystem) -> str:
    return write_value(value, "Pa", "pressure", units, 1)


def test_steps(units: UnitSystem, proof: ProofResult, inputs: ProofInputs | None) -> tuple[WorkStep, ...]:
    """The leak test from the bench to the verdict."""
    test, relief = proof.test_pressure or 0.0, proof.relief_pressure or 0.0
    hold = 300.0 if inputs is None else inputs.hold_time
    soft = [panel.panel for panel in proof.panels if panel.formula_limit < test and panel.gives_way]
    prop = f" Pad and prop from outside: {', '.join(soft)}." if soft else ""
    return (
        WorkStep(
            "Pan clean, dry and cold. Every weld brushed; no paint, no sealant on any seam.",
            "Solvent left inside burns or poisons when it is warmed: let it dry out completely.",
        ),
        WorkStep(
            "Gasket and blanking plate on, all clamp bolts crosswise in two rounds; every plug in, tied back."
            + prop
        ),
        WorkStep(
            "Regulator (full scale at most 35 kPa / 5 psi) shut, relief valve set to"
            f" {_kpa(relief, units)} and"
            " tried by hand on its own first: it has to pass everything that the regulator lets through.",
            caution("compressed-air"),
        ),
        WorkStep(
            f"Fill slowly to a quarter of {_kpa(test, units)}, listen a minute; then half; then all. At"
            f" each stop"
            " look from the side, not from in front of a plug or the plate.",
            "Eye protection. Stand clear of plate and plugs: the plate pushes with"
            f" {write_value(0.0 if proof.gear is None else proof.gear.thrust, 'N', 'force', units, 0)}.",
        ),
        WorkStep(
            f"Hold {_kpa(test, units)} with the regulator on until the gauge stands still: a thin pan"
            f" breathes."
        ),
        WorkStep(
            "Soap on every oil-tight seam, plug boss and repaired place; watch each for a minute in good"
            " light."
            " Mark what grows. Passed is: not one bubble that grows, anywhere.",
        ),
        WorkStep(
            f"Screen only: shut the air in, write down gauge, air temperature and barometer, and again after"
            f" {hold / 60:.0f} min. One degree Celsius alone moves the gauge by"
            f" {write_value(proof.warming_fakes or 0.0, 'Pa', 'pressure', units, 2)}.",
        ),
        WorkStep(
            "Let the air out by the valve, see the gauge at nothing, then loosen plate and plugs.",
            "Never loosen a bolt or plug under pressure, and never weld on a closed pan.",
        ),
        WorkStep("Repair, dry, and begin again at the first step for the seams concerned."),
    )


def install_steps(units: UnitSystem, inputs: ProofInputs | None, threads: str) -> tuple[WorkStep, ...]:
    """Fitting the pan and the first start."""
    sealant = "the sealant" if inputs is None or not inputs.sealant else inputs.sealant
    cure = "the time on its data sheet"
    if inputs is not None and inputs.cure is not None:
        cure = f"{inputs.cure / 3600.0:.0f} h"
    if inputs is not None and inputs.torque is not None:
        torque = f"to {write_value(inputs.torque, 'N m', 'torque', units, 1)}, the engine maker's value"
    else:
        torque = (
            "to the engine maker's value: ______ (without one: M6 8 to 10 N m on a stiff flange with liquid"
            " sealant, 5 to 8 N m with cork or rubber; common practice)"
        )
    is_dry = inputs is not None and inputs.sealing == "gasket"
    open_time = "" if is_dry else " within the sealant's open time"
    order = "from the middle outward, crosswise, in two rounds"
    if inputs is not None and inputs.bolt_order:
        order = inputs.bolt_order
    return (
        WorkStep(
            "Engine or vehicle on rated stands and blocks. Try the pan on dry: it lies down everywhere, every"
            " bolt starts by hand, crank turned twice by hand without a touch.",
            caution("under the engine"),
        ),
        WorkStep(
            "Both faces bare, dry and free of oil; swarf out of every corner, tube and screen of the pan."
        ),
        _sealing(inputs, sealant),
        WorkStep(f"Pan on{open_time}. Bolts {threads}{order}, {torque}."),
        *(() if is_dry else (WorkStep(f"Leave it alone for {cure} before oil or pressure."),)),
        WorkStep(
            "Drain plug tight with a new washer, and secured. Fill with the measured oil; read the stick."
        ),
        WorkStep(
            "Fuel and ignition off: crank in bursts of 10 s with rests until the gauge shows oil pressure.",
            "No pressure after six bursts: stop, and find out why before the engine ever fires.",
        ),
        WorkStep(
            "Start, gauge in view. No pressure within about 10 s: stop at once. Idle only; look under it"
            " for leaks"
            " with a lamp.",
            "Raised vehicle on stands, nobody under it while it starts; hot oil and turning parts hurt. "
            + caution("fitting"),
        ),
        WorkStep("Warm, stop, wait five minutes on level ground, set the level to the mark."),
        WorkStep(
            "After 30 minutes of running: look for leaks again, bolts once more if the sealant's sheet"
            " allows it,"
            " filter off and cut open: swarf, sealant or weld beads in it say stop.",
            caution("hot oil"),
        ),
        WorkStep(
            "Log pressure against speed, oil temperature and g on the first drives; keep the log's file."
        ),
    )


def _sealing(inputs: ProofInputs | None, sealant: str) -> WorkStep:
    """What lies between pan and engine."""
    joints = "at every joint of three parts (front cover, rear cap, arched ends)"
    if inputs is not None and inputs.sealing == "gasket":
        return WorkStep(
            "New gasket, dry on both faces unless its maker says otherwise; a dab of"
            f" {sealant} only {joints}."
        )
    return WorkStep(
        f"A bead of {sealant}, inside of the bolt holes and round each; a dab {joints}. Not more: what"
        " squeezes inward ends in the pickup's screen."
    )
