"""Verdicts, findings and proposals: what a stage says about the pan.

Numbers stay in base SI here. ``says`` and ``do`` are sentences with named gaps,
``"lowest point is {gap} above the ground, {limit} allowed"``; the outputs fill each
gap from ``figures`` in the user's own units, once, so that the same sentence
stands on screen, on paper and in the results file.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum


class Verdict(StrEnum):
    """Words first. Missing never counts as holding."""

    HOLDS = "holds"
    CLOSE = "close"
    FAILS = "fails"
    CANNOT_SAY = "cannot say"


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a sentence: filled into ``{name}``; ``unit`` is base SI.

    ``kind`` chooses how the outputs write it where the SI unit leaves a choice:
    "length" in mm or inch, "volume" in litre, "angle" in degrees, "count", "ratio",
    "percent", "area", "pressure", "stress", "mass", "temperature", "flow", "acceleration"
    (in g), "time", "force", "torque", "energy", "price", "speed".
    """

    name: str
    value: float
    unit: str
    kind: str
    digits: int | None = None  # decimals in the printed unit; None = the outputs' usual


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a good foreman would say: what and where, number against limit,
    how sure, what to do."""

    code: str  # stable, never reused: "RAIL-03"
    verdict: Verdict
    where: str  # in shop words: "hole h7", "sump floor, rear left corner"
    says: str  # sentence with {gaps}
    figures: tuple[Figure, ...] = ()
    value: float | None = None  # base SI
    limit: float | None = None  # base SI
    unit: str = ""  # base SI unit of value, limit and u95
    kind: str = ""  # as Figure.kind
    u95: float | None = None  # base SI; None = not known, then how_sure says why
    how_sure: str = ""  # sentence with {gaps}
    do: str = ""  # sentence with {gaps}; empty only where nothing is to be done
    source: str = ""  # id in tables/sources.toml, or "common practice, no source"
    place: tuple[float, float, float] | None = None  # engine frame, m
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change to an input, with its expected effect. Only ``flow`` applies one."""

    code: str  # of the finding it would cure
    target: str  # job-file key: "lumps.sump.depth"
    value: str  # as the fabricator would write it, in SI-derived metric text: "126 mm"
    effect: str  # sentence with {gaps}
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class Assumption:
    """A default that was taken because the job does not say. Shown on the sheet."""

    key: str  # job-file key that would replace it
    says: str  # sentence with {gaps}
    figures: tuple[Figure, ...] = ()
    source: str = "common practice, no source"


@dataclass(frozen=True, slots=True)
class StageReport:
    """What the check of one stage hands to flow."""

    findings: tuple[Finding, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    assumptions: tuple[Assumption, ...] = field(default=())
