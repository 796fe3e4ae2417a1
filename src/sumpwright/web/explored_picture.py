"""What 'explore' found in this folder: the few that nothing beats, beside all others and the job as it is."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

from sumpwright.job import JobError
from sumpwright.outputs.explored_files import SCHEMA
from sumpwright.web.job_folder import is_plain_name
from sumpwright.web.messages import TakeAnswer
from sumpwright.web.picture_messages import ExploredColumn, ExploredPicture, ExploredRow, ExploredShare
from sumpwright.web.snapshot import Snapshot

FOLDER = "explored"
FOUND = "explored.json"
VARIANTS = "variants.csv"
STORE = "answers.sqlite"
MOST_DOTS = 1500
LARGEST = 32 * 1024 * 1024


def revision_of(folder: Path) -> str:
    """Changes whenever an exploration was written; "" where none was."""
    path = folder / FOLDER / FOUND
    try:
        kind = path.stat()
    except OSError:
        return ""
    return f"{kind.st_mtime_ns} {kind.st_size}"


def explored_picture(now: Snapshot, revision: str) -> ExploredPicture:
    """The exploration of this folder; why there is nothing to show, where there is nothing."""
    data = _read(now.folder.folder)
    if data is None:
        return _none(revision, "Nothing was explored in this folder.")
    if data.get("schema") != SCHEMA:
        return _none(revision, f"{FOLDER}/{FOUND} is of another version: explore again to see it here.")
    try:
        return _picture(now, revision, data)
    except (KeyError, TypeError, ValueError, AttributeError):
        return _none(revision, f"{FOLDER}/{FOUND} cannot be read: explore again to see it here.")


def take_variant(folder: Path, number: int) -> TakeAnswer:
    """Write the job file of one variant beside the job's own, or say why not."""
    from sumpwright.explore.plan import read_plan
    from sumpwright.explore.store import Store, StoreError
    from sumpwright.explore.taking import take

    data = _read(folder)
    name = "" if data is None else str(data.get("plan", ""))
    if not is_plain_name(name) or not (folder / name).is_file():
        return TakeAnswer(file="", why_not="The plan that was explored is no longer in this folder.")
    if not (folder / FOLDER / STORE).is_file():
        return TakeAnswer(
            file="", why_not=f"The answers ({FOLDER}/{STORE}) are no longer there: explore again."
        )
    try:
        plan = read_plan(folder / name)
        with Store(folder / FOLDER / STORE) as store:
            if store.count(plan.name) == 0:
                return TakeAnswer(
                    file="",
                    why_not="the job or its plan was changed since it was explored; explore again, or take it"
                    " back to what it was then.",
                )
            return TakeAnswer(file=take(plan, store, number).name, why_not="")
    except JobError as trouble:
        first = trouble.faults[0]
        return TakeAnswer(file="", why_not=" ".join(filter(None, (first.file, first.rule))))
    except (StoreError, OSError) as trouble:
        return TakeAnswer(file="", why_not=str(trouble))


def _read(folder: Path) -> dict[str, Any] | None:
    path = folder / FOLDER / FOUND
    try:
        if path.stat().st_size > LARGEST:
            return {}
        data = json.loads(path.read_text("utf-8"))
    except OSError:
        return None
    except ValueError:
        return {}
    return data if isinstance(data, dict) else {}


def _picture(now: Snapshot, revision: str, data: dict[str, Any]) -> ExploredPicture:
    keys = [one["key"] for one in data["counts"]]
    varied = [str(one) for one in data["varied"]]
    stands = data["as_it_stands"]
    return ExploredPicture(
        revision=revision,
        why_not="",
        plan=data["plan"],
        says=_says(data),
        varied=varied,
        columns=[_column(one) for one in data["counts"]],
        as_it_stands=None if stands is None else _row(stands, varied, keys),
        rows=[_row(one, varied, keys) for one in data["worth_a_look"]],
        dots=_dots(now.folder.folder / FOLDER / VARIANTS, keys),
        matters=[
            ExploredShare(
                answer=one["answer"],
                alone=[one["alone"].get(name) for name in varied],
                in_all=[one["in_all"].get(name) for name in varied],
                why_not=one["why_not"],
            )
            for one in data["matters"]
        ],
        taken=[str(one) for one in data["taken"]],
    )


def _says(data: dict[str, Any]) -> list[str]:
    """How many were tried and what became of them."""
    says = [
        f"{data['asked']} asked, {data['different']} of them different pans, {data['complete']} worked out in"
        f" full; nothing beats {data['unbeaten']} of them, and these {len(data['worth_a_look'])} are worth a"
        " look."
    ]
    if data["refused"]:
        why = "; ".join(f"{one['why']} ({one['count']})" for one in data["refused_because"])
        says.append(f"{data['refused']} could not be made: {why}.")
    for one in data["dropped"]:
        says.append(f"{one['count']} left out for {one['answer']}.")
    for one in data["cannot_say"]:
        says.append(f"{one['count']} could not be told for {one['answer']}.")
    return says


def _column(one: dict[str, Any]) -> ExploredColumn:
    label, _, unit = one["key"].rpartition("_")
    return ExploredColumn(
        label=one["answer"],
        unit=_UNITS.get(unit, unit) if label else "",
        want=one["want"],
        at_least=one["at_least"],
        at_most=one["at_most"],
        is_hard=one["limit"] == "hard",
    )


_UNITS = {"l": "L", "ml": "mL", "kpa": "kPa", "1": ""}


def _row(one: dict[str, Any], varied: list[str], keys: list[str]) -> ExploredRow:
    def in_order(values: dict[str, float | None]) -> list[float | None]:
        return [values.get(key) for key in keys]

    return ExploredRow(
        number=one["number"],
        varied=[str(one["varied"].get(name, "")) for name in varied],
        answers=in_order(one["answers"]),
        gives_up=in_order(one["gives_up"]),
        misses=in_order(one["misses"]),
        checked=one["checked_in_full"],
        worse=list(one["worse"]),
        better=list(one["better"]),
    )


def _dots(path: Path, keys: list[str]) -> list[list[float | None]]:
    """Answers of other variants for the plot: every so many, so that no more than can be seen are sent."""
    try:
        with path.open(encoding="utf-8", newline="") as file:
            lines = list(csv.DictReader(file))
    except (OSError, ValueError, csv.Error):
        return []
    step = max(1, -(-len(lines) // MOST_DOTS))
    return [[_number(line.get(key)) for key in keys] for line in lines[::step]]


def _number(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None


def _none(revision: str, why: str) -> ExploredPicture:
    return ExploredPicture(
        revision=revision, why_not=why, plan="", says=[], varied=[], columns=[], as_it_stands=None, rows=[],
        dots=[], matters=[], taken=[],
    )  # fmt: skip
