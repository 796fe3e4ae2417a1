"""From what was explored to what the outputs show: the few worth a look, checked in full."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from sumpwright.explore.answers import BY_NAME
from sumpwright.explore.crew import do
from sumpwright.explore.explore import Explored
from sumpwright.explore.front import Candidate, worth_a_look
from sumpwright.explore.model import Count, Task, standing
from sumpwright.explore.plan import Plan, job_work
from sumpwright.explore.store import Store
from sumpwright.explore.taking import text_of
from sumpwright.flow import QUICK_STAGES, Memory, run
from sumpwright.flow.changes import FindingPair, pair_up
from sumpwright.job import Job, JobResults, reread_job
from sumpwright.job.model import without_pack_work
from sumpwright.job.read import data_of
from sumpwright.outputs.explored_files import VariantLine
from sumpwright.outputs.explored_model import AnswerColumn, ExploredSheet, ShareRow, VariantRow

MOST_SHOWN = 12


def columns_of(plan: Plan) -> tuple[AnswerColumn, ...]:
    """The answers that count, as the outputs show them."""
    found = []
    for count in plan.question.counts:
        kind = BY_NAME[count.answer]
        unit = plan.job.shop.currency if kind.kind == "price" else kind.unit
        found.append(
            AnswerColumn(kind.name, kind.kind, unit, count.want, count.at_least, count.at_most, count.is_hard)
        )
    return tuple(found)


def sheet_of(
    plan: Plan, explored: Explored, store: Store, on_check: Callable[[int, int], None] | None = None
) -> ExploredSheet:
    """What is shown. The finalists, the best first in each answer, are checked in full here."""
    few = worth_a_look(explored.front, MOST_SHOWN)
    rows = [_row(plan, explored, one) for one in few]
    chosen = _finalists(plan, explored, few)
    if chosen:
        rows = _checked(plan, store, rows, chosen, on_check)
    return ExploredSheet(
        job_name=plan.job.name,
        plan_name=plan.path.name,
        way=plan.question.way,
        units=plan.job.units,
        paper=plan.job.paper,
        version=dict(_versions()).get("sumpwright", ""),
        axes=tuple(axis.name for axis in plan.question.axes),
        columns=columns_of(plan),
        as_it_stands=_as_it_stands(plan, store),
        rows=tuple(rows),
        unbeaten=len(explored.front.members),
        dots=explored.dots,
        asked=explored.asked,
        different=explored.different,
        tried=explored.tried,
        complete=explored.complete,
        refused=explored.refused,
        dropped=explored.dropped,
        cannot_say=explored.cannot_say,
        broke=explored.broke,
        reasons=explored.reasons,
        shares=tuple(
            ShareRow(
                one.answer,
                one.alone,
                one.in_all,
                one.in_all_low,
                one.in_all_high,
                one.rounds,
                one.lost,
                one.why_not,
            )
            for one in explored.shares
        ),
        taken=plan.taken,
    )


def lines_of(plan: Plan, store: Store) -> Iterator[VariantLine]:
    """Every variant of the plan in its order, for a table."""
    counts = plan.question.counts
    for number, says, found in store.of_plan(plan.name):
        where, name = standing(found, counts)
        if where == "refused":
            where_words = f"no pan: {found[name].why}"
        elif where in ("dropped", "cannot say"):
            where_words = f"{where}: {name}"
        else:
            where_words = where
        values = tuple(
            None if (answer := found.get(count.answer)) is None else answer.value for count in counts
        )
        yield number, says, values, where_words


def _versions() -> tuple[tuple[str, str], ...]:
    from sumpwright.flow.sequence import versions

    return versions()


def _row(plan: Plan, explored: Explored, one: Candidate) -> VariantRow:
    counts = plan.question.counts
    best = dict(zip((count.answer for count in plan.question.objectives), explored.best_of_all, strict=True))
    gives_up: list[float | None] = []
    for k, count in enumerate(counts):
        champion = best.get(count.answer)
        if champion is None:
            gives_up.append(None)
            continue
        much = champion.values[k] - one.values[k]
        much = -much if count.want == "less" else much
        # What does not count is not given up.
        gives_up.append(0.0 if much <= 0.5 * (count.alike or 0.0) else much)
    return VariantRow(one.number, one.says, one.values, tuple(gives_up), _misses(counts, one.values))


def _misses(counts: tuple[Count, ...], values: tuple[float | None, ...]) -> tuple[float | None, ...]:
    return tuple(
        short if value is not None and count.has_limit and (short := count.short_by(value)) > 0.0 else None
        for count, value in zip(counts, values, strict=True)
    )


def _as_it_stands(plan: Plan, store: Store) -> VariantRow:
    """The job itself, asked the same."""
    work = job_work(data_of(plan.job), (), (), plan.question.counts, False)
    name = work.variant(())
    known = store.found(name)
    if standing(known, plan.question.counts, False)[0] == "open":
        outcome = do(work, Task((), tuple(sorted(known.items(), key=lambda pair: pair[0]))))
        store.add(name, (), dict(outcome.found))
        store.keep()
        known = store.found(name)
    values = tuple(
        None if (answer := known.get(count.answer)) is None else answer.value
        for count in plan.question.counts
    )
    nothing = (None,) * len(values)
    return VariantRow(None, (), values, nothing, _misses(plan.question.counts, values))


def _finalists(plan: Plan, explored: Explored, few: list[Candidate]) -> list[int]:
    """Numbers of those to check in full: nearest to the best in everything at once first."""
    objectives = plan.question.objectives
    at = [k for k, count in enumerate(plan.question.counts) if count.want != "only the limit"]
    if not few or plan.finalists == 0:
        return []
    ranks = []
    for one in few:
        total = 0.0
        for k, count in zip(at, objectives, strict=True):
            column = [other.values[k] for other in few]
            spread = max(column) - min(column)
            best = min(column) if count.want == "less" else max(column)
            total += abs(one.values[k] - best) / spread if spread > 0.0 else 0.0
        ranks.append((total, one.number))
    return [number for _, number in sorted(ranks)[: plan.finalists]]


def _checked(
    plan: Plan,
    store: Store,
    rows: list[VariantRow],
    chosen: list[int],
    on_check: Callable[[int, int], None] | None,
) -> list[VariantRow]:
    memory = Memory()
    before = _full(plan.job, memory)
    done: dict[int, tuple[tuple[str, ...], tuple[str, ...]]] = {}
    for k, number in enumerate(chosen):
        if on_check is not None:
            on_check(k + 1, len(chosen))
        after = _full(reread_job(plan.job, text_of(plan, store, number)), memory)
        pairs = pair_up(before.findings, after.findings)
        done[number] = (_named(pairs, ("worse", "new")), _named(pairs, ("better", "gone")))
    return [
        replace(row, is_checked=True, worse=done[row.number][0], better=done[row.number][1])
        if row.number in done
        else row
        for row in rows
    ]


def _full(job: Job, memory: Memory) -> JobResults:
    return run(without_pack_work(job), QUICK_STAGES, memory=memory)


def _named(pairs: tuple[FindingPair, ...], steps: tuple[str, ...]) -> tuple[str, ...]:
    """Findings that went this way and are or were open: "fails OIL-12 sump floor"."""
    named = []
    for pair in pairs:
        shown = pair.after if steps[0] == "worse" else pair.before
        if pair.step in steps and shown is not None and shown.verdict.value in ("fails", "cannot say"):
            named.append(f"{pair.code} {pair.where}")
    return tuple(dict.fromkeys(named))
