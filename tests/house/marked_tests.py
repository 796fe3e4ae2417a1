"""Reads the tests without running them: which check numbers, and where those come from."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from tests.house.repository import TESTS, texts

COMPARERS = {
    "approx", "isclose", "allclose", "assert_allclose", "assert_almost_equal", "assert_array_almost_equal",
}  # fmt: skip


@dataclass(frozen=True)
class MarkedTest:
    """One test function."""

    path: str
    name: str
    line: int
    marks: tuple[tuple[str, str], ...]  # (kind, where) as written; ("?", ...) where it cannot be read
    names: frozenset[str]  # every name it uses
    checks_a_number: bool

    @property
    def node(self) -> str:
        """As pytest calls it, without its parameters."""
        return f"{self.path}::{self.name}"


@cache
def marked_tests() -> tuple[MarkedTest, ...]:
    """Every test function below tests/, in the order of files and lines."""
    return tuple(test for path, text in texts(TESTS) for test in _of_file(path, text))


@cache
def names_used(path: str) -> frozenset[str]:
    """Every name that a test file uses, helpers included."""
    return _names(ast.parse(dict(texts(TESTS))[path]))


def _of_file(path: str, text: str) -> Iterator[MarkedTest]:
    if not path.rpartition("/")[2].startswith("test_"):
        return
    tree = ast.parse(text)
    constants = _text_constants(tree)
    shared = tuple(
        mark
        for node in tree.body
        if isinstance(node, ast.Assign) and any(getattr(t, "id", "") == "pytestmark" for t in node.targets)
        for mark in _marks(node.value, constants)
    )
    aliases = {
        target.id: _marks(node.value, constants)
        for node in tree.body
        if isinstance(node, ast.Assign)
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    helpers = {
        node.name: node
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("test")
    }
    yield from _of_body(path, "", tree.body, shared, constants, aliases, helpers)


def _of_body(path, prefix, body, shared, constants, aliases, helpers) -> Iterator[MarkedTest]:
    for node in body:
        if isinstance(node, ast.ClassDef) and node.name.startswith("Test"):
            own = tuple(mark for d in node.decorator_list for mark in _marks(d, constants, aliases))
            yield from _of_body(
                path, f"{prefix}{node.name}::", node.body, shared + own, constants, aliases, helpers
            )
        elif isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.name.startswith("test"):
            own = tuple(mark for d in node.decorator_list for mark in _marks(d, constants, aliases))
            asked = [helpers[name] for name in _names(node) & set(helpers)]
            yield MarkedTest(
                path,
                f"{prefix}{node.name}",
                node.lineno,
                shared + own,
                _names(node),
                any(_checks_a_number(part) for part in (node, *asked)),
            )


def _marks(node: ast.AST, constants: dict[str, str], aliases=None) -> tuple[tuple[str, str], ...]:
    """Every expected_from(kind, where) inside an expression."""
    found = []
    for part in ast.walk(node):
        if isinstance(part, ast.Call) and getattr(part.func, "attr", "") == "expected_from":
            words = [_text(arg, constants) for arg in part.args]
            found.append([*words, "?", "?"][:2])
        elif isinstance(part, ast.Name) and aliases:
            found.extend(aliases.get(part.id, ()))
    return tuple((kind, where) for kind, where in found)


def _text(node: ast.AST, constants: dict[str, str]) -> str:
    """The text of an expression: literals, named constants of the file, and sums of them."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.Name):
        return constants.get(node.id, "?")
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return _text(node.left, constants) + _text(node.right, constants)
    if isinstance(node, ast.JoinedStr):
        return "".join(
            _text(part.value if isinstance(part, ast.FormattedValue) else part, constants)
            for part in node.values
        )
    return "?"


def _text_constants(tree: ast.Module) -> dict[str, str]:
    found: dict[str, str] = {}
    for node in tree.body:
        if isinstance(node, ast.Assign) and len(node.targets) == 1 and isinstance(node.targets[0], ast.Name):
            words = _text(node.value, found)
            if "?" not in words or isinstance(node.value, ast.Constant):
                found[node.targets[0].id] = words
    return found


def _names(tree: ast.AST) -> frozenset[str]:
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            found.add(node.id)
        elif isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, ast.alias):
            found.add(node.name.rpartition(".")[2])
    return frozenset(found)


def _checks_a_number(tree: ast.AST) -> bool:
    """Whether it compares with a tolerance, or asserts against a number with decimals."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name in COMPARERS:
                return True
        if isinstance(node, ast.Assert) and any(
            isinstance(part, ast.Compare) and _has_decimals(part) for part in ast.walk(node)
        ):
            return True
    return False


def _has_decimals(compare: ast.Compare) -> bool:
    return any(_holds_a_float(side) for side in (compare.left, *compare.comparators))


def _holds_a_float(node: ast.AST) -> bool:
    """Whether a number with decimals stands here itself, not as an argument of a call."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, float) and node.value != 0.0
    return not isinstance(node, ast.Call) and any(_holds_a_float(p) for p in ast.iter_child_nodes(node))
