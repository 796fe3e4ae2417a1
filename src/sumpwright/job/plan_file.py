"""Reading a plan file: what may vary and what counts, as written, with every fault noted.

What the keys mean in the job is asked by the caller, who adds what he finds to the same list
of faults and raises them all at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import cast

from sumpwright.job.faults import Fault, JobError
from sumpwright.job.fields import Setting
from sumpwright.job.file_sections import take_sections
from sumpwright.job.files import as_text, as_toml, read_bytes
from sumpwright.job.plan_sections import (
    LISTED,
    MOST_VARIED,
    SINGLE,
    CountsSection,
    PlanSection,
    TieSection,
    VarySection,
)
from sumpwright.job.refusals import OpenFile
from sumpwright.quantities.text import QuantityError, decimal_text, number_and_unit, read, read_price

PLAN_FILE = "plan.toml"
BEFORE = "this plan can be worked out"

_WITHOUT_STEP = 1000
"""A range without a step is cut into so many."""


@dataclass(frozen=True, slots=True)
class Range:
    """Evenly spaced values as a fabricator would write them: ``first + k * step`` for k below ``count``."""

    first: Fraction
    step: Fraction
    count: int
    unit: str  # as written behind the numbers; "" = plain numbers
    has_own_step: bool

    def text(self, k: int, times: Fraction = Fraction(1), plus: Fraction = Fraction(0)) -> str:
        """Value number ``k`` as it would stand in the job file, multiplied and added to."""
        number = decimal_text((self.first + k * self.step) * times + plus)
        return f"{number} {self.unit}" if self.unit else number


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several things to choose from: key and text of each thing it sets."""

    name: str
    sets: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class WrittenTie:
    """A key that follows a range."""

    key: str
    follows: str
    times: Fraction
    plus: Fraction


@dataclass(frozen=True, slots=True)
class Written:
    """One thing that varies: keys with a range, or choices."""

    name: str
    keys: tuple[str, ...]
    values: Range | tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class PlanFile:
    """A plan as it was written; ``file`` gathers further faults."""

    path: Path
    job_path: Path
    file: OpenFile
    plan: PlanSection | None
    varied: tuple[tuple[int, Written], ...]  # (place in the file, what)
    ties: tuple[tuple[int, WrittenTie], ...]
    counts: tuple[tuple[int, CountsSection], ...]


def read_plan_file(path: Path) -> PlanFile:
    """The plan in a folder, or of one plan file.

    Raises JobError only where nothing can be read at all; other faults are noted in ``file``.
    """
    plan_path = path / PLAN_FILE if path.is_dir() else path
    folder = plan_path.parent
    raw = read_bytes(plan_path, folder, "the plan file")
    text = raw if isinstance(raw, Fault) else as_text(raw, plan_path.name, "the plan file")
    if isinstance(text, Fault):
        raise JobError([text], BEFORE)
    toml = as_toml(text, plan_path.name, "the plan file")
    if toml.data is None:
        raise JobError(toml.faults, BEFORE)
    file = OpenFile(plan_path.name, toml.text, toml.data)
    file.faults += toml.faults
    single, listed = take_sections(file, SINGLE, LISTED, {}, lambda path, data: Setting())
    plan = cast(PlanSection | None, single.get("plan"))
    for name in ("plan", "vary", "counts"):
        if name not in file.data:
            brackets = "[plan]" if name == "plan" else f"[[{name}]]"
            file.fault((name,), f"the section {brackets} is needed and is missing", good=brackets, read="")
    if len(listed["vary",]) > MOST_VARIED:
        file.fault(("vary",), f"more than {MOST_VARIED} things that vary cannot be told apart", read="")
    varied = []
    for at, section in enumerate(listed["vary",]):
        written = None if section is None else _written(file, at, cast(VarySection, section))
        if written is not None:
            varied.append((at, written))
    _no_doubles(file, varied)
    ties = []
    for at, section in enumerate(listed["tie",]):
        tie = None if section is None else _tie(file, at, cast(TieSection, section), varied)
        if tie is not None:
            ties.append((at, tie))
    counts = tuple(
        (at, cast(CountsSection, section))
        for at, section in enumerate(listed["counts",])
        if section is not None
    )
    job_name = "job.toml" if plan is None or plan.job is None else plan.job
    if "/" in job_name or "\\" in job_name:
        file.fault(("plan", "job"), "the job file stands beside the plan: only its name is wanted here")
        job_name = "job.toml"
    return PlanFile(plan_path, folder / job_name, file, plan, tuple(varied), tuple(ties), counts)


def read_limit(file: OpenFile, at: int, key: str, text: str, kind: str, currency: str) -> float | None:
    """A limit of a counted answer in base SI (money for a price), or None with its fault noted."""
    try:
        if kind == "price":
            return read_price(text, currency, "piece", f"250 {currency}").amount
        kind = {"small volume": "volume", "count": "ratio"}.get(kind, kind)
        return read(text, kind).value
    except QuantityError as trouble:
        file.fault(("counts", at, key), trouble.rule, good=f'{key} = "{trouble.good}"')
        return None


def _written(file: OpenFile, at: int, section: VarySection) -> Written | None:
    """One thing that varies, or None with its faults noted."""
    here = ("vary", at)
    keys = tuple(section.keys or ()) + (() if section.key is None else (section.key,))
    if section.key is not None and section.keys is not None:
        file.fault((*here, "keys"), "'key' and 'keys' are both given; keep one of them")
    if section.choices is not None:
        for name in ("least", "most", "step"):
            if getattr(section, name) is not None:
                file.fault((*here, name), "a range and choices are both given; keep one of them")
        choices = _choices(file, at, section, keys)
        return None if choices is None else Written(section.name, keys, choices)
    if not keys:
        file.fault(here, "what varies is not said", good='key = "lumps.sump.depth"', read="")
    missing = [name for name in ("least", "most") if getattr(section, name) is None]
    if missing:
        file.fault(
            here,
            f"{' and '.join(repr(name) for name in missing)} {'is' if len(missing) == 1 else 'are'} missing: "
            "give a range or choices",
            good='least = "100 mm", most = "140 mm", step = "5 mm"',
            read="",
        )
    if missing or not keys:
        return None
    values = _range(file, at, section)
    return None if values is None else Written(section.name, keys, values)


def _range(file: OpenFile, at: int, section: VarySection) -> Range | None:
    assert section.least is not None
    assert section.most is not None
    first, unit = number_and_unit(section.least, "100 mm")
    last, other = number_and_unit(section.most, "140 mm")
    step, step_unit = (None, unit) if section.step is None else number_and_unit(section.step, "5 mm")
    for name, word in (("most", other), ("step", step_unit)):
        if word != unit:
            file.fault(
                ("vary", at, name),
                f"{word or 'no unit'!r} here and {unit or 'no unit'!r} at 'least': one unit is wanted",
            )
            return None
    if last <= first:
        file.fault(("vary", at, "most"), "'most' must be more than 'least'")
        return None
    if step is None:
        return Range(first, (last - first) / _WITHOUT_STEP, _WITHOUT_STEP + 1, unit, False)
    if step <= 0:
        file.fault(("vary", at, "step"), "a step must be more than nothing")
        return None
    count = int((last - first) / step) + 1
    if count < 2 or count > 100_001:
        what = "the range holds no step" if count < 2 else "that are more than 100,000 steps"
        file.fault(("vary", at, "step"), what)
        return None
    return Range(first, step, count, unit, True)


def _choices(
    file: OpenFile, at: int, section: VarySection, keys: tuple[str, ...]
) -> tuple[Choice, ...] | None:
    found: list[Choice] = []
    faults = len(file.faults)
    for k, choice in enumerate(section.choices or ()):
        here = ("vary", at, "choices", k)
        if isinstance(choice, dict):
            made = _named_choice(file, here, choice)
            if made is not None:
                found.append(made)
        elif isinstance(choice, str | int | float):
            if not keys:
                file.fault(here, "a bare value wants a key that it is for", good='key = "pan.sheet"')
                continue
            text = ("true" if choice else "false") if isinstance(choice, bool) else f"{choice}"
            found.append(Choice(text, tuple((key, text) for key in keys)))
        else:
            file.fault(here, "a value or { name, set } is wanted")
    names = [choice.name for choice in found]
    for name in sorted({name for name in names if names.count(name) > 1}):
        file.fault(("vary", at, "choices"), f"{name!r} stands here twice", read="")
    return None if len(file.faults) > faults else tuple(found)


def _named_choice(file: OpenFile, here: tuple[str | int, ...], choice: dict[str, object]) -> Choice | None:
    name, sets = choice.get("name"), choice.get("set", {})
    strange = sorted(set(choice) - {"name", "set"})
    if not isinstance(name, str) or not 0 < len(name) <= 30 or not name.isprintable():
        file.fault(here, "a choice wants a name of 1 to 30 letters", good='name = "doors turned"')
        return None
    if strange:
        file.fault(here, f"the key {strange[0][:40]!r} is not known here", allowed="known are name, set")
        return None
    if not isinstance(sets, dict) or not all(isinstance(v, str | int | float) for v in sets.values()):
        file.fault(
            here, "'set' wants keys of the job file with their values", good='set = { "pan.sheet" = "2 mm" }'
        )
        return None
    written = [
        (key, ("true" if v else "false") if isinstance(v, bool) else f"{v}") for key, v in sets.items()
    ]
    return Choice(name, tuple(written))


def _no_doubles(file: OpenFile, varied: list[tuple[int, Written]]) -> None:
    seen: dict[str, str] = {}
    keyed: dict[str, str] = {}
    for at, written in varied:
        if written.name in seen:
            file.fault(("vary", at, "name"), "two things that vary have this name")
        seen[written.name] = written.name
        keys = {*written.keys} if isinstance(written.values, Range) else set()
        if not isinstance(written.values, Range):
            keys = {key for choice in written.values for key, _ in choice.sets}
        for key in sorted(keys):
            if key in keyed:
                file.fault(("vary", at), f"{key} is varied by {keyed[key]!r} already", read="")
            keyed[key] = written.name


def _tie(
    file: OpenFile, at: int, section: TieSection, varied: list[tuple[int, Written]]
) -> WrittenTie | None:
    leader = next((written for _, written in varied if written.name == section.follows), None)
    if leader is None:
        known = ", ".join(written.name for _, written in varied)
        file.fault(("tie", at, "follows"), "nothing that varies has this name", allowed=known)
        return None
    if not isinstance(leader.values, Range):
        file.fault(
            ("tie", at, "follows"), "only a range can be followed; put the key into the choices' 'set'"
        )
        return None
    plus = Fraction(0)
    if section.plus is not None:
        plus, unit = number_and_unit(section.plus, "11 mm")
        if unit != leader.values.unit and plus != 0:
            file.fault(
                ("tie", at, "plus"),
                f"{unit or 'no unit'!r} here and {leader.values.unit or 'no unit'!r} in what is followed",
            )
            return None
    return WrittenTie(section.key, section.follows, Fraction(str(section.times)), plus)
