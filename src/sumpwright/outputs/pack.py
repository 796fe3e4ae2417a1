"""The shop pack: one folder, written whole or not at all.

Everything is worked out in memory, written to a hidden folder beside the target, and put
in its place by renaming. Until that moment an earlier pack stands untouched; a folder
that is not a pack of ours, or that holds somebody else's files, is never replaced.
"""

from __future__ import annotations

import ctypes
import hashlib
import json
import os
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.results_file import has_cut_files, results_json

MANIFEST = "manifest.json"
SCHEMA = "sumpwright-pack-1"
_LITTER = {".DS_Store", "Thumbs.db", "desktop.ini"}  # what file viewers leave behind
_EXCHANGE = 2  # RENAME_EXCHANGE of renameat2(2)
_HERE = -100  # AT_FDCWD


class PackError(Exception):
    """The pack could not be written; one line says why, and nothing was changed."""


def write_pack(
    job: Job, results: JobResults, folder: Path, replays: Mapping[str, bytes] | None = None
) -> tuple[str, ...]:
    """Writes the shop pack, with the replay files of free-surface runs, and returns its files' names.

    An earlier pack in the same place is replaced once the new one is complete. Raises
    PackError where it cannot be written; on any error and on Ctrl-C the earlier pack is
    as it was.
    """
    target = _place(Path(folder))
    _bring_back(target)
    _refuse_what_is_not_ours(target)
    files = pack_files(job, results, replays)
    fresh = target.parent / f".{target.name}.new-{os.getpid()}"
    try:
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            _sweep(target)
            _write_all(files, fresh)
            _swap(fresh, target)
        except OSError as error:
            what = (error.strerror or str(error)).lower()
            raise PackError(
                f"Could not write the shop pack to {folder}: {what}."
                " Nothing was changed; a pack that was there before is whole."
            ) from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return tuple(files)


def pack_files(job: Job, results: JobResults, replays: Mapping[str, bytes] | None = None) -> dict[str, bytes]:
    """Every file of the pack by its name, the list of them last."""
    from sumpwright.outputs.bench_sheet import bench_sheet_pdf
    from sumpwright.outputs.job_sheet import job_sheet_pdf
    from sumpwright.outputs.template import template_pdf
    from sumpwright.outputs.tube_template import tube_template_pdf
    from sumpwright.outputs.weld_map import weld_map_pdf

    files = {"job-sheet.pdf": job_sheet_pdf(job, results)}
    template = template_pdf(job, results)
    if template is not None:
        files["template.pdf"] = template
    weld_map = weld_map_pdf(job, results)
    if weld_map is not None:
        files["weld-map.pdf"] = weld_map
    tube = tube_template_pdf(job, results)
    if tube is not None:
        files["tube-template.pdf"] = tube
    bench = bench_sheet_pdf(job, results)
    if bench is not None:
        files["bench-sheet.pdf"] = bench
    files |= _kit_files(job, results)
    files |= _strongback_file(results)
    files |= _gear_files(results)
    files |= replays or {}
    files["results.json"] = results_json(job, results)
    files[MANIFEST] = _manifest(job, files)
    return files


def _kit_files(job: Job, results: JobResults) -> dict[str, bytes]:
    from sumpwright.outputs.cut_files import cut_file_names, cutter_note, dxf_bytes
    from sumpwright.outputs.nest_files import nest_files
    from sumpwright.outputs.parts_list import parts_csv
    from sumpwright.outputs.solids import glb_bytes, part_solid, stl_bytes
    from sumpwright.outputs.step_file import can_write_step, step_bytes

    kit = results.kit
    if kit is None:
        return {}
    files: dict[str, bytes] = {}
    if has_cut_files(results):
        for part, name in zip(kit.parts, cut_file_names(kit.parts), strict=True):
            files[f"cut/{name}"] = dxf_bytes(part)
            files[f"cut/r12/{name}"] = dxf_bytes(part, "R12")
        files |= {f"cut/{name}": content for name, content in nest_files(kit).items()}
        files["cut/for-the-cutter.txt"] = cutter_note(job.name, kit.parts)
        files["parts.csv"] = parts_csv(
            kit.parts, job.kit, () if kit.internals is None else kit.internals.bought
        )
    loose = () if kit.internals is None else kit.internals.loose
    solids = tuple(part_solid(part) for part in kit.parts if part.name not in loose)
    files["pan.stl"] = stl_bytes(solids)
    files["pan.glb"] = glb_bytes(solids)
    if has_cut_files(results) and can_write_step():
        files["pan.step"] = step_bytes(tuple(part for part in kit.parts if part.name not in loose))
    return files


def _strongback_file(results: JobResults) -> dict[str, bytes]:
    """The plate that the flange is welded on: the shop's tool, no part of the pan."""
    from sumpwright.outputs.cut_files import cut_file_names, dxf_bytes

    if results.bow is None or results.bow.strongback is None or not has_cut_files(results):
        return {}
    gear = results.bow.strongback
    parts = (gear.plate, *gear.bars)
    return {f"gear/{name}": dxf_bytes(part) for part, name in zip(parts, cut_file_names(parts), strict=True)}


def _gear_files(results: JobResults) -> dict[str, bytes]:
    """Blanking plate and gasket of the leak test, apart from the pan's own parts."""
    from sumpwright.outputs.cut_files import cut_file_names, dxf_bytes

    if results.proof is None or results.proof.gear is None:
        return {}
    parts = (results.proof.gear.plate, results.proof.gear.gasket)
    return {f"gear/{name}": dxf_bytes(part) for part, name in zip(parts, cut_file_names(parts), strict=True)}


def _manifest(job: Job, files: Mapping[str, bytes]) -> bytes:
    listed = [
        {"file": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for name, content in sorted(files.items())
    ]
    data = {"schema": SCHEMA, "job": job.name, "files": listed}
    return (json.dumps(data, indent=1, ensure_ascii=False) + "\n").encode()


def _place(folder: Path) -> Path:
    """The real place behind links, so that a link to a pack keeps pointing to it."""
    try:
        target = folder.resolve()
    except (OSError, RuntimeError) as error:
        raise PackError(f"Could not write the shop pack to {folder}: the link leads nowhere.") from error
    if not target.name:
        raise PackError(f"Could not write the shop pack to {folder}: that is a whole disk, not a folder.")
    return target


def _put_aside(target: Path) -> Path:
    return target.parent / f".{target.name}.before"


def _bring_back(target: Path) -> None:
    """Where a run was killed in the middle of a swap, the earlier pack gets its name back."""
    aside = _put_aside(target)
    if not aside.is_dir():
        return
    if os.path.lexists(target):
        shutil.rmtree(aside, ignore_errors=True)
    elif _own_files(aside) is not None:
        try:
            aside.rename(target)
        except OSError as error:
            what = (error.strerror or str(error)).lower()
            raise PackError(f"Could not bring back the earlier pack {target}: {what}.") from error


def _refuse_what_is_not_ours(target: Path) -> None:
    """Raises PackError where something stands that this program did not write."""
    if not os.path.lexists(target):
        return
    if not target.is_dir():
        raise PackError(
            f"{target} is a file, not a folder. Nothing was written; choose another place with --out."
        )
    try:
        there = sorted(
            path.relative_to(target).as_posix()
            for path in target.rglob("*")
            if not path.is_dir() and path.name not in _LITTER
        )
    except OSError as error:
        raise PackError(f"Could not look into {target}: {(error.strerror or '').lower()}.") from error
    if not there:
        return
    own = _own_files(target)
    if own is None:
        raise PackError(
            f"{target} holds files and is no pack of this program, so it was left alone."
            " Choose another place with --out, or empty it."
        )
    foreign = [name for name in there if name not in own and name != MANIFEST]
    if foreign:
        raise PackError(
            f"{target} holds {_some(foreign)}, which this program did not write."
            " Move it elsewhere first; nothing was changed."
        )
    edited = [
        name
        for name in there
        if name in own and hashlib.sha256((target / name).read_bytes()).hexdigest() != own[name]
    ]
    if edited:
        raise PackError(
            f"{_some(edited)} in {target} was changed by hand since it was written."
            " Move it elsewhere first; nothing was changed."
        )


def _own_files(folder: Path) -> dict[str, str] | None:
    """Names and hashes of what an earlier run wrote; None where the folder is no pack of ours."""
    try:
        data: Any = json.loads((folder / MANIFEST).read_bytes())
        if data["schema"] != SCHEMA:
            return None
        return {str(entry["file"]): str(entry["sha256"]) for entry in data["files"]}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def _some(names: list[str]) -> str:
    shown = ", ".join(names[:3])
    return shown if len(names) <= 3 else f"{shown} and {len(names) - 3} more"


def _sweep(target: Path) -> None:
    """Takes away what runs left behind that were killed while writing."""
    for left_over in target.parent.glob(f".{target.name}.new-*"):
        number = left_over.name.rpartition("-")[2]
        if number.isdigit() and not _is_alive(int(number)):
            shutil.rmtree(left_over, ignore_errors=True)


def _is_alive(process: int) -> bool:
    if process == os.getpid():
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _write_all(files: Mapping[str, bytes], folder: Path) -> None:
    """Every file on the disk for good before anything gets its final name."""
    folder.mkdir()
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        with path.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    for made in {folder, *((folder / name).parent for name in files)}:
        _settle(made)


def _settle(folder: Path) -> None:
    """The folder's own entries on the disk, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _swap(fresh: Path, target: Path) -> None:
    """The new folder gets the name; the old one is taken away only after that."""
    if not target.exists():
        fresh.rename(target)
    elif _exchange(fresh, target):
        pass  # the old pack now bears the hidden name and goes with it
    else:
        aside = _put_aside(target)
        target.rename(aside)
        try:
            fresh.rename(target)
        finally:
            if not target.exists():  # whatever went wrong, the old pack gets its name back
                aside.rename(target)
        shutil.rmtree(aside, ignore_errors=True)
    _settle(target.parent)


def _exchange(one: Path, other: Path) -> bool:
    """Swaps two names in one step where the system can; False where it cannot."""
    if not sys.platform.startswith("linux"):
        return False
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    return bool(rename(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0)
