"""Every answer that was ever found, in one file that only grows.

Tables, for whoever wants to ask them with SQL: ``variants`` (name and, as a list, what each
thing was), ``found`` (variant, answer, value in base SI or why there is none), ``asked`` (plan,
number in its order, variant). Rows are added and never changed or taken away.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType

from sumpwright.explore.model import Answer, ExploreError, Found

SCHEMA = "sumpwright-explored-1"
WAIT_S = 30.0
"""So long another process may hold the file before this one gives up."""

_TABLES = """
CREATE TABLE IF NOT EXISTS about (schema TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS variants (
    variant INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, says TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS found (
    variant INTEGER NOT NULL REFERENCES variants, answer TEXT NOT NULL, value REAL, why TEXT NOT NULL,
    PRIMARY KEY (variant, answer)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS asked (
    plan TEXT NOT NULL, number INTEGER NOT NULL, variant INTEGER NOT NULL REFERENCES variants,
    PRIMARY KEY (plan, number)) WITHOUT ROWID;
"""


class StoreError(ExploreError):
    """The file is not ours, or cannot be used; one line says why."""


class Store:
    """The file, open. Only the process that leads an exploration writes to it."""

    def __init__(self, path: Path | None) -> None:
        """``path`` None keeps everything in memory."""
        self._name = "the store" if path is None else path.name
        try:
            self._db = sqlite3.connect(":memory:" if path is None else path, timeout=WAIT_S)
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = NORMAL")
            self._make()
        except sqlite3.Error as trouble:
            raise self._error(trouble) from trouble

    def _make(self) -> None:
        tables = {row[0] for row in self._db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if tables and "about" not in tables:
            raise StoreError(f"{self._name} is no store of this program, so it was left alone.")
        self._db.executescript(_TABLES)
        marks = [row[0] for row in self._db.execute("SELECT schema FROM about")]
        if not marks:
            self._db.execute("INSERT INTO about VALUES (?)", (SCHEMA,))
            self._db.commit()
        elif marks[0] != SCHEMA:
            raise StoreError(
                f"{self._name} was written by another version ({marks[0]}); move it to start afresh."
            )

    def _error(self, trouble: sqlite3.Error) -> StoreError:
        return StoreError(f"{self._name} cannot be used: {trouble}. Move it elsewhere to start afresh.")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """What the file does wrong is told in words: a file that was cut short opens, and fails at a row."""
        try:
            yield
        except sqlite3.Error as trouble:
            raise self._error(trouble) from trouble
        except (ValueError, TypeError) as trouble:
            raise StoreError(
                f"{self._name} cannot be used: a row of it is damaged. Move it elsewhere to start afresh."
            ) from trouble

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Keeps what was added, whatever happened."""
        try:
            with self._told():
                self._db.commit()
        finally:
            self._db.close()

    def found(self, name: str) -> dict[str, Answer]:
        """What is known of a variant."""
        with self._told():
            rows = self._db.execute(
                "SELECT answer, value, why FROM found JOIN variants USING (variant) WHERE name = ?", (name,)
            )
            return {answer: Answer(value, why) for answer, value, why in rows}

    def ask(self, plan: str, number: int, name: str, says: tuple[str, ...]) -> None:
        """Note that a plan's variant of this number is this one."""
        with self._told():
            at = self._variant(name, says)
            self._db.execute("INSERT OR IGNORE INTO asked VALUES (?, ?, ?)", (plan, number, at))

    def add(self, name: str, says: tuple[str, ...], found: Mapping[str, Answer]) -> None:
        """Add answers of a variant; one that is there already stays as it is."""
        with self._told():
            at = self._variant(name, says)
            self._db.executemany(
                "INSERT OR IGNORE INTO found VALUES (?, ?, ?, ?)",
                [(at, answer, one.value, one.why) for answer, one in found.items()],
            )

    def keep(self) -> None:
        """From here on, what was added outlives this process."""
        with self._told():
            self._db.commit()

    def of_plan(self, plan: str) -> Iterator[tuple[int, tuple[str, ...], Found]]:
        """Number, what each thing was, and all answers of a plan's variants, in its order."""
        with self._told():
            rows = self._db.execute(
                "SELECT number, says, answer, value, why FROM asked JOIN variants USING (variant)"
                " LEFT JOIN found USING (variant) WHERE plan = ? ORDER BY number, answer",
                (plan,),
            )
            at: int | None = None
            says: tuple[str, ...] = ()
            gathered: dict[str, Answer] = {}
            for number, written, answer, value, why in rows:
                if number != at:
                    if at is not None:
                        yield at, says, gathered
                    at, says, gathered = number, tuple(json.loads(written)), {}
                if answer is not None:
                    gathered[answer] = Answer(value, why)
            if at is not None:
                yield at, says, gathered

    def says(self, plan: str, number: int) -> tuple[str, ...] | None:
        """What each thing is in a plan's variant of this number; None where it was never asked for."""
        with self._told():
            row = self._db.execute(
                "SELECT says FROM asked JOIN variants USING (variant) WHERE plan = ? AND number = ?",
                (plan, number),
            ).fetchone()
            return None if row is None else tuple(json.loads(row[0]))

    def count(self, plan: str) -> int:
        """How many variants of a plan were asked for."""
        with self._told():
            return int(self._db.execute("SELECT COUNT(*) FROM asked WHERE plan = ?", (plan,)).fetchone()[0])

    def different(self, plan: str) -> int:
        """How many of them are not the same pan as another."""
        with self._told():
            row = self._db.execute(
                "SELECT COUNT(DISTINCT variant) FROM asked WHERE plan = ?", (plan,)
            ).fetchone()
            return int(row[0])

    def _variant(self, name: str, says: tuple[str, ...]) -> int:
        self._db.execute(
            "INSERT OR IGNORE INTO variants (name, says) VALUES (?, ?)",
            (name, json.dumps(says, ensure_ascii=False)),
        )
        return int(self._db.execute("SELECT variant FROM variants WHERE name = ?", (name,)).fetchone()[0])
