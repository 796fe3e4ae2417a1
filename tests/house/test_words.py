"""Words and habits that stay out of what is kept."""

from __future__ import annotations

import ast
import re

import pytest

from tests.house.repository import PACKAGE, ROOT, kept_files, trees

SELF = "tests/house/test_words.py"
TEXT_SUFFIXES = {
    ".py", ".md", ".toml", ".csv", ".txt", ".cfg", ".ini", ".json", ".lock", ".ts", ".css", ".html", "",
}  # fmt: skip
NEVER = {
    "a path of one machine": re.compile(r"(?<![\w.])/(?:work|tmp|root|home)/"),
    "unfinished": re.compile(r"\b(?:TO" r"DO|FIX" r"ME|XXX|NotImplemented" r"Error)\b"),
    "a package host": re.compile(r"pypi\.org|pythonhosted|registry\.npmjs|npmjs\.org|simple/$"),
    "a page that is not kept here": re.compile(
        r"\b(?:HANDBOOK|(?:JOB|DESIGN|NAMES|EXAMPLES|MOTION|CORNERS)\.md|se{2}d\s+doc\w+)\b"
    ),
    # Where a machine lacks a card or a browser, the test says so in words that begin with 'not run'.
    "a test that does not run": re.compile(r"pytest\.mark\.(?:skip|xfail)\b|pytest\.skip\((?!\"not run: )"),
}
BLAME = re.compile(r"\b(?:invalid|illegal|erroneous)\b", re.IGNORECASE)


def kept_texts():
    for path in kept_files():
        name = path.relative_to(ROOT).as_posix()
        if path.suffix in TEXT_SUFFIXES and name not in (SELF, "LICENSE"):
            yield name, path.read_text("utf-8")


@pytest.mark.parametrize("what", NEVER)
def test_no_kept_file_holds(what):
    found = [
        f"{name}:{number} {line.strip()[:90]}"
        for name, text in kept_texts()
        for number, line in enumerate(text.splitlines(), 1)
        if NEVER[what].search(line)
    ]
    assert not found, f"{what}:\n" + "\n".join(found)


def test_no_fault_is_swallowed():
    found = []
    for path, tree in trees(PACKAGE):
        for node in ast.walk(tree):
            if isinstance(node, ast.ExceptHandler):
                broad = node.type is None or getattr(node.type, "id", "") in ("Exception", "BaseException")
                silent = all(isinstance(part, (ast.Pass, ast.Continue)) for part in node.body)
                hands_on = any(isinstance(part, ast.Raise) for part in ast.walk(node))
                if (broad and not hands_on and not path.endswith("cli/door.py")) or silent:
                    found.append(f"{path}:{node.lineno}")
    assert not found, "an except that hides what happened:\n" + "\n".join(found)


def test_no_message_calls_the_reader_wrong():
    found = []
    for path, tree in trees(PACKAGE):
        docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            is_words = isinstance(node, ast.Constant) and isinstance(node.value, str)
            if is_words and id(node) not in docs and BLAME.search(node.value):
                found.append(f"{path}:{node.lineno} {node.value[:60]!r}")
    assert not found, "say what stands there and what would do instead:\n" + "\n".join(found)


def test_no_file_is_named_for_nothing():
    empty = {"utils", "util", "manager", "misc", "helpers", "helper", "common", "data2", "stuff"}
    found = [
        path.relative_to(ROOT).as_posix()
        for path in kept_files()
        if empty & {*path.relative_to(ROOT).parts[:-1], path.stem}
    ]
    assert not found, "name it for the noun it holds: " + ", ".join(found)


def test_text_quantities_are_read_and_written_at_two_edges_only():
    allowed = ("quantities/", "job/", "outputs/")
    found = []
    for path, tree in trees(PACKAGE):
        inside = path.removeprefix("src/sumpwright/")
        for node in ast.walk(tree):
            names = (
                [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else [alias.name for alias in node.names]
                if isinstance(node, ast.Import)
                else []
            )
            reads = any(name.startswith("sumpwright.quantities.text") for name in names)
            if reads and not inside.startswith(allowed):
                found.append(f"{path}:{node.lineno}")
    assert not found, "units in words belong to job and outputs:\n" + "\n".join(found)
