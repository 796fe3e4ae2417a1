"""Work with a known answer, for the same driver that tries pans."""

from __future__ import annotations

import math
import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sumpwright.explore.model import Answer, Axis, Count, Levels, Outcome, Question, Task

FINE = 100_001


@dataclass(frozen=True)
class Published:
    """A published test function on levels spread evenly over its box, ends included."""

    function: str
    counts: tuple[int, ...]

    @property
    def name(self) -> str:
        return f"{self.function} {self.counts}"

    def unit(self, levels: Levels) -> tuple[float, ...]:
        return tuple(k / (n - 1) for k, n in zip(levels, self.counts, strict=True))

    def variant(self, levels: Levels) -> str:
        return f"{self.name} {levels}"

    def words(self, levels: Levels) -> tuple[str, ...]:
        return tuple(str(k) for k in levels)

    def open(self) -> Callable[[Task], Outcome]:
        function = FUNCTIONS[self.function]

        def try_out(task: Task) -> Outcome:
            values = function(self.unit(task.levels))
            return Outcome(task.levels, tuple((f"f{k + 1}", Answer(v)) for k, v in enumerate(values)))

        return try_out


def zdt1(x: tuple[float, ...]) -> tuple[float, ...]:
    """Zitzler, Deb, Thiele 2000, T1: the front is f2 = 1 - sqrt(f1), at x2 = x3 = ... = 0."""
    g = 1.0 + 9.0 * sum(x[1:]) / (len(x) - 1)
    return x[0], g * (1.0 - math.sqrt(x[0] / g))


def zdt2(x: tuple[float, ...]) -> tuple[float, ...]:
    """The same, T2: the front is f2 = 1 - f1 squared."""
    g = 1.0 + 9.0 * sum(x[1:]) / (len(x) - 1)
    return x[0], g * (1.0 - (x[0] / g) ** 2)


def binh_korn(u: tuple[float, ...]) -> tuple[float, ...]:
    """Binh and Korn 1997: two objectives, two constraints g1 <= 25, g2 >= 7.7."""
    x, y = 5.0 * u[0], 3.0 * u[1]
    return (
        4.0 * x * x + 4.0 * y * y,
        (x - 5.0) ** 2 + (y - 5.0) ** 2,
        (x - 5.0) ** 2 + y * y,
        (x - 8.0) ** 2 + (y + 3.0) ** 2,
    )


def ishigami(u: tuple[float, ...]) -> tuple[float, ...]:
    """Ishigami and Homma 1990 on (-pi, pi)^3 with a = 7, b = 0.1."""
    x1, x2, x3 = ((2.0 * v - 1.0) * math.pi for v in u)
    return (math.sin(x1) + 7.0 * math.sin(x2) ** 2 + 0.1 * x3**4 * math.sin(x1),)


FUNCTIONS = {"zdt1": zdt1, "zdt2": zdt2, "ishigami": ishigami, "binh-korn": binh_korn}


@dataclass(frozen=True)
class Timed:
    """Sleeps, answers its own level, and notes each try in a folder; kills its process on one level, once."""

    count: int
    seconds: float = 0.0
    folder: Path | None = None
    deadly: int = -1
    always: bool = False

    @property
    def name(self) -> str:
        return f"timed {self.count} {self.seconds} {self.deadly} {self.always} {self.folder}"

    def variant(self, levels: Levels) -> str:
        return f"{self.name} {levels}"

    def words(self, levels: Levels) -> tuple[str, ...]:
        return tuple(str(k) for k in levels)

    def open(self) -> Callable[[Task], Outcome]:
        return self.try_out

    def try_out(self, task: Task) -> Outcome:
        (level,) = task.levels
        if self.folder is not None:
            with (self.folder / f"tried-{level}").open("a") as file:
                file.write("x")
            died = self.folder / "died"
            if level == self.deadly and (self.always or not died.exists()):
                died.touch()
                os.kill(os.getpid(), signal.SIGKILL)
        if level < 0:
            raise ZeroDivisionError("a slip")
        if self.seconds:
            time.sleep(self.seconds)
        return Outcome(
            task.levels, (("f1", Answer(float((level * 7919) % 1009))), ("f2", Answer(float(level))))
        )


def timed_question(work: Timed) -> Question:
    counts = (Count("f1", "less"), Count("f2", "less"))
    return Question((Axis("level", work.count),), counts, work, "grid", work.count)
