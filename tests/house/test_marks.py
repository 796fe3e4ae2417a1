"""Every test of a number says where the number comes from."""

from __future__ import annotations

import ast

import pytest

from tests.house.deviations import KINDS
from tests.house.marked_tests import _checks_a_number, marked_tests


def test_each_test_of_a_number_is_marked():
    bare = [f"{t.path}:{t.line} {t.name}" for t in marked_tests() if t.checks_a_number and not t.marks]
    assert not bare, "these check numbers and do not say where they come from:\n" + "\n".join(bare)


def test_each_mark_has_one_of_the_five_kinds_and_a_place():
    faults = [
        f"{test.path}:{test.line} {test.name}: {kind!r}, {where!r}"
        for test in marked_tests()
        for kind, where in test.marks
        if kind not in KINDS or len(where.strip("? ")) < 8
    ]
    assert not faults, "kind or place cannot be read (write them as plain texts):\n" + "\n".join(faults)


@pytest.mark.parametrize(
    ("body", "is_checked"),
    [
        ("assert x == 0.5", True),
        ("assert x == pytest.approx(2)", True),
        ("np.testing.assert_allclose(a, b)", True),
        ("assert abs(x - y) < 1e-9", True),
        ("assert name == 'sump'", False),
        ("assert len(parts) == 18", False),
        ("x = 0.5", False),
    ],
)
def test_the_reader_knows_a_number_when_it_sees_one(body, is_checked):
    assert _checks_a_number(ast.parse(body)) is is_checked
