"""Where each key of a TOML text stands: its line, for naming a faulty place.

The text has been read by tomllib before, so its grammar is known to be good; this walk
only keeps the line numbers that the reader throws away.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

Path = tuple[str | int, ...]

_BARE = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\", "e": "\x1b"}


class LineMap:
    """Line numbers by key path, ``("lumps", 1, "depth")``."""

    def __init__(self, text: str) -> None:
        walk = _Walk(text)
        walk.document()
        self._lines = walk.lines

    def line(self, path: Sequence[str | int]) -> int | None:
        """Line of the longest known front part of the path; None for a path nobody wrote."""
        for end in range(len(path), 0, -1):
            found = self._lines.get(tuple(path[:end]))
            if found is not None:
                return found
        return None


class _Walk:
    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.count: dict[Path, int] = {}  # tables seen so far of each [[array]]
        self._starts = [0, *(n + 1 for n, letter in enumerate(self.text) if letter == "\n")]

    def mark(self, path: Path) -> None:
        self.lines.setdefault(path, bisect_right(self._starts, self.at))

    def peek(self, length: int = 1) -> str:
        return self.text[self.at : self.at + length]

    def skip(self, blanks: str) -> None:
        """Step over blanks, and over comments where line ends count as blank."""
        while self.at < len(self.text):
            if self.text[self.at] in blanks:
                self.at += 1
            elif self.text[self.at] == "#" and "\n" in blanks:
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            else:
                return

    def document(self) -> None:
        table: Path = ()
        self.skip(" \t\n")
        while self.at < len(self.text):
            if self.peek() == "[":
                table = self.header()
            else:
                self.pair(table)
            self.skip(" \t\n")

    def header(self) -> Path:
        is_array = self.peek(2) == "[["
        start = self.at
        self.at += 2 if is_array else 1
        names = self.key()
        path: Path = ()
        for depth, name in enumerate(names):
            path = (*path, name)
            if depth < len(names) - 1 and path in self.count:
                path = (*path, self.count[path] - 1)
        after = self.at
        self.at = start
        self.mark(path)
        if is_array:
            self.count[path] = self.count.get(path, 0) + 1
            path = (*path, self.count[path] - 1)
            self.mark(path)
        self.at = after
        self.skip(" \t]")
        return path

    def pair(self, table: Path) -> None:
        start = self.at
        names = self.key()
        after = self.at
        self.at = start
        for end in range(1, len(names) + 1):
            self.mark((*table, *names[:end]))
        self.at = after
        self.skip(" \t=")
        self.value((*table, *names))

    def key(self) -> tuple[str, ...]:
        names = []
        while True:
            self.skip(" \t")
            if self.peek() in ('"', "'"):
                names.append(self.string())
            else:
                start = self.at
                while self.at < len(self.text) and self.text[self.at] in _BARE:
                    self.at += 1
                names.append(self.text[start : self.at])
            self.skip(" \t")
            if self.peek() != ".":
                return tuple(names)
            self.at += 1

    def string(self) -> str:
        """Step over a string; its content, with the short escapes undone, for a key's sake."""
        quote = self.peek()
        if self.peek(3) == quote * 3:
            self.at += 3
            while self.at < len(self.text) and self.peek(3) != quote * 3:
                self.at += 2 if quote == '"' and self.peek() == "\\" else 1
            self.at += 3
            while self.peek() == quote:  # up to two quotes may stand before the closing three
                self.at += 1
            return ""
        self.at += 1
        letters = []
        while self.at < len(self.text) and self.peek() != quote:
            if quote == '"' and self.peek() == "\\":
                self.at += 1
                letters.append(_ESCAPES.get(self.peek(), self.peek()))
            else:
                letters.append(self.peek())
            self.at += 1
        self.at += 1
        return "".join(letters)

    def value(self, path: Path) -> None:
        self.mark(path)
        first = self.peek()
        if first in ('"', "'"):
            self.string()
        elif first == "[":
            self.items(path)
        elif first == "{":
            self.at += 1
            self.skip(" \t\n")
            while self.at < len(self.text) and self.peek() != "}":
                self.pair(path)
                self.skip(" \t\n,")
            self.at += 1
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
                self.at += 1

    def items(self, path: Path) -> None:
        self.at += 1
        index = 0
        self.skip(" \t\n")
        while self.at < len(self.text) and self.peek() != "]":
            self.value((*path, index))
            index += 1
            self.skip(" \t\n,")
        self.at += 1
