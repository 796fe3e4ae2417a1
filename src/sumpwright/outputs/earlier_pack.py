"""What changed since the pack that stood here: metal may have been cut by it already.

Reads the list of files and the results of a pack that this or an earlier version wrote. What an earlier
version did not write yet is left out; what cannot be read says so.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CUT = ("cut/", "gear/", "template.pdf", "tube-template.pdf")
"""What somebody may have cut or drilled by; the older form of a file and the nests follow from these."""
_FOLLOWS = ("cut/r12/", "cut/nest")
_WORST = ("fails", "cannot say", "close", "holds")


@dataclass(frozen=True, slots=True)
class EarlierPack:
    """An earlier pack, as far as its files tell."""

    made: Mapping[str, str]  # check sum of what each file that metal is cut by draws
    verdicts: Mapping[tuple[str, str], str] | None  # of each finding's code and place; None: cannot be read


@dataclass(frozen=True, slots=True)
class SinceEarlier:
    """What a new pack changes."""

    changed: tuple[str, ...]  # files to cut anew
    added: tuple[str, ...]
    gone: tuple[str, ...]
    worse: tuple[tuple[str, str, str, str], ...]  # code, place, verdict before, verdict now
    better: tuple[tuple[str, str, str, str], ...]
    is_results_readable: bool

    @property
    def is_any(self) -> bool:
        """Whether there is anything to tell."""
        return bool(self.changed or self.added or self.gone or self.worse or self.better)


def earlier_pack(folder: Path) -> EarlierPack | None:
    """The pack in the folder; None where there is none."""
    try:
        listed = json.loads((folder / "manifest.json").read_bytes())["files"]
        names = [(str(row["file"]), str(row["sha256"])) for row in listed]
        made = {name: _drawn(folder / name, whole) for name, whole in names if _is_cut_by(name)}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    try:
        data = json.loads((folder / "results.json").read_bytes())
        verdicts: dict[tuple[str, str], str] | None = _verdicts(data)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        verdicts = None
    return EarlierPack(made, verdicts)


def since_earlier(earlier: EarlierPack, now: EarlierPack) -> SinceEarlier:
    """What is other in the new pack than it was in the earlier one."""
    was, made = earlier.made, now.made
    moved = []
    if earlier.verdicts is not None and now.verdicts is not None:
        both = [at for at in now.verdicts if at in earlier.verdicts]
        moved = [(*at, earlier.verdicts[at], now.verdicts[at]) for at in both]
    return SinceEarlier(
        changed=tuple(sorted(name for name in made if was.get(name, made[name]) != made[name])),
        added=tuple(sorted(made.keys() - was.keys())),
        gone=tuple(sorted(was.keys() - made.keys())),
        worse=tuple(row for row in moved if _WORST.index(row[3]) < _WORST.index(row[2])),
        better=tuple(row for row in moved if _WORST.index(row[3]) > _WORST.index(row[2])),
        is_results_readable=earlier.verdicts is not None,
    )


def told(since: SinceEarlier) -> list[str]:
    """The lines for the screen; none where nothing is other."""
    lines = []
    if since.changed:
        lines.append(f"Other than in the earlier pack: {_some(since.changed)}.")
        lines.append("If these are cut already, they have to be cut anew.")
    if since.added:
        lines.append(f"New: {_some(since.added)}.")
    if since.gone:
        lines.append(f"No longer there: {_some(since.gone)}.")
    for word, rows in (("Worse", since.worse), ("Better", since.better)):
        if rows:
            shown = [f"{code} {where} ({before}, now {now})" for code, where, before, now in rows]
            lines.append(f"{word} than before: {_some(shown)}.")
    if not since.is_results_readable:
        lines.append("What the earlier pack found cannot be read, so it is not compared.")
    return lines


def _is_cut_by(name: str) -> bool:
    return name.startswith(CUT) and not name.startswith(_FOLLOWS) and not name.endswith(".txt")


def _drawn(path: Path, whole: str) -> str:
    """Check sum of the lines in a cut file: what stands before them may differ from version to version."""
    if path.suffix != ".dxf":
        return whole
    _, head, lines = path.read_bytes().replace(b"\r\n", b"\n").partition(b"\nENTITIES\n")
    return hashlib.sha256(lines.partition(b"\nENDSEC\n")[0]).hexdigest() if head else whole


def _verdicts(data: Any) -> dict[tuple[str, str], str]:
    rows = ((str(row["code"]), str(row["where"]), str(row["verdict"])) for row in data["findings"])
    return _worst(row for row in rows if row[2] in _WORST)


def _worst(rows: Iterable[tuple[str, str, str]]) -> dict[tuple[str, str], str]:
    found: dict[tuple[str, str], str] = {}
    for code, where, verdict in rows:
        held = found.setdefault((code, where), verdict)
        if _WORST.index(verdict) < _WORST.index(held):
            found[code, where] = verdict
    return found


def _some(names: Iterable[str], most: int = 6) -> str:
    listed = list(names)
    shown = ", ".join(listed[:most])
    return shown if len(listed) <= most else f"{shown} and {len(listed) - most} more"
