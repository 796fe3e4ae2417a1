"""The command explore: many variants of a job, and the few worth a look."""

from __future__ import annotations

import sys
from contextlib import ExitStack
from pathlib import Path

from sumpwright.cli.progress import Display
from sumpwright.explore.crew import Alone, Cluster, Crew, Processes, cores
from sumpwright.explore.explore import Tally, explore
from sumpwright.explore.model import ExploreError
from sumpwright.explore.plan import Plan, read_plan
from sumpwright.explore.store import Store
from sumpwright.flow.status import ALL_HOLD, NOT_READ

FOLDER = "explored"
STORE = "answers.sqlite"
SOMETHING_OPEN = 1
STOPPED = 130


def explore_plan(
    path: Path, workers: int | None, scheduler: str | None, take: int | None, out: Path | None
) -> int:
    """Read, try, show and write; or write the job file of one variant."""
    if workers is not None and workers < 1:
        print("At least one process is needed: --workers 1", file=sys.stderr)
        return NOT_READ
    if workers is not None and scheduler is not None:
        print(
            "--workers is for this machine, and with --scheduler the cluster has its own; keep one.",
            file=sys.stderr,
        )
        return NOT_READ
    with Display() as display:
        display.says("reading the plan and its job")
        plan = read_plan(path)
    folder = plan.path.parent / FOLDER if out is None else out
    try:
        if take is not None:
            return _take(plan, folder, take)
        return _explore(plan, path, folder, workers, scheduler)
    except ExploreError as trouble:
        print(trouble, file=sys.stderr)
        return NOT_READ
    except KeyboardInterrupt:
        print("Stopped. What was found is kept; the same command goes on from there.", file=sys.stderr)
        return STOPPED


def _explore(plan: Plan, path: Path, folder: Path, workers: int | None, scheduler: str | None) -> int:
    from sumpwright.explore.telling import columns_of, lines_of, sheet_of
    from sumpwright.outputs.explored_files import explored_json, write_variants, write_whole
    from sumpwright.outputs.explored_page import explored_pdf
    from sumpwright.outputs.explored_terminal import print_explored

    folder.mkdir(parents=True, exist_ok=True)
    with ExitStack() as stack:
        store = stack.enter_context(Store(folder / STORE))
        crew = _crew(workers, scheduler, stack)
        with Display() as display:

            def says(tally: Tally) -> None:
                display.says(
                    f"{tally.number:,} of {tally.of:,} variants looked at, {tally.tried:,} worked out"
                )

            explored = explore(plan.question, plan.name, store, crew, says)
            display.says("holding the job as it stands beside them")
            sheet = sheet_of(
                plan, explored, store, lambda k, of: display.says(f"checking finalist {k} of {of} in full")
            )
        write_whole(folder / "explored.pdf", explored_pdf(sheet))
        write_whole(folder / "explored.json", explored_json(sheet))
        write_variants(folder / "variants.csv", sheet.axes, columns_of(plan), lines_of(plan, store))
    print_explored(sheet, sys.stdout)
    print(f"Written to {folder}: explored.pdf, explored.json, variants.csv; every answer is in {STORE}")
    if sheet.rows:
        print(f"To take one: sumpwright explore {path} --take {sheet.rows[0].number}")
    found_any = bool(sheet.rows) or plan.question.way == "matters"
    return ALL_HOLD if found_any and not sheet.broke else SOMETHING_OPEN


def _crew(workers: int | None, scheduler: str | None, stack: ExitStack) -> Crew:
    if scheduler is not None:
        cluster = Cluster(scheduler)
        stack.callback(cluster.close)
        return cluster
    count = cores() if workers is None else workers
    return Alone() if count == 1 else Processes(count)


def _take(plan: Plan, folder: Path, number: int) -> int:
    from sumpwright.explore.taking import levels_of, take

    if not (folder / STORE).is_file():
        print(f"Nothing was explored yet: run sumpwright explore {plan.path} first.", file=sys.stderr)
        return NOT_READ
    with Store(folder / STORE) as store:
        path = take(plan, store, number)
        levels = levels_of(plan, store, number)
    print(f"Written: {path}, the job with")
    for key, value in plan.work.sets(levels):
        print(f"  {key} = {value}")
    print(f"Next: sumpwright check {path}, then sumpwright drive {path} --free-surface")
    return ALL_HOLD
