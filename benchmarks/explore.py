"""Many variants: how many of them a second one core works out, and what giving them out costs."""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from benchmarks import Row
from sumpwright.explore.crew import Crew, Processes
from sumpwright.explore.explore import explore
from sumpwright.explore.model import Answer, Axis, Count, Levels, Outcome, Question, Task
from sumpwright.explore.plan import read_plan
from sumpwright.explore.store import Store

EXAMPLE = Path(__file__).parents[1] / "src" / "sumpwright" / "examples" / "hillclimb-four"
VARIANTS = 24
TASKS = 60

DEPTH = """
[[vary]]
name = "depth"
keys = ["lumps.sump.depth", "lumps.kick-out.depth"]
least = "106 mm"
most = "130 mm"
step = "1 mm"
[[tie]]
key = "pickup.mouth.3"
follows = "depth"
times = -1
plus = "11 mm"
"""
SCREEN = """
[[vary]]
name = "screen"
key = "suction.screen_area"
least = "20 cm2"
most = "44 cm2"
step = "1 cm2"
"""
CHEAP = ("capacity", "drain residue", "cover margin", "suction margin")


def variant_time(varies: str, names: tuple[str, ...], like: Callable[[Path], None] | None = None) -> float:
    """Median processor time of one variant in one process, the first left out [s]."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job"
        shutil.copytree(EXAMPLE, job)
        if like is not None:
            like(job)
        counts = "".join(f'[[counts]]\nanswer = "{name}"\n' for name in names)
        (job / "plan.toml").write_text(f'[plan]\nway = "grid"\n{varies}{counts}', "utf-8")
        try_out, taken = read_plan(job).work.open(), []
        for level in range(VARIANTS + 1):
            start = time.process_time()
            try_out(Task((level,)))
            taken.append(time.process_time() - start)
    return sorted(taken[1:])[VARIANTS // 2]


def without_walls(job: Path) -> None:
    """The same pan without its baffles."""
    text = (job / "job.toml").read_text("utf-8")
    (job / "job.toml").write_text(text[: text.index("[[walls]]")], "utf-8")


@dataclass(frozen=True)
class Sleeps:
    """Work that takes a tenth of a second and no processor."""

    name: str = "sleeps a tenth"

    def variant(self, levels: Levels) -> str:
        return f"{self.name} {levels}"

    def words(self, levels: Levels) -> tuple[str, ...]:
        return (str(levels[0]),)

    def open(self) -> Callable[[Task], Outcome]:
        return self.try_out

    def try_out(self, task: Task) -> Outcome:
        time.sleep(0.1)
        return Outcome(task.levels, (("f1", Answer(1.0)),))


def overhead(crew: Crew, workers: int) -> float:
    """Wall time of a task of a tenth of a second, giving out and keeping included, a worker [s]."""
    question = Question((Axis("a", TASKS),), (Count("f1", "less"),), Sleeps(), "grid", TASKS)
    with tempfile.TemporaryDirectory() as folder, Store(Path(folder) / "answers.sqlite") as store:
        stamps: list[float] = []
        explore(question, "plan", store, crew, lambda tally: stamps.append(time.perf_counter()))
    # From the first answer on: starting the processes is not a cost of each task.
    return (stamps[-1] - stamps[0]) / (len(stamps) - 1) * workers


def run() -> list[Row]:
    target = "under 20 ms: 50 a second and core"
    return [
        Row("variant: screen area, oil and pump side", variant_time(SCREEN, CHEAP), target=target),
        Row(
            "variant: new depth, oil and pump side, no baffles",
            variant_time(DEPTH, CHEAP, without_walls),
            target=target,
        ),
        Row("variant: new depth, oil and pump side, two baffles", variant_time(DEPTH, CHEAP), target=target),
        Row("the same with clearances", variant_time(DEPTH, (*CHEAP, "clearance")), target=target),
        Row("task of 100 ms on 2 processes, kept on disk", overhead(Processes(2), 2), target="under 110 ms"),
    ]
