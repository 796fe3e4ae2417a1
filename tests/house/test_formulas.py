"""Every formula names its units, its range and its source, and some test names it."""

from __future__ import annotations

import pytest

from sumpwright.tables.sources import sources
from tests.house.formula_docs import Formula, formulas, unit_faults
from tests.house.marked_tests import marked_tests, names_used

ALL = tuple(formulas())


def by_name(formula: Formula) -> str:
    return f"{formula.module.removeprefix('sumpwright.')}.{formula.name}"


def test_there_are_formulas_to_read():
    assert len(ALL) > 20


@pytest.mark.parametrize("formula", ALL, ids=by_name)
def test_a_formula_carries_its_papers(formula):
    faults = unit_faults(formula)
    if not formula.sentence.endswith("."):
        faults.append("the first line is not one sentence with a full stop")
    if not formula.equation:
        faults.append("there is no equation between the sentence and Args")
    if not formula.valid_for:
        faults.append("there is no 'Valid for:' line")
    if not formula.sources:
        faults.append("there is no 'Source:' line")
    faults += [f"source {name!r} is not in sources.toml" for name in formula.sources if name not in sources()]
    assert not faults, f"{by_name(formula)}:\n  " + "\n  ".join(faults)


def test_some_test_names_each_formula():
    named = frozenset().union(*(names_used(path) for path in {test.path for test in marked_tests()}))
    missing = [by_name(formula) for formula in ALL if formula.name not in named]
    assert not missing, "no test names " + ", ".join(missing)


def test_the_reader_finds_a_wrong_unit():
    """The rule itself is tried on a formula with a fault."""
    from sumpwright.quantities.units import Metre, SquareMetre

    def area(width: Metre, height: Metre) -> SquareMetre:
        """Area of a rectangle.

        A = w h

        Args:
            width: w [m].
            height: h [mm].

        Returns:
            A [m2].
        """
        return width * height

    area.__annotations__ = {"width": Metre, "height": Metre, "return": SquareMetre}
    assert unit_faults(Formula("area", "here", area)) == ["height: [mm] written, ['m'] annotated"]
