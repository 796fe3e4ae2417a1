"""Where things stand, and the files that the house rules read."""

from __future__ import annotations

import ast
import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "sumpwright"
TESTS = ROOT / "tests"
DOCS = ROOT / "docs"


@cache
def kept_files() -> tuple[Path, ...]:
    """Every file that git keeps or would keep, whether it was added yet or not."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    ).stdout.decode()
    paths = (ROOT / name for name in sorted(set(listed.split("\0"))) if name)
    return tuple(path for path in paths if path.is_file() and not path.is_symlink())


def texts(*folders: Path, suffixes: tuple[str, ...] = (".py",)) -> tuple[tuple[str, str], ...]:
    """(path from the root, text) of the kept files below the folders."""
    return tuple(
        (path.relative_to(ROOT).as_posix(), path.read_text("utf-8"))
        for path in kept_files()
        if path.suffix in suffixes and any(folder in path.parents for folder in folders)
    )


@cache
def trees(folder: Path) -> tuple[tuple[str, ast.Module], ...]:
    """(path from the root, syntax tree) of the kept Python files below a folder."""
    return tuple((path, ast.parse(text)) for path, text in texts(folder))
