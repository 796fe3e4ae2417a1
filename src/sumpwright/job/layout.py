"""Laying out a new job like one of the examples."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from sumpwright.job.faults import Fault, JobError
from sumpwright.job.nearest import nearest
from sumpwright.job.read import JOB_FILE, read_job
from sumpwright.job.record_files import EARLIER, FOLDER, FORM

_BEFORE = "a job can be laid out"


def examples() -> tuple[str, ...]:
    """The examples that a job can be laid out like."""
    return tuple(sorted(folder.name for folder in _folder().iterdir() if folder.joinpath(JOB_FILE).is_file()))


def lay_out(target: Path, like: str) -> tuple[Path, ...]:
    """Copy an example's files into a new or empty folder; returns the files written.

    Raises JobError where there is no such example, or something stands in the way.
    Nothing that is there already is ever written over.
    """
    known = examples()
    if like not in known:
        near = nearest(like, known)
        hint = f"; did you mean {near!r}?" if near else ""
        raise JobError(
            [Fault(like[:60], None, "", "", f"there is no such example{hint}", ", ".join(known))], _BEFORE
        )
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise JobError([_in_the_way(target, "it is there already and is no folder")], _BEFORE)
    if target.is_dir() and any(target.iterdir()):
        raise JobError(
            [_in_the_way(target, "the folder is not empty; a job is only laid out in a new or empty one")],
            _BEFORE,
        )
    try:
        target.mkdir(parents=True, exist_ok=True)
        written = []
        for source in _files(like):
            path = target / source.name
            # "x": never write over what somebody else put there meanwhile.
            with path.open("xb") as file:
                file.write(source.read_bytes())
            written.append(path)
    except OSError as trouble:
        raise JobError(
            [_in_the_way(target, f"it cannot be written: {(trouble.strerror or '').lower()}")],
            _BEFORE,
        ) from None
    return tuple(written)


def lay_out_after(target: Path, old: Path) -> tuple[Path, ...]:
    """Lay out a job like an older one of the shop's own, its record laid beside it as ``earlier-record``.

    Raises JobError where the old job cannot be read or something stands in the way. The old
    folder is only read.
    """
    read_job(old)
    home = old if old.is_dir() else old.parent
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise JobError([_in_the_way(target, "it is there already and is no folder")], _BEFORE)
    if target.is_dir() and any(target.iterdir()):
        raise JobError(
            [_in_the_way(target, "the folder is not empty; a job is only laid out in a new or empty one")],
            _BEFORE,
        )
    wanted = [
        (path, Path(path.name))
        for path in sorted(home.iterdir())
        if path.is_file() and not path.name.startswith(".") and path.name != FORM
    ]
    wanted += [
        (path, Path(EARLIER) / path.name) for path in sorted((home / FOLDER).glob("*.toml")) if path.is_file()
    ]
    try:
        (target / EARLIER).mkdir(parents=True, exist_ok=True)
        written = []
        for source, name in wanted:
            with (target / name).open("xb") as file:
                file.write(source.read_bytes())
            written.append(target / name)
    except OSError as trouble:
        raise JobError(
            [_in_the_way(target, f"it cannot be written: {(trouble.strerror or '').lower()}")], _BEFORE
        ) from None
    return tuple(written)


def _folder() -> Traversable:
    return resources.files("sumpwright").joinpath("examples")


def _files(like: str) -> list[Traversable]:
    inside = _folder().joinpath(like).iterdir()
    return sorted(
        (item for item in inside if item.is_file() and not item.name.startswith(".")),
        key=lambda item: item.name,
    )


def _in_the_way(target: Path, rule: str) -> Fault:
    return Fault(str(target), None, "", "", rule, good="sumpwright new my-pan --like hillclimb-four")
