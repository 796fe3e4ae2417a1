"""The files of one job on the disk: read whole, written whole or not at all."""

from __future__ import annotations

import hashlib
import os
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from sumpwright.job.faults import Fault
from sumpwright.job.files import LARGEST_FILE, as_text, read_bytes
from sumpwright.job.read import JOB_FILE, READINGS_FILE
from sumpwright.job.shop import SHOP_FILE
from sumpwright.web.messages import FileKind

Signature = tuple[tuple[str, int, int], ...]
"""(name, time of the last change [ns], bytes) of every file that is watched."""


@dataclass(frozen=True, slots=True)
class FileText:
    """One file as it stands: its text with the line ends it came with."""

    name: str
    text: str
    has_mark: bool = False  # a byte order mark in front, kept as it was

    @property
    def raw(self) -> bytes:
        """The bytes that belong on the disk."""
        return (b"\xef\xbb\xbf" if self.has_mark else b"") + self.text.encode("utf-8")

    @staticmethod
    def of(name: str, raw: bytes) -> FileText:
        """From the bytes of a readable file."""
        has_mark = raw.startswith(b"\xef\xbb\xbf")
        return FileText(name, raw[3 * has_mark :].decode("utf-8"), has_mark)

    def with_text(self, text: str) -> FileText:
        """The same file with another text; where all lines ended as Windows ends them, the new ones do."""
        lines = self.text.count("\n")
        if lines and self.text.count("\r\n") == lines:
            text = text.replace("\r\n", "\n").replace("\n", "\r\n")
        return FileText(self.name, text, self.has_mark)


@dataclass(frozen=True, slots=True)
class FileSet:
    """The three files that are edited, as read together; None where one is not there or not readable."""

    job: FileText | None
    shop: FileText | None
    readings: FileText | None
    faults: tuple[Fault, ...] = ()

    @property
    def version(self) -> str:
        """A short name of all their bytes together."""
        digest = hashlib.blake2b(digest_size=12)
        for one in (self.job, self.shop, self.readings):
            raw = b"" if one is None else one.raw
            digest.update(f"{'' if one is None else one.name}\0{len(raw)}\0".encode())
            digest.update(raw)
        return digest.hexdigest()

    def file(self, kind: FileKind) -> FileText | None:
        """One of them."""
        return {"job": self.job, "shop": self.shop, "readings": self.readings}[kind]

    def replaced(self, kind: FileKind, new: FileText) -> FileSet:
        """The same set with one file written otherwise."""
        return FileSet(
            new if kind == "job" else self.job,
            new if kind == "shop" else self.shop,
            new if kind == "readings" else self.readings,
            self.faults,
        )

    def data(self, kind: FileKind) -> Mapping[str, Any]:
        """What a TOML file holds; nothing where it cannot be read."""
        one = self.file(kind)
        return {} if one is None else toml_data(one.text)


@lru_cache(maxsize=8)
def toml_data(text: str) -> Mapping[str, Any]:
    """The data of a TOML text, to be read only; empty where it cannot be read, which its faults tell."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return {}


@dataclass(frozen=True, slots=True)
class JobFolder:
    """One job folder and the name of its job file."""

    folder: Path
    job_name: str = JOB_FILE

    @staticmethod
    def at(path: Path) -> JobFolder:
        """Of a folder, or of one job file."""
        return (
            JobFolder(path) if path.is_dir() or path.suffix != ".toml" else JobFolder(path.parent, path.name)
        )

    @property
    def has_job(self) -> bool:
        """Whether a job file is there."""
        return (self.folder / self.job_name).exists()

    def read(self) -> FileSet:
        """All three files."""
        faults: list[Fault] = []
        job = self._one(self.job_name, "the job file", faults)
        shop = None
        if (self.folder / SHOP_FILE).exists():
            shop = self._one(SHOP_FILE, "the shop file", faults)
        readings_name = self.readings_name({} if job is None else toml_data(job.text))
        readings = self._one(readings_name, "the readings file", faults) if readings_name else None
        return FileSet(job, shop, readings, tuple(faults))

    def readings_name(self, job_data: Mapping[str, Any]) -> str:
        """The readings file that the job names; "" where that name leads elsewhere."""
        rail = job_data.get("rail")
        name = rail.get("readings", READINGS_FILE) if isinstance(rail, dict) else READINGS_FILE
        return name if isinstance(name, str) and is_plain_name(name) else ""

    def signature(self, names: tuple[str, ...]) -> Signature:
        """When and how big the files are, to notice a change without reading them."""
        found = []
        for name in sorted({self.job_name, SHOP_FILE, *names}):
            try:
                kind = (self.folder / name).stat()
            except OSError:
                found.append((name, 0, -1))  # not there: that is what is noticed
                continue
            found.append((name, kind.st_mtime_ns, kind.st_size))
        return tuple(found)

    def write(self, new: FileText) -> None:
        """Write one file whole: beside the old one first, then in its place. Raises OSError."""
        write_whole(self.folder / new.name, new.raw)

    def _one(self, name: str, what: str, faults: list[Fault]) -> FileText | None:
        raw = read_bytes(self.folder / name, self.folder, what)
        if isinstance(raw, Fault):
            faults.append(raw)
            return None
        text = as_text(raw, name, what)
        if isinstance(text, Fault) and raw.strip():
            faults.append(text)
            return None
        return FileText.of(name, raw)


def is_plain_name(name: str) -> bool:
    """Whether a name can only mean a file right in the folder."""
    return (
        0 < len(name) <= 60
        and name == name.strip()
        and name not in (".", "..")
        and name.isprintable()
        and not any(letter in name for letter in "/\\:\x00")
    )


def write_whole(path: Path, raw: bytes) -> None:
    """The bytes into a file of this name, so that a crash leaves the old file or the new one.

    A file that was there keeps its permissions. Raises OSError.
    """
    if len(raw) > LARGEST_FILE:
        raise OSError(None, f"the file would become larger than {LARGEST_FILE // 1024} kB", str(path.name))
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".new", dir=path.parent)
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        fresh.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        fresh.replace(path)
    except OSError:
        fresh.unlink(missing_ok=True)
        raise
