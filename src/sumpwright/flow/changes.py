"""Try a change: the same job with one key of its job file written differently, side by side.

Advice, alternatives and the material page all go through here: a change is made to the
text of the job file in memory, the whole job is read again with all its rules, and only
the stages that the change reaches are worked out again. The file itself stays as it is.
"""

from __future__ import annotations

import difflib
import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, cast

from sumpwright.findings import SEVERITY, Finding, Proposal, Verdict
from sumpwright.flow.memory import Memory
from sumpwright.flow.sequence import run
from sumpwright.flow.stages import QUICK_STAGES, StageName
from sumpwright.job.model import Job, JobResults

if TYPE_CHECKING:
    import tomlkit
    from tomlkit.items import AoT, Array


@dataclass(frozen=True, slots=True)
class Change:
    """One key of the job file, and what shall stand there.

    ``target`` is the key with its sections, ``"pan.sheet"``; a member of a list of sections
    is called by its name, ``"lumps.sump.depth"``, or counted from one,
    ``"rail.fasteners.2.blind_depth"``; so is a figure of a list, ``"pickup.mouth.3"``. A name
    with a dot or a space in it stands in quotes: ``'lumps."deep end".depth'``. ``value`` is
    written as a fabricator would: ``"126 mm"``; a list as in the file:
    ``'["300 mm", "-90 mm"]'``. A ``+`` at the end of the target is one more member of that
    list: ``"patch_plates.+"``, whose value is ``'{ name = "patch plate 1", ... }'``.
    """

    target: str
    value: str


Step = Literal["better", "worse", "same", "new", "gone"]


@dataclass(frozen=True, slots=True)
class FindingPair:
    """What is said of one thing before and after a change."""

    code: str
    where: str
    before: Finding | None  # None = was not said before
    after: Finding | None  # None = is no longer said

    @property
    def step(self) -> Step:
        """Which way the verdict went."""
        if self.before is None:
            return "new"
        if self.after is None:
            return "gone"
        rise = SEVERITY[self.after.verdict] - SEVERITY[self.before.verdict]
        return "worse" if rise > 0 else "better" if rise < 0 else "same"


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """One job before and after a change."""

    change: Change
    before: JobResults
    after: JobResults
    changed_job: Job
    pairs: tuple[FindingPair, ...]  # in the order of the work

    @property
    def better(self) -> tuple[FindingPair, ...]:
        """What the change cures: a verdict that improves, or trouble that is no longer said."""
        return tuple(p for p in self.pairs if p.step == "better" or (p.step == "gone" and _is_open(p.before)))

    @property
    def worse(self) -> tuple[FindingPair, ...]:
        """What the change costs: a verdict that worsens, or trouble that was not there before."""
        return tuple(p for p in self.pairs if p.step == "worse" or (p.step == "new" and _is_open(p.after)))

    def cures(self, code: str) -> bool:
        """Whether nothing with this code is open any more, and something was."""
        return any(_is_open(f) for f in self.before.findings if f.code == code) and not any(
            _is_open(f) for f in self.after.findings if f.code == code
        )


def try_change(
    job: Job,
    change: Change | Proposal,
    memory: Memory | None = None,
    stages: tuple[StageName, ...] = QUICK_STAGES,
    before: JobResults | None = None,
) -> Comparison:
    """The job with and without the change.

    A key that the job file cannot have, or a value that cannot be read, raises the same
    ``JobError`` as a faulty file. A list member that is not there is a wrong call: ValueError.
    """
    from sumpwright.job import reread_job

    change = Change(change.target, change.value)
    memory = Memory() if memory is None else memory
    changed_job = reread_job(job, changed_text(_job_text(job), change))
    before = run(job, stages, memory=memory) if before is None else before
    after = run(changed_job, stages, memory=memory)
    return Comparison(change, before, after, changed_job, pair_up(before.findings, after.findings))


def changed_text(job_text: str, change: Change) -> str:
    """The job file's text with the change made; comments and order stay as they are."""
    import tomlkit
    from tomlkit.items import AoT, Array, InlineTable, Table

    document = tomlkit.parse(job_text)
    *sections, key = split_target(change.target)
    if key == ONE_MORE:
        return _with_one_more(document, sections, change)
    place: Any = document
    for name in sections:
        place = _step_into(place, name, change.target)
    if isinstance(place, (AoT, Array)):
        at = _place_in(place, key, change.target)
        place[at] = _toml_value(change.value, place[at])
        return tomlkit.dumps(document)
    if not isinstance(place, (tomlkit.TOMLDocument, Table, InlineTable)):
        raise ValueError(f"{change.target!r} does not end on a key")
    old = place.get(key)
    place[key] = _toml_value(change.value, old)
    return tomlkit.dumps(document)


ONE_MORE = "+"
"""Ends a target that asks for one more member of a list."""


def _with_one_more(document: tomlkit.TOMLDocument, sections: Sequence[str], change: Change) -> str:
    """The text with a member added behind the last of a list, or as the first of a list that is new."""
    import tomlkit
    from tomlkit.items import AoT, Array

    if not sections:
        raise ValueError(f"{change.target!r} names no list")
    place: Any = document
    for name in sections[:-1]:
        place = _step_into(place, name, change.target)
    members = place.get(sections[-1])
    value = change.value.strip()
    if isinstance(members, Array):
        members.append(tomlkit.value(value))
        return tomlkit.dumps(document)
    if members is not None and not isinstance(members, AoT):
        raise ValueError(f"{change.target!r}: what stands there is no list")
    if members is None and place is not document:
        place[sections[-1]] = tomlkit.value(f"[{value}]")
        return tomlkit.dumps(document)
    if not value.startswith("{"):
        raise ValueError(f"{change.target!r}: a section is added as {{ key = value, ... }}")
    table = tomlkit.table()
    if members is not None:
        table.trivia.indent = "\n"  # a blank line before its heading
    for key, part in tomllib.loads(f"value = {value}")["value"].items():
        table[key] = tomlkit.item(part)
    if members is None:
        members = tomlkit.aot()
        members.append(table)
        document.add(tomlkit.nl())
        document.append(sections[-1], members)
    else:
        members.append(table)
    return tomlkit.dumps(document)


def changed_data(data: Mapping[str, Any], change: Change) -> dict[str, Any]:
    """The same change made to the data that a job file's text holds; what it leaves alone is shared.

    ``changed_data(tomllib.loads(text), change)`` is ``tomllib.loads(changed_text(text, change))``
    without writing and reading the text.
    """
    names = split_target(change.target)
    return cast(dict[str, Any], _with(data, names, change))


def _with(place: Any, names: tuple[str, ...], change: Change) -> Any:
    """A copy of ``place`` with the change made below it."""
    name, rest = names[0], names[1:]
    if rest == (ONE_MORE,) and isinstance(place, Mapping):
        members = place.get(name, [])
        if not isinstance(members, list):
            raise ValueError(f"{change.target!r}: what stands there is no list")
        new = tomllib.loads(f"value = {change.value.strip()}")["value"]
        return {**place, name: [*members, new]}
    if isinstance(place, list):
        at = _place_in(place, name, change.target)
        new = _plain_value(change.value, place[at]) if not rest else _with(place[at], rest, change)
        return [*place[:at], new, *place[at + 1 :]]
    if not isinstance(place, Mapping):
        what = "goes on below a plain value" if rest else "does not end on a key"
        raise ValueError(f"{change.target!r} {what}")
    if not rest:
        return {**place, name: _plain_value(change.value, place.get(name))}
    return {**place, name: _with(place.get(name, {}), rest, change)}


def _place_in(members: Sequence[Any], name: str, target: str) -> int:
    """Which list member has this name, or this number counted from one."""
    names = [str(member.get("name")) if hasattr(member, "get") else "" for member in members]
    if name in names:
        return len(names) - 1 - names[::-1].index(name)
    if name.isdigit() and 1 <= int(name) <= len(members):
        return int(name) - 1
    named = [each for each in names if each]
    near = difflib.get_close_matches(name, named, n=1)
    known = ", ".join(sorted(named)) or f"1 to {len(members)}"
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise ValueError(f"{target!r}: nothing here is called {name!r} (there is {known}){hint}")


def _plain_value(value: str, old: Any) -> Any:
    """As ``_toml_value``, for data."""
    is_plain = isinstance(old, (bool, int, float)) or value.strip() in ("true", "false")
    if value.lstrip().startswith(("[", "{")) or is_plain:
        return tomllib.loads(f"value = {value.strip()}")["value"]
    return value


def split_target(target: str) -> tuple[str, ...]:
    """The names of a target: ``'lumps."deep end".depth'`` gives lumps, deep end, depth."""
    names: list[str] = []
    rest = target
    while rest:
        if rest[0] == '"':
            end = rest.find('"', 1)
            if end < 0:
                raise ValueError(f"{target!r} opens a quote and does not close it")
            names.append(rest[1:end])
            rest = rest[end + 1 :]
        else:
            name, _, _ = rest.partition(".")
            names.append(name)
            rest = rest[len(name) :]
        if rest:
            if rest[0] != "." or len(rest) == 1:
                raise ValueError(f"{target!r} is not a key with its sections, like pan.sheet")
            rest = rest[1:]
    if not names or not all(names):
        raise ValueError(f"{target!r} is not a key with its sections, like pan.sheet")
    return tuple(names)


def pair_up(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> tuple[FindingPair, ...]:
    """Findings on the same thing side by side: same code and place, in the order they were said."""
    waiting: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in before:
        waiting[finding.code, finding.where].append(finding)
    pairs: list[FindingPair] = []
    for finding in after:
        olds = waiting[finding.code, finding.where]
        pairs.append(FindingPair(finding.code, finding.where, olds.pop(0) if olds else None, finding))
    left = [finding for olds in waiting.values() for finding in olds]
    order = {id(finding): place for place, finding in enumerate(before)}
    for finding in sorted(left, key=lambda f: order[id(f)]):
        pairs.append(FindingPair(finding.code, finding.where, finding, None))
    return tuple(pairs)


def _is_open(finding: Finding | None) -> bool:
    return finding is not None and finding.verdict in (Verdict.FAILS, Verdict.CANNOT_SAY)


def _job_text(job: Job) -> str:
    """The job file as it was read."""
    for name, raw in job.texts:
        if name == job.job_file.name:
            return raw.decode("utf-8-sig")
    raise ValueError("this job does not carry the text of its job file")


def _step_into(place: Any, name: str, target: str) -> Any:
    """The section or list member of this name; a section that is not there yet is made."""
    import tomlkit
    from tomlkit.items import AoT, Array, InlineTable, Table

    if isinstance(place, (AoT, Array)):
        return _member(place, name, target)
    if not isinstance(place, (tomlkit.TOMLDocument, Table, InlineTable)):
        raise ValueError(f"{target!r} goes on below a plain value")
    if name not in place:
        place[name] = tomlkit.table()
    return place[name]


def _member(members: AoT | Array, name: str, target: str) -> Any:
    """The list member with this name, or counted from one."""
    return members[_place_in(members, name, target)]


def _toml_value(value: str, old: Any) -> Any:
    """What to write: text stays text, a list or a plain number is written as the file has it."""
    import tomlkit

    is_plain = isinstance(old, (bool, int, float)) or value.strip() in ("true", "false")
    if value.lstrip().startswith(("[", "{")) or is_plain:
        return tomlkit.value(value.strip())
    return tomlkit.string(value)
