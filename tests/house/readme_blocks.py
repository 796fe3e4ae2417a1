"""The outputs that README.md shows are real: each block names its command and is made by it.

<!-- shown: sumpwright check my-pan, Oil -->     the section Oil of what check prints
<!-- shown: ls my-pan/pack -->                   the files of the pack
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import tempfile
from pathlib import Path

from sumpwright.cli.door import main
from tests.house.repository import ROOT

PAGE = ROOT / "README.md"
BLOCK = re.compile(
    r"(<!-- shown: (?P<command>[^,>]+?)(?:, (?P<section>[^>]+?))? -->\n```\n).*?(```\n)", re.DOTALL
)


def readme_with_real_blocks(text: str) -> str:
    """The page with every block as the program gives it now."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        said: dict[str, str] = {}

        def made(match: re.Match[str]) -> str:
            command = match["command"]
            if command not in said:
                said[command] = _output(command)
            return match[1] + _section(said[command], match["section"]) + match[4]

        return BLOCK.sub(made, text)


def _output(command: str) -> str:
    program, *arguments = command.split()
    if program == "ls":
        _output("sumpwright pack my-pan")
        return _listing(Path(arguments[0]))
    screen = io.StringIO()
    with contextlib.redirect_stdout(screen):
        status = main(arguments)
    if status not in (0, 1):
        raise RuntimeError(f"{command} ended with {status}")
    return "\n".join(line.rstrip() for line in screen.getvalue().splitlines()) + "\n"


def _listing(folder: Path) -> str:
    """Files of a folder, each folder inside it as one line with its count."""
    lines = []
    for path in sorted(folder.iterdir()):
        if path.is_dir():
            names = sorted(os.listdir(path))
            lines.append(f"{path.name + '/':<16} {len(names)} files: {names[0]}, {names[1]} ...")
        else:
            lines.append(path.name)
    return "\n".join(lines) + "\n"


def _section(output: str, part: str | None) -> str:
    """What stands below a heading, or the named findings; all of it without either."""
    if part is None:
        return output
    lines = output.splitlines()
    if part not in lines:
        return "".join(f"{line}\n" for code in part.split() for line in _finding(lines, code))
    start = lines.index(part)
    end = next((n for n in range(start + 1, len(lines)) if not lines[n]), len(lines))
    return "\n".join(lines[start:end]) + "\n"


def _finding(lines: list[str], code: str) -> list[str]:
    """The lines of the first finding with this code."""
    start = next(n for n, line in enumerate(lines) if line[:1].strip() and f" {code} " in line)
    end = next((n for n in range(start + 1, len(lines)) if lines[n][:1] != " "), len(lines))
    return lines[start:end]
