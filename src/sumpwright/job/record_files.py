"""The record of the finished pan: plain files with a history, never written over.

In the job folder stands ``record/`` with ``0001.toml``, ``0002.toml`` and so on. Each ends
with a line that holds the check sum of everything above it and of the entry before: a file
that a power cut left half written, or that was changed by hand, gives itself away and is
named. A new entry is written beside its place, brought to the disk, and then given its
number in one step that never replaces a file.
"""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sumpwright.job.faults import Fault, JobError
from sumpwright.job.fields import Setting
from sumpwright.job.file_sections import take_sections
from sumpwright.job.files import as_text, as_toml, read_bytes
from sumpwright.job.nearest import nearest
from sumpwright.job.record_sections import (
    LISTED,
    SINGLE,
    BubbleSection,
    BuiltPanSection,
    HeightSection,
    LeakTestSection,
    LogSection,
    PourSection,
    RecordSection,
    SettingSection,
    StraightEdgeSection,
)
from sumpwright.job.refusals import OpenFile
from sumpwright.proof.model import (
    AsBuilt,
    BubbleLook,
    DecayReading,
    HeightReading,
    Pour,
    State,
    StraightEdgeReading,
)
from sumpwright.proof.model import Setting as WeldSetting
from sumpwright.proof.seam_names import key_of, without_number

FOLDER = "record"
EARLIER = "earlier-record"
FORM = "as-built.toml"
_NUMBER = re.compile(r"(\d{4})\.toml")
_SEAL = re.compile(r"\n# whole: ([0-9a-f]{64}), after ([0-9a-f]{64}|nothing)\n\Z")
_BEFORE = "these readings can be kept"
RISE_ALLOWED = 50.0
"""Pa by which a gauge may seem to rise, for rounding."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One whole entry of the record."""

    name: str  # "record/0003.toml"
    text: str  # as written by hand, without the seal
    seal: str  # its check sum


def entries(folder: Path, where: str = FOLDER) -> tuple[tuple[Entry, ...], tuple[tuple[str, str], ...]]:
    """Whole entries, oldest first, and (file, what is wrong) of the others."""
    place = folder / where
    if not place.is_dir():
        return (), ()
    whole: list[Entry] = []
    trouble: list[tuple[str, str]] = []
    numbers = []
    for path in sorted(place.iterdir(), key=lambda path: path.name):
        found = _NUMBER.fullmatch(path.name)
        name = f"{where}/{path.name}"
        if found is None:
            if path.name.endswith(".part"):
                trouble.append(
                    (name, "it was being written when the power or the program went; it has no end")
                )
            continue
        numbers.append(int(found[1]))
        raw = read_bytes(path, folder, "the entry")
        text = raw if isinstance(raw, Fault) else as_text(raw, name, "the entry")
        if isinstance(text, Fault):
            trouble.append((name, text.rule))
            continue
        seal = _SEAL.search(text)
        if seal is None:
            trouble.append((name, "its last line is missing, so it is only half written"))
            continue
        body = text[: seal.start()]
        if _sum(body, seal[2]) != seal[1]:
            trouble.append((name, "it was changed or damaged after it was written"))
            continue
        before = whole[-1].seal if whole else "nothing"
        if seal[2] != before and not trouble:
            trouble.append((name, "an entry before it is missing or was swapped"))
        whole.append(Entry(name, body, seal[1]))
    return tuple(whole), tuple(trouble)


def read_record(folder: Path, job_name: str | None, setting: Setting, where: str = FOLDER) -> AsBuilt | None:
    """Everything kept so far, newest word on each thing; None without any entry.

    Without a ``job_name`` it may be any pan's record.
    """
    found, trouble = entries(folder, where)
    if not found and not trouble:
        return None
    built = AsBuilt(trouble=trouble)
    for entry in found:
        one, faults = _read_entry(entry.text, entry.name, job_name, setting)
        if one is None or faults:
            what = faults[0].rule if faults else "it cannot be read"
            built = _with(built, AsBuilt(trouble=((entry.name, what),)))
        else:
            built = _with(built, one)
    return built


def read_form(text: str, name: str, job_name: str, setting: Setting) -> AsBuilt:
    """The readings of one form.

    Raises JobError with every fault of it.
    """
    found, faults = _read_entry(text, name, job_name, setting)
    if faults or found is None:
        raise JobError(faults, _BEFORE)
    return found


def unknown_seams(built: AsBuilt, name: str, seams: tuple[str, ...]) -> list[Fault]:
    """Seams written down that the pan does not have, each with the nearest that it has."""
    known = {key_of(seam): seam for seam in seams}
    written = [("bubbles", at, look.seam) for at, look in enumerate(built.bubbles, start=1)]
    written += [("settings", at, setting.seam) for at, setting in enumerate(built.settings, start=1)]
    found = []
    for section, at, seam in written:
        if key_of(seam) in known:
            continue
        if seam.strip("# .").isdecimal():
            rule = "a seam's number changes with the plan; write its name as well, as on the bench sheet"
            good = f'seam = "{seam.strip("# .")} {seams[0]}"'
        else:
            near = known.get(nearest(key_of(seam), tuple(known)) or "")
            rule = "this pan has no such seam" + (f"; did you mean {near!r}?" if near else "")
            good = f'seam = "{near or seams[0]}"'
        found.append(Fault(name, None, f"{section}[{at}].seam", seam, rule, good=good))
    return found


def is_blank(built: AsBuilt) -> bool:
    """Whether nothing was read at all."""
    return built == AsBuilt(entries=built.entries)


def store(folder: Path, text: str) -> Path:
    """Keep a form's text as the next entry; returns its file.

    The entry is on the disk for good when this returns. A text that is the newest entry's own
    is not kept twice. Raises OSError where the disk will not have it; nothing is then changed.
    """
    place = folder / FOLDER
    place.mkdir(exist_ok=True)
    whole, _ = entries(folder)
    body = text if text.endswith("\n") else text + "\n"
    if whole and whole[-1].text == body:
        return folder / whole[-1].name
    before = whole[-1].seal if whole else "nothing"
    sealed = f"{body}\n# whole: {_sum(body, before)}, after {before}\n".encode()
    part = place / f"{os.getpid()}.part"
    try:
        with part.open("xb") as file:
            file.write(sealed)
            file.flush()
            os.fsync(file.fileno())
        kept = _numbered(place, part)
        _clear_up(place)
        return kept
    finally:
        part.unlink(missing_ok=True)


def _clear_up(place: Path) -> None:
    """Take away what killed runs left half written, now that an entry has been kept."""
    for path in place.glob("*.part"):
        if path.stem.isdecimal() and int(path.stem) != os.getpid() and not _is_running(int(path.stem)):
            path.unlink(missing_ok=True)


def _is_running(process: int) -> bool:
    if os.name != "posix":
        return True  # cannot be told; the file is named in the findings and left
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _numbered(place: Path, part: Path) -> Path:
    """Give the written file the next free number, without ever replacing one."""
    used = [int(found[1]) for path in place.iterdir() if (found := _NUMBER.fullmatch(path.name))]
    number = max(used, default=0) + 1
    while True:
        target = place / f"{number:04d}.toml"
        try:
            os.link(part, target)  # fails where the name is taken, unlike a rename
            break
        except FileExistsError:
            number += 1
        except OSError:
            # A file system without links: nobody else writes here at this moment.
            if target.exists():
                number += 1
                continue
            part.rename(target)
            break
    if os.name == "posix":
        for folder in (place, place.parent):
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
    return target


def _sum(body: str, before: str) -> str:
    return hashlib.sha256(f"{before}\n{body}".encode()).hexdigest()


def _read_entry(
    text: str, name: str, job_name: str | None, setting: Setting
) -> tuple[AsBuilt | None, tuple[Fault, ...]]:
    toml = as_toml(text, name, "the record")
    if toml.data is None:
        return None, toml.faults
    file = OpenFile(name, toml.text, toml.data)
    single, listed = take_sections(file, SINGLE, LISTED, {}, lambda path, data: setting)
    if "record" not in file.data:
        file.fault(("record",), "the section [record] is needed and is missing", good="[record]", read="")
    head = single.get("record")
    if (
        isinstance(head, RecordSection)
        and job_name is not None
        and head.job.casefold() != job_name.casefold()
    ):
        file.fault(
            ("record", "job"),
            "this record is of another job, and would spoil this one's",
            good=f'job = "{job_name}"',
        )
    leak = single.get("leak_test")
    if isinstance(leak, LeakTestSection) and leak.end > leak.start + RISE_ALLOWED:
        warmed = leak.end_temperature - leak.start_temperature
        rise = (101_325.0 + leak.start) * warmed / leak.start_temperature
        if leak.end - leak.start > rise + 200.0:
            file.fault(
                ("leak_test", "end"),
                "the pressure rises while the pan is shut, by more than the air warmed: start and end may be"
                " swapped, or air is still coming in",
            )
    heights = [row for row in listed[("heights",)] if isinstance(row, HeightSection)]
    for state in ("free", "pulled down"):
        points = np.array([[row.x, row.y] for row in heights if row.state == state])
        if len(points) and _in_one_line(points):
            file.fault(
                ("heights",),
                f"the heights read {state} stand in one line (or are fewer than three): they tell"
                " nothing of a face; read on both sides of the opening",
                read="",
            )
    if toml.faults or file.faults:
        return None, (*toml.faults, *file.faults)
    pan = single.get("pan")
    bubbles = tuple(
        BubbleLook(without_number(row.seam), round(row.growing))
        for row in listed[("bubbles",)]
        if isinstance(row, BubbleSection)
    )
    assert isinstance(head, RecordSection)
    return (
        AsBuilt(
            entries=(name,),
            edges=tuple(
                StraightEdgeReading(row.place, row.span, row.feeler, _state(row.state))
                for row in listed[("straight_edge",)]
                if isinstance(row, StraightEdgeSection)
            ),
            heights=tuple(HeightReading(row.x, row.y, row.height, _state(row.state)) for row in heights),
            bubbles=bubbles,
            leaks=tuple(look for look in bubbles if look.growing > 0),
            decay=None
            if not isinstance(leak, LeakTestSection)
            else DecayReading(
                leak.start, leak.end, leak.start_temperature, leak.end_temperature, leak.time, leak.barometer
            ),
            pours=tuple(
                Pour(row.poured, row.stick) for row in listed[("pours",)] if isinstance(row, PourSection)
            ),
            settings=tuple(
                WeldSetting(without_number(row.seam), row.words)
                for row in listed[("settings",)]
                if isinstance(row, SettingSection)
            ),
            weighed=pan.weighed if isinstance(pan, BuiltPanSection) else None,
            bow=pan.bow if isinstance(pan, BuiltPanSection) else None,
            hours=pan.hours if isinstance(pan, BuiltPanSection) else None,
            logs=tuple(row.file for row in listed[("logs",)] if isinstance(row, LogSection)),
            notes=() if head.note is None else (f"{head.date}: {head.note}",),
        ),
        (),
    )


def _state(word: str) -> State:
    return "free" if word == "free" else "pulled down"


def _in_one_line(points: np.ndarray) -> bool:
    if len(points) < 3:
        return True
    spread = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    return bool(spread[1] <= 1e-3 * max(float(spread[0]), 1e-300))


def _with(before: AsBuilt, new: AsBuilt) -> AsBuilt:
    """A later entry added: lists that it fills take the place of the older ones, pours add up."""
    seams = {key_of(look.seam): look for look in (*before.bubbles, *new.bubbles)}
    leaks = {key_of(look.seam): look for look in (*before.leaks, *new.leaks)}
    welds = {key_of(setting.seam): setting for setting in (*before.settings, *new.settings)}
    return AsBuilt(
        entries=(*before.entries, *new.entries),
        edges=new.edges or before.edges,
        heights=new.heights or before.heights,
        bubbles=tuple(seams.values()),
        leaks=tuple(leaks.values()),
        decay=new.decay or before.decay,
        pours=(*before.pours, *new.pours),
        settings=tuple(welds.values()),
        weighed=before.weighed if new.weighed is None else new.weighed,
        bow=before.bow if new.bow is None else new.bow,
        hours=before.hours if new.hours is None else new.hours,
        logs=tuple(dict.fromkeys((*before.logs, *new.logs))),
        notes=(*before.notes, *new.notes),
        trouble=(*before.trouble, *new.trouble),
    )
