"""Results are remembered by their inputs, and only by them."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sumpwright.findings import Finding, Verdict
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.flow.memory import Memory
from sumpwright.quantities.units import FloatArray, frozen_array


@dataclass(frozen=True, eq=False)
class Inputs:
    name: str
    sheet: float
    outline: FloatArray  # (n, 2)
    parts: tuple[str, ...] = ()


def inputs() -> Inputs:
    return Inputs("sump", 0.003, frozen_array([[0, 0], [1, 0], [1, 1]]), ("a", "b"))


def test_equal_inputs_built_twice_have_one_name():
    assert fingerprint(inputs()) == fingerprint(inputs())


@pytest.mark.parametrize(
    "other",
    [
        replace(inputs(), name="tray"),
        replace(inputs(), sheet=float(np.nextafter(0.003, 1.0))),
        replace(inputs(), outline=frozen_array([[0, 0], [1, 0], [1, 1 + 1e-16 + 1e-15]])),
        replace(inputs(), outline=frozen_array([0, 0, 1, 0, 1, 1])),
        replace(inputs(), parts=("ab",)),
        replace(inputs(), parts=("b", "a")),
    ],
    ids=["text", "one bit of a number", "one corner", "shape of the array", "split of texts", "order"],
)
def test_any_difference_gives_another_name(other):
    assert fingerprint(other) != fingerprint(inputs())


@given(st.lists(st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text()), max_size=4))
def test_kinds_never_run_into_each_other(values):
    assert fingerprint(*values) != fingerprint(tuple(values))
    assert fingerprint(tuple(values)) == fingerprint(tuple(values))


@pytest.mark.parametrize(("one", "two"), [(1, 1.0), (True, 1), ("1", 1), (0.0, -0.0), (None, "")])
def test_alike_values_of_different_kinds_differ(one, two):
    assert fingerprint(one) != fingerprint(two)


def test_what_can_change_behind_our_back_is_refused():
    for value in ([1, 2], {"a": 1}, lambda: 1, np.array([object()])):
        with pytest.raises(TypeError, match="frozen"):
            fingerprint(value)


def test_the_name_is_the_same_in_another_process():
    program = (
        "from sumpwright.flow.fingerprint import fingerprint; print(fingerprint('rail', 0.25, (1, None)))"
    )
    other = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONHASHSEED": "7"},
    )
    assert other.stdout.strip() == fingerprint("rail", 0.25, (1, None))


def test_same_inputs_are_worked_out_once():
    memory, done = Memory(), []

    def work(*inputs: Inputs) -> str:
        done.append(1)
        return "result"

    assert memory.recall("rail", (inputs(),), work) == ("result", False)
    assert memory.recall("rail", (inputs(),), work) == ("result", True)
    assert len(done) == 1
    memory.recall("oil", (inputs(),), work)
    assert len(done) == 2


def test_oldest_results_are_forgotten_first():
    memory = Memory(holds=2)
    for name in ("a", "b"):
        memory.recall(name, (), lambda name=name: name)
    memory.recall("a", (), lambda: "never")  # a is now the newer one
    memory.recall("c", (), lambda: "c")
    assert memory.recall("a", (), lambda: "again") == ("a", True)
    assert memory.recall("b", (), lambda: "again") == ("again", False)


def test_work_that_fails_leaves_nothing_behind():
    memory = Memory()

    def broken() -> str:
        raise RuntimeError("fault")

    with pytest.raises(RuntimeError):
        memory.recall("kit", (), broken)
    assert len(memory) == 0


def test_findings_can_be_named():
    finding = Finding("OIL-01", Verdict.HOLDS, "sump", "holds")
    assert fingerprint(finding) != fingerprint(replace(finding, verdict=Verdict.FAILS))
