"""A finished run as one file, so that a later command need not run it again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, cast
from zipfile import BadZipFile

import numpy as np

from sumpwright.motion.driven_model import Driven, Stuck
from sumpwright.motion.free_surface.model import FreeSurfaceRun, Link, Snapshot, ThinPlace, View
from sumpwright.quantities.units import FloatArray, frozen_array

SCHEMA = "sumpwright-free-surface-1"

_DRIVEN = (
    "times",
    "cover",
    "reserve",
    "oil_taken",
    "air_taken",
    "held_up",
    "crank_gap",
    "rail_gap",
    "volumes",
    "levels",
    "ways",
)


def keep_run(run: FreeSurfaceRun, path: Path, made_of: str) -> None:
    """Write the run; ``made_of`` names everything that it came from. Whole or not at all."""
    driven = run.driven
    words = {
        "schema": SCHEMA,
        "made_of": made_of,
        "trace": driven.trace,
        "balance_error": driven.balance_error,
        "stuck": [list(pair) for pair in driven.stuck],
        "cell": run.cell,
        "parcels": run.parcels,
        "steps": run.steps,
        "engine": run.engine,
        "oil_error": run.oil_error,
        "wall_clock": run.wall_clock,
        "thin": [[list(place.where), place.width, place.cell_that_helps] for place in run.thin_places],
        "links": [[link.way, link.narrowest, link.cell] for link in run.links],
    }
    arrays: dict[str, Any] = {name: getattr(driven, name) for name in _DRIVEN}
    arrays["occupied"] = run.occupied
    arrays["snapshot_times"] = np.array([s.time for s in run.snapshots])
    arrays["snapshot_heights"] = np.array([s.height for s in run.snapshots])
    if run.worst is not None:
        worst = run.worst
        arrays |= {
            "worst_time": np.array(worst.time),
            "worst_origin": worst.origin,
            "worst_left": worst.from_left,
            "worst_front": worst.from_front,
        }
    arrays["words"] = np.array(json.dumps(words, sort_keys=True))
    fresh = path.with_name(path.name + ".new")
    with fresh.open("wb") as file:
        np.savez_compressed(file, **arrays)
    fresh.replace(path)


def kept_run(path: Path, made_of: str) -> FreeSurfaceRun | None:
    """The run in the file; None where there is none, or one that came from something else."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            words = json.loads(str(kept["words"]))
            if words.get("schema") != SCHEMA or words.get("made_of") != made_of:
                return None
            return _run(words, {name: kept[name] for name in kept.files})
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        # A file that another hand has cut short is worth as little as none.
        return None


def _run(words: dict[str, Any], arrays: dict[str, FloatArray]) -> FreeSurfaceRun:
    shown = {name: frozen_array(arrays[name]) for name in _DRIVEN}
    driven = Driven(
        trace=str(words["trace"]),
        is_lagged=True,
        balance_error=float(words["balance_error"]),
        stuck=tuple((str(name), cast(Stuck, how)) for name, how in words["stuck"]),
        **shown,
    )
    cell = float(words["cell"])
    worst = None
    if "worst_time" in arrays:
        worst = View(
            float(arrays["worst_time"]),
            frozen_array(arrays["worst_origin"]),
            cell,
            frozen_array(arrays["worst_left"]),
            frozen_array(arrays["worst_front"]),
        )
    return FreeSurfaceRun(
        driven=driven,
        cell=cell,
        parcels=int(words["parcels"]),
        steps=int(words["steps"]),
        engine=str(words["engine"]),
        occupied=frozen_array(arrays["occupied"]),
        thin_places=tuple(
            ThinPlace((float(at[0]), float(at[1]), float(at[2])), float(wide), float(helps))
            for at, wide, helps in words["thin"]
        ),
        links=tuple(Link(str(way), float(wide), float(size)) for way, wide, size in words["links"]),
        oil_error=float(words["oil_error"]),
        wall_clock=float(words["wall_clock"]),
        snapshots=tuple(
            Snapshot(float(t), frozen_array(h))
            for t, h in zip(arrays["snapshot_times"], arrays["snapshot_heights"], strict=True)
        ),
        worst=worst,
    )
