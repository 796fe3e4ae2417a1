"""The evidence page: each formula, its source, the tests that name it, how close they came.

Built from three things: the docstrings of the formulas, the marks of the tests, and the
measured deviations in docs/evidence.json. Only the last need the tests to run.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator

from sumpwright.tables.sources import sources
from tests.house.formula_docs import Formula, formulas
from tests.house.marked_tests import MarkedTest, marked_tests
from tests.house.repository import DOCS

MEASURED = DOCS / "evidence.json"
PAGE = DOCS / "evidence.md"

HEAD = """\
# Evidence: where each number comes from, and how close the tests came

Written by `make docs`; do not edit. A test says where its expected number comes from:
*published* (a standard, table or worked example), *closed form*, *convergence*, *property*
(something that must hold whatever the number is) or *pinned* (our own earlier number: it
guards against drift and proves nothing). The deviation is the comparison of that test that
came nearest to what it allows, in the units that the test uses. A dash: the test compares
exactly, or by a bound or an order and not against one number.
"""


def measured() -> dict[str, dict[str, str]]:
    """Deviations by test, as measured when the page was last made."""
    known: dict[str, dict[str, str]] = json.loads(MEASURED.read_text("utf-8"))
    return known


def evidence_page(deviations: dict[str, dict[str, str]]) -> str:
    """The whole page."""
    marked = [test for test in marked_tests() if test.marks]
    by_formula = {formula: _tests_naming(formula, marked) for formula in formulas()}
    told = {test.node for tests in by_formula.values() for test in tests}
    return "\n".join(
        [
            HEAD,
            _counts(marked),
            "## Formulas\n",
            *_formula_sections(by_formula, deviations),
            "## Everything else that was checked\n",
            "Solvers, tables, files and whole jobs, by test file.\n",
            *_other_sections([test for test in marked if test.node not in told], deviations),
        ]
    )


def _tests_naming(formula: Formula, marked: list[MarkedTest]) -> list[MarkedTest]:
    stage = formula.module.split(".")[1]
    return [
        test
        for test in marked
        if formula.name in test.names and ("/published/" in test.path or f"tests/{stage}/" in test.path)
    ]


def _counts(marked: list[MarkedTest]) -> str:
    kinds = Counter(kind for test in marked for kind, _ in dict.fromkeys(test.marks))
    return f"{len(marked)} tests: " + ", ".join(f"{kinds[kind]} {kind}" for kind in sorted(kinds)) + ".\n"


def _formula_sections(
    by_formula: dict[Formula, list[MarkedTest]], deviations: dict[str, dict[str, str]]
) -> Iterator[str]:
    module = ""
    for formula, tests in by_formula.items():
        if formula.module != module:
            module = formula.module
            yield f"### {module.removeprefix('sumpwright.')}\n"
        yield f"**`{formula.name}`**: {formula.sentence}  "
        yield f"Valid for: {formula.valid_for}  "
        yield "Source: " + "; ".join(_source(name) for name in formula.sources) + "\n"
        if tests:
            yield from _table(tests, deviations)
        else:
            yield "No marked test names it directly; it is tested through the solver that uses it.\n"


def _source(name: str) -> str:
    known = sources().get(name)
    return f"{known.title} ({known.how})" if known else name


def _other_sections(tests: list[MarkedTest], deviations: dict[str, dict[str, str]]) -> Iterator[str]:
    for path in dict.fromkeys(test.path for test in tests):
        yield f"### {path}\n"
        yield from _table([test for test in tests if test.path == path], deviations)


def _table(tests: list[MarkedTest], deviations: dict[str, dict[str, str]]) -> Iterator[str]:
    yield "| test | kind | where the number stands | deviation | allowed |"
    yield "|---|---|---|---|---|"
    for test in tests:
        row = deviations.get(test.node, {})
        for kind, where in dict.fromkeys(test.marks):
            place = " ".join(where.split()).replace("|", "\\|")
            yield (
                f"| {test.name.removeprefix('test_').replace('_', ' ')} | {kind} | {place}"
                f" | {row.get('deviation', '-')} | {row.get('allowed', '-')} |"
            )
    yield ""
