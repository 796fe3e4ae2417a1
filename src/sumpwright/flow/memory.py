"""What was worked out before, found again by what went in."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Any

from sumpwright.flow.fingerprint import fingerprint


class Memory:
    """Results by the name of their inputs; the oldest are forgotten first.

    Give the same ``Memory`` to several runs, and only what a change reaches is worked
    out again. Results are frozen, so handing one out twice is safe. Nothing is written
    to disk and nothing is kept outside this object.
    """

    def __init__(self, holds: int = 200) -> None:
        """``holds`` is the number of stage results kept."""
        if holds < 1:
            raise ValueError("a memory must hold at least one result")
        self._holds = holds
        self._results: OrderedDict[str, Any] = OrderedDict()

    def __len__(self) -> int:
        """Number of results kept."""
        return len(self._results)

    def recall(self, stage: str, inputs: tuple[Any, ...], work: Callable[..., Any]) -> tuple[Any, bool]:
        """The result of ``work(*inputs)``, and whether it was remembered instead of worked out.

        ``work`` gets nothing but the inputs that its result is remembered by. If it raises,
        nothing is kept.
        """
        return self.recall_as(fingerprint(stage, *inputs), lambda: work(*inputs))

    def recall_as(self, name: str, work: Callable[[], Any]) -> tuple[Any, bool]:
        """The same for a caller who has named all that the result depends on."""
        if name in self._results:
            self._results.move_to_end(name)
            return self._results[name], True
        result = work()
        self._results[name] = result
        while len(self._results) > self._holds:
            self._results.popitem(last=False)
        return result, False
