"""Reads the finding codes from the source: which there are, where, and what they say."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from tests.house.repository import PACKAGE, trees

CODE = re.compile(r"[A-Z]{2,6}-\d\d")
SECTIONS = {
    "RAIL": ("rail", "Rail"),
    "BODY": ("body", "Shape"),
    "OIL": ("oil", "Oil"),
    "MOT": ("motion", "Motion"),
    "SUC": ("suction", "Suction"),
    "KIT": ("kit", "Parts"),
    "WELD": ("weld", "Welding"),
    "PROOF": ("proof", "Proof"),
}
"""Folder and section of the sheet by the prefix of the codes, in the order of the sheet."""


@dataclass(frozen=True)
class CodeUse:
    """One place in the source that speaks under a code."""

    code: str
    path: str
    line: int


@cache
def code_uses() -> tuple[CodeUse, ...]:
    """Every code that a finding is worded under, in the order of files and lines.

    A comparison with a code, and the code of a proposal, speak about a finding and are none.
    """
    uses = []
    for path, tree in trees(PACKAGE):
        spoken_about = {
            id(part)
            for node in ast.walk(tree)
            if isinstance(node, ast.Compare)
            or (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Proposal")
            for part in ast.walk(node)
        }
        uses.extend(
            CodeUse(node.value, path, node.lineno)
            for node in ast.walk(tree)
            if _is_code(node) and id(node) not in spoken_about
        )
    return tuple(uses)


@cache
def sentences_by_code() -> dict[str, tuple[str, ...]]:
    """What is said under each code, as written, gaps and all, in the order of the work."""
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for _, tree in trees(PACKAGE):
        for code, sentence in _of_file(tree):
            found[code][sentence] = None
    return {code: tuple(found[code]) for code in sorted(found, key=_work_order)}


def _work_order(code: str) -> tuple[int, str]:
    order = list(SECTIONS)
    prefix = code.partition("-")[0]
    return (order.index(prefix) if prefix in order else len(order), code)


def _of_file(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """(code, sentence) of one file.

    A function that is handed its code says its sentences under every code that its callers
    hand it; callers that name no code in the call itself lend all the codes they hold.
    """
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    handed: dict[str, list[str]] = {}
    for function in functions:
        own, open_ones = _sayings(function)
        yield from own
        if open_ones:
            handed[function.name] = open_ones
    for function in functions:
        held = {node.value for node in ast.walk(function) if _is_code(node)}
        for call in ast.walk(function):
            name = getattr(getattr(call, "func", None), "id", "")
            if isinstance(call, ast.Call) and name in handed and name != function.name:
                codes = {node.value for node in ast.walk(call) if _is_code(node)} or held
                for code in sorted(codes):
                    for sentence in handed[name]:
                        yield code, sentence


def _is_code(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str) and bool(CODE.fullmatch(node.value))


def _sayings(function: ast.FunctionDef) -> tuple[list[tuple[str, str]], list[str]]:
    """(code, sentence) that a function words itself, and sentences whose code it is handed."""
    held = sorted({node.value for node in ast.walk(function) if _is_code(node)})
    assigned: dict[str, list[str]] = defaultdict(list)
    for part in ast.walk(function):
        if isinstance(part, ast.Assign):
            for target in part.targets:
                if isinstance(target, ast.Name):
                    assigned[target.id].extend(_sentences(part.value))
    own: list[tuple[str, str]] = []
    open_ones: list[str] = []
    for part in ast.walk(function):
        if not isinstance(part, ast.Call):
            continue
        named = {keyword.arg: keyword.value for keyword in part.keywords}
        if getattr(part.func, "id", "") == "Finding" and len(part.args) > 3:
            named |= {"code": part.args[0], "says": part.args[3]}
        if "says" not in named:
            continue
        said = _sentences(named["says"]) or assigned[getattr(named["says"], "id", "")]
        code = named.get("code")
        if code is not None and _is_code(code):
            own.extend((code.value, sentence) for sentence in said)
        elif held:
            own.extend((one, sentence) for one in held for sentence in said)
        else:
            open_ones.extend(said)
    return own, open_ones


def _sentences(node: ast.AST) -> list[str]:
    """The texts that an expression can give."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) and len(node.value) > 3 else []
    if isinstance(node, ast.JoinedStr):
        pieces = (str(part.value) if isinstance(part, ast.Constant) else "..." for part in node.values)
        return ["".join(pieces)]
    if isinstance(node, ast.IfExp):
        return [*_sentences(node.body), *_sentences(node.orelse)]
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        right = _sentences(node.right) or [""]
        return [left + more for left in _sentences(node.left) for more in right]
    return []
