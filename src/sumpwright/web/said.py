"""What the sheet says: findings, key figures and tables of one section, as messages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

from sumpwright.findings import SEVERITY, Finding, Proposal, worst
from sumpwright.flow.changes import FindingPair
from sumpwright.job.faults import Fault
from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.cautions import CAUTIONS, caution, cautions_beside
from sumpwright.outputs.sections import tally, worst_first
from sumpwright.outputs.words import (
    UnitSystem,
    assumption_words,
    decimals_for,
    finding_words,
    printed_unit,
    proposal_words,
    write_length,
    write_value,
)
from sumpwright.tables.sources import source_title
from sumpwright.web.messages import (
    AssumptionRow,
    CautionRow,
    FaultRow,
    FindingRow,
    KeyNumber,
    ProposalRow,
    SectionKey,
    SectionSays,
    SectionVerdict,
    StepRow,
    TableBlock,
    Verdict,
    VerdictLine,
)
from sumpwright.web.section_places import HEADINGS, KEY_OF_CODE, SECTION_KEYS
from sumpwright.web.sheet_tables import section_tables


@dataclass(frozen=True, slots=True)
class Said:
    """The findings of one section and whether they are fresh."""

    findings: tuple[Finding, ...]
    stale: bool
    old: tuple[Finding, ...] = ()  # of slow stages, about an earlier state of the files

    @property
    def all(self) -> tuple[Finding, ...]:
        """Old ones too: a verdict is never better than what was said last."""
        return (*self.findings, *self.old)

    @property
    def tally(self) -> str:
        """How many of each, and that some are old."""
        fresh = tally(self.findings) if self.findings else ""
        if not self.old:
            return fresh
        many = "an older one" if len(self.old) == 1 else f"{len(self.old)} older ones"
        return f"{fresh}; {many} from before a change, in grey" if fresh else f"{many} from before a change"


def section_key(finding: Finding) -> SectionKey:
    """The section a finding stands in."""
    return KEY_OF_CODE.get(finding.code.partition("-")[0], "job")


def section_says(
    key: SectionKey,
    said: Said,
    job: Job,
    results: JobResults | None,
    old_results: JobResults | None,
    proposals: tuple[Proposal, ...],
) -> SectionSays:
    """One section; without results it has no tables and no key figures.

    ``old_results`` also holds what slow stages found for an earlier state of the files; None = nothing does.
    """
    tables: list[TableBlock] = []
    numbers: list[KeyNumber] = []
    if results is not None:
        tables, numbers = section_tables(HEADINGS[key], job, results)
        numbers = [*key_numbers(key, job, results), *numbers]
        if old_results is not None:
            fresh = {block.caption for block in tables}
            more, _ = section_tables(HEADINGS[key], job, old_results)
            tables += [
                block.model_copy(update={"stale": True}) for block in more if block.caption not in fresh
            ]
    return SectionSays(
        section=key,
        heading=HEADINGS[key],
        verdict=_verdict(said.all),
        tally=said.tally,
        stale=said.stale,
        findings=[
            *finding_rows(said.findings, proposals, job.units),
            *(
                row.model_copy(update={"stale": True, "id": f"{row.id} old", "proposals": []})
                for row in finding_rows(said.old, (), job.units)
            ),
        ],
        numbers=numbers,
        tables=tables,
    )


def finding_rows(
    findings: Iterable[Finding], proposals: tuple[Proposal, ...], units: UnitSystem
) -> list[FindingRow]:
    """Worst first; two of the same code and place are told apart by a number."""
    rows: list[FindingRow] = []
    seen: dict[str, int] = {}
    for finding in worst_first(tuple(findings)):
        name = f"{finding.code} {finding.where}"
        seen[name] = seen.get(name, 0) + 1
        rows.append(
            _finding_row(finding, f"{name} #{seen[name]}" if seen[name] > 1 else name, proposals, units)
        )
    return rows


def verdict_line(said: dict[SectionKey, Said]) -> VerdictLine:
    """The line that stays in view."""
    everything = tuple(finding for key in SECTION_KEYS if key in said for finding in said[key].all)
    if not everything:
        headline = "Nothing was judged yet"
    else:
        from sumpwright.findings import Verdict as Word

        headline = {
            Word.FAILS: "Something fails: do not cut yet",
            Word.CANNOT_SAY: "Something cannot be said: do not cut yet",
            Word.CLOSE: "Nothing fails, some of it is close",
            Word.HOLDS: "Everything that was judged holds",
        }[worst([finding.verdict for finding in everything])]
    return VerdictLine(
        headline=headline,
        tally=tally(everything) if everything else "",
        sections=[
            SectionVerdict(
                section=key,
                heading=HEADINGS[key],
                verdict=_verdict(said[key].all) if key in said else None,
                stale=(said[key].stale or bool(said[key].old)) if key in said else False,
            )
            for key in SECTION_KEYS[1:]
        ],
    )


def step_rows(pairs: Iterable[FindingPair], units: UnitSystem) -> list[StepRow]:
    """What moved, the worst first; what stayed as it was is left out, and so is what newly holds."""
    moved = []
    for pair in pairs:
        step = pair.step
        finding = pair.after if pair.after is not None else pair.before
        if step == "same" or finding is None:
            continue
        if step in ("new", "gone") and SEVERITY[finding.verdict] == 0:
            continue
        moved.append((step, finding))
    order = {"worse": 0, "new": 1, "better": 2, "gone": 3}
    moved.sort(key=lambda one: (order[one[0]], -SEVERITY[one[1].verdict]))
    return [
        StepRow(code=finding.code, where=finding.where, step=step, says=finding_words(finding, units).says)
        for step, finding in moved
    ]


def fault_rows(faults: Iterable[Fault]) -> list[FaultRow]:
    """Faults as rows."""
    return [
        FaultRow(
            file=one.file, line=one.line, key=one.key, read=one.read, rule=one.rule, allowed=one.allowed,
            good=one.good,
        )
        for one in faults
    ]  # fmt: skip


def assumption_rows(results: JobResults, units: UnitSystem) -> list[AssumptionRow]:
    """What was taken because the job does not say."""
    return [
        AssumptionRow(key=one.key, says=assumption_words(one, units), source=source_title(one.source))
        for one in results.assumptions
    ]


def caution_rows() -> list[CautionRow]:
    """All cautions of the sheet."""
    return [CautionRow(heading=entry.heading, says=entry.words) for entry in CAUTIONS]


def key_numbers(key: SectionKey, job: Job, results: JobResults) -> list[KeyNumber]:
    """The numbers one asks for first in a section."""
    units = job.units
    if key == "body" and results.body is not None and results.body.cavity is not None:
        cavity = results.body.cavity
        return [
            KeyNumber(label="room below the rail plane", text=_litres(cavity.volume, units), note=""),
            KeyNumber(label="faces", text=str(len(cavity.faces) - 1), note="besides the open top"),
        ]
    if key == "oil" and results.oil is not None:
        oil = results.oil
        found = [
            KeyNumber(
                label="level oil up to the rail", text=_litres(oil.capacity_to_rail, units), note="standing"
            )
        ]
        for mark in oil.marks:
            where = "cannot be read" if mark.from_stop is None else write_length(mark.from_stop, units, 1)
            found.append(
                KeyNumber(
                    label=f"{mark.name} mark", text=where, note=f"{_litres(mark.volume, units)} in the pan"
                )
            )
        return found
    if key == "motion" and results.motion is not None:
        found = []
        for words, tightest in (
            ("least oil over the mouth, driven", results.motion.tightest_acceleration),
            ("least oil over the mouth, on slopes", results.motion.tightest_slope),
        ):
            if tightest is not None:
                found.append(
                    KeyNumber(label=words, text=write_length(tightest.cover, units, 0), note=tightest.words)
                )
        return found
    if key == "suction" and results.suction is not None:
        return [
            KeyNumber(
                label=f"pressure at the pump, {point.name}",
                text=write_value(point.pressure, "Pa", "pressure", units),
                note=f"at least {write_value(point.limit, 'Pa', 'pressure', units)}, absolute",
            )
            for point in results.suction.points
        ]
    if key == "kit" and results.kit is not None:
        kit = results.kit
        return [
            KeyNumber(label="flat parts", text=str(sum(part.quantity for part in kit.parts)), note=""),
            KeyNumber(label="mass", text=write_value(kit.mass, "kg", "mass", units, 1), note=""),
            KeyNumber(label="length to weld", text=write_length(kit.weld_length, units, 0), note=""),
            KeyNumber(
                label="worst gap when rebuilt", text=write_length(kit.rebuild.worst_gap, units, 2), note=""
            ),
        ]
    return []


def _finding_row(
    finding: Finding, name: str, proposals: tuple[Proposal, ...], units: UnitSystem
) -> FindingRow:
    said = finding_words(finding, units)
    unit = printed_unit(finding.kind, finding.unit, units)
    heading = HEADINGS[section_key(finding)]
    beside = {entry.key for entry in cautions_beside(heading)}
    place = finding.place
    return FindingRow(
        stale=False,
        id=name,
        code=finding.code,
        verdict=word_of(finding.verdict.value),
        where=finding.where,
        says=said.says,
        how_sure=said.how_sure,
        do=said.do,
        source=source_title(finding.source) if finding.source else "",
        value=None if finding.value is None else finite(unit.number(finding.value)),
        limit=None if finding.limit is None else finite(unit.number(finding.limit)),
        u95=None if finding.u95 is None else finite(unit.spread(finding.u95)),
        unit=unit.label,
        place_mm=None if place is None else (mm(place[0]), mm(place[1]), mm(place[2])),
        proposals=[
            ProposalRow(file="job", key=one.target, value=one.value, says=proposal_words(one, units))
            for one in proposals
            if one.code == finding.code
        ],
        cautions=[CautionRow(heading="", says=caution(key)) for key in finding.cautions if key not in beside],
    )


def finite(value: float) -> float | None:
    """A number that JSON can carry, to nine digits; None for the others."""
    return float(f"{value:.9g}") if abs(value) < 1e300 else None


def mm(value: float) -> float:
    """A length in millimetres, to a tenth of a micron."""
    return round(float(value) * 1e3, 4) + 0.0


def _verdict(findings: tuple[Finding, ...]) -> Verdict | None:
    return word_of(worst([finding.verdict for finding in findings]).value) if findings else None


def word_of(verdict: str) -> Verdict:
    """A verdict as the messages have it."""
    found: Verdict = next(word for word in get_args(Verdict) if word == verdict)
    return found


def _litres(volume: float, units: UnitSystem) -> str:
    return write_value(volume, "m3", "volume", units, decimals_for(volume * 1e3))
