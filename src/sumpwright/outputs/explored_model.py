"""What an exploration hands to the outputs: the few worth a look, beside the job as it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.outputs.words import UnitSystem


@dataclass(frozen=True, slots=True)
class AnswerColumn:
    """One answer that counts; limits in base SI, a price in money."""

    name: str
    kind: str  # as Figure.kind
    unit: str  # base SI, or the currency
    want: Literal["more", "less", "only the limit"]
    at_least: float | None = None
    at_most: float | None = None
    is_hard: bool = True


@dataclass(frozen=True, slots=True)
class VariantRow:
    """One variant with its answers in the order of the columns."""

    number: int | None  # in the order of the plan; None = the job as it stands
    says: tuple[str, ...]  # the value of each thing that varies
    values: tuple[float | None, ...]  # None = could not be said
    gives_up: tuple[float | None, ...] = ()  # against the best in it; 0 = the best; None = not compared
    misses: tuple[float | None, ...] = ()  # by how much a limit is missed; None = kept or none
    is_checked: bool = False  # in full, as by 'check'
    worse: tuple[str, ...] = ()  # what fails or cannot be said that was not so before
    better: tuple[str, ...] = ()  # what is cured against the job as it stands


@dataclass(frozen=True, slots=True)
class ShareRow:
    """How much of one answer's spread each thing that varies causes; shares of the variance."""

    answer: str
    alone: tuple[float, ...]
    in_all: tuple[float, ...]  # with all that it does together with others
    low: tuple[float, ...]  # 95 of 100
    high: tuple[float, ...]
    rounds: int
    lost: int
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class ExploredSheet:
    """Everything that is shown of an exploration."""

    job_name: str
    plan_name: str  # of its file
    way: Literal["grid", "spread", "search", "matters"]
    units: UnitSystem
    paper: str
    version: str
    axes: tuple[str, ...]
    columns: tuple[AnswerColumn, ...]
    as_it_stands: VariantRow | None
    rows: tuple[VariantRow, ...]  # the unbeaten worth a look
    unbeaten: int  # how many there are
    dots: tuple[tuple[float | None, ...], ...]  # answers of others, for the plots
    asked: int
    different: int  # not the same pan as an earlier one
    tried: int  # in this run; the rest was known
    complete: int
    refused: int
    dropped: tuple[tuple[str, int], ...]
    cannot_say: tuple[tuple[str, int], ...]
    broke: tuple[tuple[int, str], ...]
    reasons: tuple[tuple[str, int], ...]
    shares: tuple[ShareRow, ...] = ()
    taken: tuple[str, ...] = ()  # what was taken because the plan does not say
