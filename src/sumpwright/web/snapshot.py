"""How one open job stands at a moment, for one answer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sumpwright.findings import Assumption, Finding, Proposal, StageReport
from sumpwright.flow import STAGES, StageName
from sumpwright.flow.changes import FindingPair
from sumpwright.job import Fault, Job, JobResults
from sumpwright.web.history import Step
from sumpwright.web.job_folder import FileSet, JobFolder
from sumpwright.web.messages import SectionAsks, SectionKey
from sumpwright.web.said import Said, section_key
from sumpwright.web.section_places import KEY_OF_CODE, SECTION_KEYS
from sumpwright.web.slow_process import FreeSurfaceDone, free_surface_name


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one stage made, and of which generation it is."""

    generation: int
    name: str  # fingerprint of its inputs
    result: Any
    report: StageReport


@dataclass(slots=True)
class Work:
    """Where the work of one generation stands."""

    generation: int = 0
    begun_at: float = 0.0
    settled: bool = True
    stage: StageName | None = None
    done: int = 0
    of: int = 0
    finished: set[str] = field(default_factory=set)  # "first", "metal"
    seconds: float = 0.0
    breaks: int = 0  # processes that broke over it


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A consistent look at the job for one answer."""

    folder: JobFolder
    files: FileSet
    version: str
    job: Job | None  # as last readable
    faults: tuple[Fault, ...]
    outcomes: Mapping[StageName, Outcome]
    lacking: tuple[Finding, ...]  # of stages that could not start
    generation: int
    work: Work
    changes: tuple[Step, ...]
    undo: str
    redo: str
    last_pairs: tuple[FindingPair, ...]
    last_step: Step | None
    asks: tuple[SectionAsks, ...]
    slow_names: Mapping[StageName, str]  # what slow results would be remembered by now
    free: FreeSurfaceDone | None

    def results(self, with_old: bool = True) -> JobResults:
        """What the stages have made so far, as the outputs take it; without what is slow and old if asked."""
        made: dict[str, Any] = {
            name: outcome.result
            for name, outcome in self.outcomes.items()
            if with_old or not (_is_slow(name) and self.is_stale(name))
        }
        if self.free is not None and "drive" in made and (with_old or not self.is_free_old):
            made["free_surface"] = self.free.result
        made |= {name: None for name in ("rail", "body", "oil", "kit") if name not in made}
        return JobResults(
            findings=self.findings(),
            proposals=self.proposals(),
            assumptions=self.assumptions(),
            versions=(),
            **made,
        )

    def findings(self) -> tuple[Finding, ...]:
        """All of them in the order of the work."""
        said = tuple(finding for report in self._reports() for finding in report.findings)
        return (*said, *self.lacking)

    def proposals(self) -> tuple[Proposal, ...]:
        """Changes that would help."""
        return tuple(one for report in self._reports() for one in report.proposals)

    def assumptions(self) -> tuple[Assumption, ...]:
        """What was taken because the files do not say."""
        own = () if self.job is None else self.job.assumptions
        return (*own, *(one for report in self._reports() for one in report.assumptions))

    def is_stale(self, stage: StageName) -> bool:
        """Whether a stage has not been worked out yet for the files as they are."""
        outcome = self.outcomes.get(stage)
        if outcome is None or self.faults:
            return True
        if _is_slow(stage):
            return self.slow_names.get(stage) != outcome.name
        return outcome.generation < self.generation

    @property
    def is_free_old(self) -> bool:
        """Whether the free surface was worked out for another state of the files, or never."""
        if self.free is None or self.job is None or self.is_stale("drive"):
            return True
        return self.free.made_of != free_surface_name(self.slow_names.get("drive", ""), self.job)

    def old_findings(self) -> tuple[Finding, ...]:
        """What slow stages said about an earlier state of the files."""
        found = [
            finding
            for stage in STAGES
            if stage.is_slow and stage.name in self.outcomes and self.is_stale(stage.name)
            for finding in self.outcomes[stage.name].report.findings
        ]
        if self.free is not None and self.is_free_old:
            found += self.free.report.findings
        return tuple(found)

    def said(self) -> dict[SectionKey, Said]:
        """The findings of every section that has any, and whether they are fresh."""
        found: dict[SectionKey, list[Finding]] = {}
        for finding in self.findings():
            found.setdefault(section_key(finding), []).append(finding)
        old: dict[SectionKey, list[Finding]] = {}
        for finding in self.old_findings():
            old.setdefault(section_key(finding), []).append(finding)
            found[section_key(finding)].remove(finding)
        stale = {
            KEY_OF_CODE[stage.code] for stage in STAGES if not stage.is_slow and self.is_stale(stage.name)
        }
        if self.work.settled and not self.faults:
            stale = set()
        return {
            key: Said(tuple(found.get(key, ())), key in stale, tuple(old.get(key, ())))
            for key in SECTION_KEYS
            if key in found or key in stale
        }

    def _reports(self) -> Iterable[StageReport]:
        for stage in STAGES:
            outcome = self.outcomes.get(stage.name)
            if outcome is not None:
                yield outcome.report
            if stage.name == "drive" and outcome is not None and self.free is not None:
                yield self.free.report


def _is_slow(name: StageName) -> bool:
    return next(stage.is_slow for stage in STAGES if stage.name == name)
