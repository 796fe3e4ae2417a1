"""What has to hold between the keys of fittings, posts, stone guard and jack."""

from __future__ import annotations

import numpy as np

from sumpwright.job.job_file import JobFile
from sumpwright.job.metals import metal_rule
from sumpwright.job.refusals import OpenFile

SAME_DRAIN = 0.03
"""A drain boss further than this from [drain] at is another drain [m]."""


def check_fittings(file: OpenFile, job_file: JobFile) -> None:
    """Everything about them that one key alone cannot tell."""
    names: list[str] = []
    for key, sections in (("fittings", job_file.fittings), ("stand_offs", job_file.stand_offs)):
        for at, section in enumerate(sections):
            if section is not None and section.name in names:
                file.fault((key, at, "name"), "another fitting or post is called so already")
            names += [] if section is None else [section.name]
    for at, fitting in enumerate(job_file.fittings):
        if fitting is None:
            continue
        if fitting.kind == "extraction tube" and fitting.inside is None:
            file.fault(
                ("fittings", at, "inside"),
                "where the tube runs and ends inside the pan is missing",
                'inside = [["250 mm", "-150 mm", "-108 mm"]]',
                read="",
            )
        if fitting.magnet and fitting.kind != "drain":
            file.fault(("fittings", at, "magnet"), "only a drain's plug carries a magnet here; leave it out")
        if fitting.comes_from is not None and fitting.kind not in ("return", "breather"):
            file.fault(("fittings", at, "comes_from"), "only a return or breather comes from somewhere")
        if fitting.head is not None and not fitting.stands_out:
            file.fault(
                ("fittings", at, "stands_out"),
                "a head that is turned stands out beyond the sheet; by how much is missing",
                'stands_out = "14 mm"',
                read="",
            )
    _check_drain(file, job_file)
    guard = job_file.stone_guard
    if guard is not None:
        trouble = metal_rule(guard.material, "sheet") if guard.material is not None else None
        if trouble is not None:
            file.fault(("stone_guard", "material"), trouble[0], f'material = "{trouble[1]}"', trouble[2])
        if guard.drain_opening is not None and place_of_drain(job_file) is None:
            file.fault(
                ("stone_guard", "drain_opening"),
                "there is no drain to reach: give [drain] at, or a fitting of kind drain",
            )
    jacking = job_file.jacking
    if jacking is not None:
        given = (("at", jacking.at), ("diameter", jacking.diameter), ("thickness", jacking.thickness))
        good = {"at": '["300 mm", "-100 mm"]', "diameter": '"100 mm"', "thickness": '"6 mm"'}
        for key, value in given:
            if jacking.way == "load plate" and value is None:
                file.fault(
                    ("jacking", key), "a load plate needs it; it is missing", f"{key} = {good[key]}", read=""
                )
            if jacking.way == "nowhere" and value is not None:
                file.fault(("jacking", key), 'with way = "nowhere" there is no plate; leave it out')


def _check_drain(file: OpenFile, job_file: JobFile) -> None:
    drain = job_file.drain
    if drain is None or drain.at is None:
        return
    bosses = [(k, one) for k, one in enumerate(job_file.fittings) if one is not None and one.kind == "drain"]
    if bosses and all(float(np.hypot(*np.subtract(one.at[:2], drain.at))) > SAME_DRAIN for _, one in bosses):
        file.fault(
            ("fittings", bosses[0][0], "at"),
            "[drain] at names another place for the plug; keep the one that is meant",
        )


def place_of_drain(job_file: JobFile) -> list[float] | None:
    """Where the plug sits, x and y first: as [drain] says, else as the first drain boss does."""
    if job_file.drain is not None and job_file.drain.at is not None:
        return job_file.drain.at
    return next((one.at for one in job_file.fittings if one is not None and one.kind == "drain"), None)
