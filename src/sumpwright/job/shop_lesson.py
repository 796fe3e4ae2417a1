"""What a finished pan teaches the shop file: the bow measured beside the bow that was told.

One section more at the end of ``shop.toml``, and only on request: comments, order and every
other line stay byte for byte. The file is replaced in one step, so that a power cut leaves
the old one or the new one, whole.
"""

from __future__ import annotations

import os
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

from sumpwright.job.faults import Fault, JobError
from sumpwright.job.files import as_text, read_bytes
from sumpwright.job.refusals import OpenFile
from sumpwright.job.shop import SHOP_FILE, read_shop
from sumpwright.quantities.units import Metre

_BEFORE = "the bow can go into the shop file"


@dataclass(frozen=True, slots=True)
class BowLesson:
    """How far a pan came off the plate out of flat, beside what its sheet told."""

    job: str
    material: str
    told_least: Metre
    told_most: Metre
    measured: Metre


def teach_shop(folder: Path, lesson: BowLesson) -> Path:
    """Write a lesson into the shop file of a job; returns the file.

    Raises JobError, nothing changed, where there is no shop file, where it has this pan's bow
    already, or where the file would not be read afterwards as before with one section more.
    Raises OSError where the disk will not have it.
    """
    path = folder / SHOP_FILE
    raw, text = _shop_text(folder)
    old = _data(text)
    section = {
        "job": lesson.job,
        "material": lesson.material,
        "told_least": _mm(lesson.told_least),
        "told_most": _mm(lesson.told_most),
        "measured": _mm(lesson.measured),
    }
    found = old.get("pan_records", [])
    records = found if isinstance(found, list) else []
    _refuse_twice(records, lesson.job)
    # The file's own line ends stay, and all of its bytes.
    end = "\r\n" if b"\r\n" in raw else "\n"
    lines = ["[[pan_records]]", *(f"{key} = {_quoted(value)}" for key, value in section.items())]
    added = ("" if text.endswith("\n") else end) + end + end.join(lines) + end
    new = text + added.replace("\r\n", "\n")
    wanted = {**old, "pan_records": [*records, section]}
    if _data(new) != wanted:
        raise JobError([_not_at_the_end()], _BEFORE)
    file = OpenFile(SHOP_FILE, new, wanted)
    read_shop(file)
    if file.faults:
        raise JobError(file.faults, _BEFORE)
    _replace(path, raw, raw + added.encode())
    return path


def refuse_twice(folder: Path, job: str) -> None:
    """Raise JobError where the shop file has this pan's bow already, or there is no shop file to read."""
    _, text = _shop_text(folder)
    found = _data(text).get("pan_records", [])
    _refuse_twice(found if isinstance(found, list) else [], job)


def _shop_text(folder: Path) -> tuple[bytes, str]:
    """The shop file's bytes and text, or what to lay down first."""
    path = folder / SHOP_FILE
    if not path.exists() and not path.is_symlink():
        rule = "this job has no shop file yet; the bow goes there, for all pans of this shop"
        fault = Fault(SHOP_FILE, None, "", "", rule, good='[shop], name = "Bay 2", currency = "EUR"')
        raise JobError([fault], _BEFORE)
    raw = read_bytes(path, folder, "the shop file")
    text = raw if isinstance(raw, Fault) else as_text(raw, SHOP_FILE, "the shop file")
    if isinstance(raw, Fault) or isinstance(text, Fault):
        raise JobError([one for one in (raw, text) if isinstance(one, Fault)][:1], _BEFORE)
    return raw, text


def _refuse_twice(records: list[object], job: str) -> None:
    for at, record in enumerate(records):
        if isinstance(record, dict) and str(record.get("job", "")).casefold() == job.casefold():
            raise JobError(
                [
                    Fault(
                        SHOP_FILE,
                        None,
                        f"pan_records[{at + 1}].job",
                        job,
                        f"this pan's bow is there already ({record.get('measured')});"
                        " take that section out first if it was wrong",
                    )
                ],
                _BEFORE,
            )


def _data(text: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise JobError([_not_at_the_end()], _BEFORE) from None


def _not_at_the_end() -> Fault:
    return Fault(
        SHOP_FILE,
        None,
        "pan_records",
        "",
        "nothing can be put at the end of this file: it cannot be read, or it lists pan_records in one line",
        good="[[pan_records]]",
    )


def _mm(value: Metre) -> str:
    return f"{abs(value) * 1e3:.3f} mm"


def _quoted(words: str) -> str:
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _replace(path: Path, before: bytes, after: bytes) -> None:
    """The new bytes in place of the old ones in one step; the file's permissions stay."""
    place = path.resolve()
    handle, name = tempfile.mkstemp(prefix=f".{place.name}.", suffix=".part", dir=place.parent)
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(after)
            file.flush()
            os.fsync(file.fileno())
        fresh.chmod(place.stat().st_mode & 0o777)
        if place.read_bytes() != before:
            raise JobError(
                [
                    Fault(
                        SHOP_FILE, None, "", "", "the file was changed by somebody else meanwhile; try again"
                    )
                ],
                _BEFORE,
            )
        fresh.replace(place)
    finally:
        fresh.unlink(missing_ok=True)
