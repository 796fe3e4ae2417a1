"""Getting the text of a file safely: small enough, plain, UTF-8, inside the job's folder."""

from __future__ import annotations

import re
import stat
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sumpwright.job.faults import Fault, shown

LARGEST_FILE = 512 * 1024
"""Bytes. A job of thirty lumps takes ten thousand; two thousand readings a hundred thousand."""

LONGEST_LINE = 4000
DEEPEST = 8
"""A list of points of an outline in a lump is four deep."""


def read_bytes(path: Path, home: Path, what: str, most: int = LARGEST_FILE) -> bytes | Fault:
    """The bytes of an ordinary file inside ``home`` of at most ``most`` bytes, or why not."""
    name = path.name
    try:
        kind = path.stat()
    except FileNotFoundError:
        if path.is_symlink():
            return Fault(name, None, "", "", f"{what} is a link that leads nowhere")
        return Fault(name, None, "", "", f"{what} is not there; it should stand beside the job file")
    except OSError as trouble:
        return Fault(name, None, "", "", f"{what} cannot be read: {_reason(trouble)}")
    if not stat.S_ISREG(kind.st_mode):
        return Fault(name, None, "", "", f"{what} is no ordinary file")
    if not path.resolve().is_relative_to(home.resolve()):
        return Fault(
            name, None, "", "", f"{what} leads out of the job's folder; copy the file itself into it"
        )
    if kind.st_size > most:
        size = f"{kind.st_size / 1024:.0f} kB"
        return Fault(name, None, "", size, f"{what} is too big to be one", f"up to {most // 1024} kB")
    try:
        raw = path.read_bytes()
    except OSError as trouble:
        return Fault(name, None, "", "", f"{what} cannot be read: {_reason(trouble)}")
    if len(raw) > most:
        return Fault(name, None, "", "", f"{what} is too big to be one", f"up to {most // 1024} kB")
    return raw


def as_text(raw: bytes, name: str, what: str) -> str | Fault:
    """The bytes as text with plain line ends, or why not."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Fault(name, 1, "", "", f"{what} is saved as UTF-16; save it as UTF-8")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        last_good = raw.count(b"\n", 0, trouble.start) + 1
        return Fault(
            name,
            last_good,
            "",
            "",
            f"{what} is not plain UTF-8 text from this line on; save it again as UTF-8",
        )
    if not text.strip():
        return Fault(name, None, "", "", f"{what} is empty")
    text = text.replace("\r\n", "\n")
    for at, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            return Fault(
                name, at, "", shown(line), "this line is too long", f"up to {LONGEST_LINE} letters a line"
            )
        if "\x00" in line:
            return Fault(
                name, at, "", "", f"{what} holds bytes that are no text; it may be another kind of file"
            )
    return text


@dataclass(frozen=True, slots=True)
class TomlText:
    """A TOML file as read: ``data`` is None where it cannot be made out."""

    text: str  # with the slips mended that could be
    data: dict[str, Any] | None
    faults: tuple[Fault, ...]


LARGEST_MENDED = 64 * 1024
MOST_MENDED = 40
"""Forgotten quotes in one file that are told before the reader gives up."""


def as_toml(text: str, name: str, what: str) -> TomlText:
    """The text as TOML, with every line that cannot be read as far as the rest can be made out.

    Forgotten quotes are the usual slip. Each is told, and mended in memory only, so that
    what else is wrong can be told along with it.
    """
    faults: list[Fault] = []
    data: dict[str, Any] | None = None
    deep = Fault(name, None, "", "", f"{what} is nested deeper than anything a job needs")
    while len(faults) < MOST_MENDED:
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError as trouble:
            fault = _syntax_fault(str(trouble), text, name)
            faults.append(fault)
            if not fault.key or fault.line is None or len(text) > LARGEST_MENDED:
                break
            lines = text.split("\n")
            lines[fault.line - 1] = fault.good
            text = "\n".join(lines)
            continue
        except RecursionError:
            faults.append(deep)
        except ValueError:
            # A whole number of thousands of figures, a date on the 40th of May.
            faults.append(Fault(name, None, "", "", "a number or date in it cannot be one"))
        break
    if data is not None and _depth_exceeds(data, DEEPEST):
        return TomlText(text, None, (*faults, deep))
    return TomlText(text, data, tuple(faults))


_PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")
_BARE_QUANTITY = re.compile(
    r"^\s*(?P<key>[A-Za-z0-9_.-]+)\s*=\s*(?P<value>[+-]?[0-9.][^\"'#\[\]{}]*[A-Za-z%\"'][^#]*?)\s*(?:#.*)?$"
)
_BARE_WORD = re.compile(r"^\s*(?P<key>[A-Za-z0-9_.-]+)\s*=\s*(?P<value>[A-Za-z][^\"'#\[\]{}]*?)\s*(?:#.*)?$")


def _syntax_fault(trouble: str, text: str, name: str) -> Fault:
    lines = text.split("\n")
    place = _PLACE.search(trouble)
    number = int(place[1]) if place and place[1] else len(lines)
    words = _PLACE.sub("", trouble)
    line = lines[number - 1] if number <= len(lines) else ""
    read = shown(line.strip())[1:-1] if line.strip() else "the end of the file"
    bare = _BARE_QUANTITY.match(line) or (_BARE_WORD.match(line) if "true" not in line else None)
    if bare is not None:
        value = bare["value"].replace('"', " in").replace("\\", "/").strip()
        return Fault(
            name,
            number,
            bare["key"],
            read,
            "text and quantities stand in quotes",
            good=f'{bare["key"]} = "{value}"',
        )
    if "overwrite" in words or "twice" in words or "already" in words.casefold():
        return Fault(
            name,
            number,
            "",
            read,
            "this key or section stands here for the second time",
            good="each key once; a section that may be repeated stands in double brackets, [[lumps]]",
        )
    if place is not None and place[1] is None:
        return Fault(name, number, "", read, "the file ends too early: a quote or bracket is still open")
    return Fault(
        name,
        number,
        "",
        read,
        f"this line cannot be read ({words[:1].lower()}{words[1:]})",
        good='key = "value"',
    )


def _depth_exceeds(data: Any, limit: int) -> bool:
    """Whether lists and tables stand in each other deeper than this; walks without recursion."""
    level = [data]
    for _ in range(limit):
        level = [
            inner
            for item in level
            for inner in (item.values() if isinstance(item, dict) else item)
            if isinstance(inner, dict | list)
        ]
        if not level:
            return False
    return True


def _reason(trouble: OSError) -> str:
    return (trouble.strerror or type(trouble).__name__).lower()
