"""The shop pack that lies beside the job file: which of its files the page may fetch."""

from __future__ import annotations

import json
from pathlib import Path

from sumpwright.job.files import read_bytes
from sumpwright.outputs.pack import MANIFEST
from sumpwright.web.messages import PackState

LARGEST_PACK_FILE = 64 * 1024 * 1024


def pack_state(folder: Path, is_stale: bool) -> PackState:
    """What lies there; nothing where the folder is no pack of ours."""
    names = pack_names(folder)
    return PackState(written=bool(names), stale=bool(names) and is_stale, files=names, folder=folder.name)


def pack_names(folder: Path) -> list[str]:
    """The names its own list has."""
    manifest = folder / MANIFEST
    if not manifest.is_file():
        return []
    try:
        listed = json.loads(manifest.read_text("utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError):
        return []
    names = [one.get("file", "") if isinstance(one, dict) else str(one) for one in listed]
    return sorted(name for name in names if name)


def pack_file(folder: Path, name: str) -> bytes | None:
    """One file of the pack; None where its list has no such name, or it lies elsewhere."""
    if name not in pack_names(folder):
        return None
    raw = read_bytes(folder / name, folder, "the file of the pack", LARGEST_PACK_FILE)
    return raw if isinstance(raw, bytes) else None
