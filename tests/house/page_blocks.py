"""The outputs that README.md and the tutorial show are real: each block names its command and is made by it.

<!-- shown: sumpwright check my-pan, OIL-01 Altogether -->   these findings and the line of counts
<!-- shown: ls my-pan/pack -->                               the files of the pack
<!-- written: first-pan/job.toml -->                         the block is written to this file
<!-- added: first-pan/job.toml -->                           the block is added to its end
<!-- changed: first-pan/rail.csv -->                         lines with - give way to those with +
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import tempfile
from collections.abc import Callable
from pathlib import Path

from sumpwright.cli.door import main
from tests.house.repository import DOCS, ROOT

README = ROOT / "README.md"
TUTORIAL = DOCS / "first-pan.md"
PAGES = (README, TUTORIAL)
BLOCK = re.compile(
    r"(<!-- (?P<what>shown|written|added|changed): (?P<name>[^,>]+?)(?:, (?P<part>[^>]+?))? -->\n"
    r"```\w*\n)(?P<body>.*?)(```\n)",
    re.DOTALL,
)


def page_with_real_blocks(text: str, then: Callable[[], None] = lambda: None) -> str:
    """The page with every block as the program gives it now.

    ``then`` is called in the folder in which the page's commands ran, before it is taken away.
    """
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        said: dict[str, str] = {}

        def made(match: re.Match[str]) -> str:
            if match["what"] != "shown":
                said.clear()
                _edit(match["what"], Path(match["name"]), match["body"])
                return match[0]
            command = match["name"]
            if command not in said:
                said[command] = _output(command)
            return match[1] + _part(said[command], match["part"]) + match[6]

        page = BLOCK.sub(made, text)
        then()
        return page


def _edit(what: str, path: Path, body: str) -> None:
    """Write a block to a file, add it, or change the lines that it shows with - and +."""
    path.parent.mkdir(exist_ok=True)
    if what == "written":
        path.write_text(body, "utf-8")
    elif what == "added":
        path.write_text(path.read_text("utf-8") + "\n" + body, "utf-8")
    else:
        lines = body.splitlines(keepends=True)
        old = "".join(line[2:] for line in lines if line.startswith("- "))
        new = "".join(line[2:] for line in lines if line.startswith("+ "))
        text = path.read_text("utf-8")
        if text.count(old) != 1:
            raise ValueError(f"{path} holds these lines {text.count(old)} times:\n{old}")
        path.write_text(text.replace(old, new), "utf-8")


def _output(command: str) -> str:
    program, *arguments = command.split()
    if program == "ls":
        folder = Path(arguments[0])
        if folder.name == "pack":
            _output(f"sumpwright pack {folder.parent}")
        return _listing(folder)
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


def _part(output: str, part: str | None) -> str:
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
    """The lines of the first finding with this code, or the line that begins with this word."""
    starts = [n for n, line in enumerate(lines) if f" {code} " in line or line.startswith(f"{code}:")]
    if not starts:
        raise ValueError(f"nothing was printed with {code}:\n" + "\n".join(lines))
    start = starts[0]
    end = next((n for n in range(start + 1, len(lines)) if lines[n][:1] != " "), len(lines))
    return lines[start:end]
