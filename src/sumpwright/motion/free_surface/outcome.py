"""The free-surface check of a job: which manoeuvres were run, and both models' figures of each."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.findings import Verdict
from sumpwright.geometry import Surface
from sumpwright.motion.chambers import carried_up_surface
from sumpwright.motion.drive_check import verdict_of
from sumpwright.motion.driven_model import Chambers, DrivenOil, PumpDemand
from sumpwright.motion.drives import Driving
from sumpwright.motion.free_surface.compare import SideBySide
from sumpwright.motion.free_surface.model import FreeSurfaceInputs, FreeSurfaceRun
from sumpwright.quantities.units import Metre, Second

WORST = 3
"""So many manoeuvres are run where the job names none."""


@dataclass(frozen=True, slots=True, eq=False)
class FreeSurfaceCase:
    """One manoeuvre in both models."""

    name: str
    words: str
    allowed: Second
    quick_verdict: Verdict  # of the compartment model
    run: FreeSurfaceRun
    beside: SideBySide
    replay: str  # name of its replay file


@dataclass(frozen=True, slots=True, eq=False)
class FreeSurfaceResult:
    """Everything that was run; what could not be, with the reason."""

    cell: Metre
    is_one_compartment: bool
    cases: tuple[FreeSurfaceCase, ...] = ()
    trouble: tuple[tuple[str, str], ...] = ()  # (manoeuvre, why it could not be run)
    not_run: tuple[str, ...] = ()  # asked, and not run yet


def chosen(runs: tuple[Driving, ...], named: tuple[str, ...] = ()) -> tuple[Driving, ...]:
    """The manoeuvres to run: the named ones, or the worst three of the compartment model, worst first."""
    if named:
        return tuple(run for run in runs if run.trace.name in named)
    order = sorted(runs, key=lambda run: (-run.uncovered_most, run.least_cover))
    return tuple(order[:WORST])


def inputs_of(
    whole: Surface, pan: Chambers, driving: Driving, oil: DrivenOil, pump: PumpDemand, cell: Metre
) -> FreeSurfaceInputs:
    """The same pan, trace, oil and pump as the compartments were driven with; walls carried up alike."""
    return FreeSurfaceInputs(
        carried_up_surface(whole), pan, driving.trace, oil, pump, cell, turning=driving.trace.turn_rate
    )


def case_of(driving: Driving, run: FreeSurfaceRun, side: SideBySide, replay: str) -> FreeSurfaceCase:
    """One manoeuvre with what both models say."""
    trace = driving.trace
    return FreeSurfaceCase(trace.name, trace.words, trace.asked_for, verdict_of(driving), run, side, replay)
