"""What has to hold between the rail's keys."""

from __future__ import annotations

from collections.abc import Iterable

from sumpwright.job.job_file import JobFile
from sumpwright.job.metals import metal_rule
from sumpwright.job.nearest import nearest
from sumpwright.job.rail_inputs import HOT, ROOM_TEMPERATURE
from sumpwright.job.refusals import OpenFile, Path
from sumpwright.job.sections import FastenersSection, LandSection
from sumpwright.tables.fasteners import find_thread, threads
from sumpwright.tables.materials import find_material


def check_rail(file: OpenFile, job_file: JobFile) -> None:
    """Everything about the rail that one key alone cannot tell."""
    ring = ring_of(file)
    if ring is not None:
        _check_ring(file, ring)
        _check_fastener_holes(file, ring)
        _check_named_holes(file, ring)
    _check_fasteners(file, job_file.fasteners)
    _check_directions(file)
    _check_lands(file, job_file, ring)
    rail = job_file.rail
    if rail is None:
        return
    for key, name, use in (("block", rail.block, "block"), ("threads", rail.threads, "threads")):
        if name is not None and not (use == "threads" and find_material(name) is not None):
            trouble = metal_rule(name, "block")
            if trouble is not None:
                file.fault(("rail", key), trouble[0], f'{key} = "{trouble[1]}"', trouble[2])
    if (rail.hot or HOT) <= (rail.temperature or ROOM_TEMPERATURE):
        file.fault(
            ("rail", "hot"),
            "the hot engine has to be warmer than the rail was when it was read",
            'hot = "110 degC"',
        )


def ring_of(file: OpenFile) -> list[str] | None:
    """The ring as it stands in the file, even where its section is faulty; None if it is no list of names."""
    rail = file.data.get("rail")
    ring = rail.get("ring") if isinstance(rail, dict) else None
    if not isinstance(ring, list) or not all(isinstance(name, str) for name in ring):
        return None
    return [" ".join(name.split()) for name in ring]


def lands_of(file: OpenFile) -> list[str] | None:
    """Names of the lands as they stand in the file; None if there is no list of them."""
    rail = file.data.get("rail")
    lands = rail.get("lands") if isinstance(rail, dict) else None
    if not isinstance(lands, list):
        return None
    names = (land.get("name") for land in lands if isinstance(land, dict))
    return [" ".join(name.split()) for name in names if isinstance(name, str)]


def _check_ring(file: OpenFile, ring: list[str]) -> None:
    for at, name in enumerate(ring):
        if name in ring[:at]:
            file.fault(("rail", "ring", at), f"hole {name!r} stands in the ring twice")


def _unknown_hole(file: OpenFile, path: Path, name: str, ring: list[str]) -> None:
    near = nearest(name, ring)
    hint = f"; did you mean {near!r}?" if near else ""
    file.fault(path, f"no hole of this name stands in the ring{hint}", good=f'"{near}"' if near else "")


def _check_fastener_holes(file: OpenFile, ring: list[str]) -> None:
    groups = file.data["rail"].get("fasteners")
    if not isinstance(groups, list):
        return
    seen: dict[str, int] = {}
    for at, group in enumerate(groups):
        holes = group.get("holes") if isinstance(group, dict) else None
        for place, name in enumerate(holes if isinstance(holes, list) else ()):
            if not isinstance(name, str):
                continue
            path = ("rail", "fasteners", at, "holes", place)
            if name not in ring:
                _unknown_hole(file, path, name, ring)
            elif name in seen:
                file.fault(
                    path, f"hole {name!r} is in group {seen[name] + 1} already; a hole has one fastener"
                )
            else:
                seen[name] = at
    left = [name for name in dict.fromkeys(ring) if name not in seen]
    if left:
        file.fault(
            ("rail", "fasteners"),
            f"no fastener is given for {_listing(left)}",
            good='holes = ["h1", "h2"]',
            read="",
        )


def _check_named_holes(file: OpenFile, ring: list[str]) -> None:
    rail = file.data["rail"]
    named = {key: rail[key] for key in ("datum", "second", "side_hole") if isinstance(rail.get(key), str)}
    for key, name in named.items():
        if name not in ring:
            _unknown_hole(file, ("rail", key), name, ring)
    if "second" in named and named["second"] == named.get("datum"):
        file.fault(
            ("rail", "second"),
            "this is the datum hole itself; the second hole has to be another one, far from it",
        )
    if "side_hole" in named and named["side_hole"] in (named.get("datum"), named.get("second")):
        file.fault(
            ("rail", "side_hole"), "this hole lies on the line datum-second itself; name one well to its side"
        )


def _check_directions(file: OpenFile) -> None:
    rail = file.data.get("rail")
    if not isinstance(rail, dict):
        return
    if "bearing_left" in rail and "bearing_right" in rail:
        file.fault(
            ("rail", "bearing_right"),
            "'bearing_left' and 'bearing_right' are both given; keep the one that is meant",
        )
    if "side_hole" in rail and "side" not in rail:
        file.fault(("rail", "side"), "on which side that hole lies is missing", good='side = "left"', read="")
    if "side" in rail and "side_hole" not in rail:
        file.fault(
            ("rail", "side_hole"), "which hole lies on that side is missing", good='side_hole = "h9"', read=""
        )
    if ("side" in rail or "ring_runs" in rail) and "seen_from" not in rail:
        file.fault(
            ("rail", "seen_from"),
            "from where it was seen is missing: below, lying under the engine, left and right change places",
            good='seen_from = "below"',
            read="",
        )


def _check_fasteners(file: OpenFile, groups: Iterable[FastenersSection | None]) -> None:
    for at, group in enumerate(groups):
        if group is None:
            continue
        base: Path = ("rail", "fasteners", at)
        if group.kind == "dowel":
            if group.diameter is None:
                file.fault(
                    (*base, "diameter"), "a dowel needs its diameter", good='diameter = "8 mm"', read=""
                )
            for key in ("thread", "blind_depth", "through", "old_bolt_length"):
                if getattr(group, key) is not None:
                    file.fault((*base, key), "a dowel has none; leave it out")
            continue
        if group.thread is None:
            file.fault((*base, "thread"), f"a {group.kind} needs its thread", good='thread = "M6"', read="")
        elif find_thread(group.thread) is None:
            names = [thread.name for thread in threads()]
            near = nearest(group.thread, names)
            hint = f"; did you mean {near!r}?" if near else ""
            file.fault(
                (*base, "thread"),
                f"this thread is not in the tables (ISO 261, ASME B1.1){hint}",
                f'thread = "{near or "M6"}"',
            )
        if group.diameter is not None:
            file.fault((*base, "diameter"), "the thread says the diameter of a bolt or stud; leave it out")
        if group.through and group.blind_depth is not None:
            file.fault(
                (*base, "blind_depth"),
                "a hole that goes through has no bottom; keep one of 'through' and 'blind_depth'",
            )


def _check_lands(file: OpenFile, job_file: JobFile, ring: list[str] | None) -> None:
    lands = job_file.lands
    spans = 0
    for at, land in enumerate(lands):
        if land is None:
            continue
        base: Path = ("rail", "lands", at)
        if land.name in (other.name for other in lands[:at] if other is not None):
            file.fault((*base, "name"), "another land is called so already")
        _check_land_shape(file, base, land)
        ends = (land.from_hole, land.to_hole)
        if ends != (None, None):
            spans += 1
            _check_span(file, base, land, ring)
    if None not in lands and lands and len(lands) - spans != 1:
        rule = (
            "exactly one land has neither 'from_hole' nor 'to_hole': the rest of the ring"
            if len(lands) - spans > 1
            else "one land without 'from_hole' and 'to_hole' is needed: the rest of the ring"
        )
        file.fault(("rail", "lands"), rule, good='name = "main"', read="")
    rail = file.data.get("rail")
    if spans and isinstance(rail, dict) and "ring_runs" not in rail:
        file.fault(
            ("rail", "ring_runs"),
            "which way round the ring goes is missing; the lands that span part of it need it",
            good='ring_runs = "clockwise"',
            read="",
        )


def _check_land_shape(file: OpenFile, base: Path, land: LandSection) -> None:
    if land.above is not None and land.below is not None:
        file.fault((*base, "below"), "'above' and 'below' are both given; keep the one that is meant")
    for key, good in (("radius", 'radius = "52 mm"'), ("width", 'width = "14 mm"')):
        if land.kind == "arch" and getattr(land, key) is None:
            file.fault((*base, key), f"an arch needs its {key}", good=good, read="")
        if land.kind != "arch" and getattr(land, key) is not None:
            file.fault((*base, key), f"only an arch has a {key}")
    if land.kind != "arch" and land.middle is not None:
        file.fault((*base, "middle"), "only an arch has a middle")
    for key in ("from_line", "to_line"):
        line = getattr(land, key)
        if line is not None and land.kind == "arch":
            file.fault((*base, key), f"an arch has no {key}; give its middle")
        elif line is not None and land.from_hole is None:
            file.fault((*base, key), f"the rest of the ring has no {key}")
        elif line is not None and line[0] == line[1]:
            file.fault((*base, key), f"the two points of {key} are one and the same")
    if land.kind == "step" and land.above is None and land.below is None:
        file.fault(
            (*base, "below"), "a step needs its height, 'above' or 'below'", good='below = "12 mm"', read=""
        )


def _check_span(file: OpenFile, base: Path, land: LandSection, ring: list[str] | None) -> None:
    for key in ("from_hole", "to_hole"):
        name = getattr(land, key)
        if name is None:
            file.fault(
                (*base, key),
                "a land that spans part of the ring needs both ends",
                good=f'{key} = "h8"',
                read="",
            )
        elif ring is not None and name not in ring:
            _unknown_hole(file, (*base, key), name, ring)
    if land.from_hole is not None and land.from_hole == land.to_hole:
        file.fault((*base, "to_hole"), "a land cannot begin and end at one hole")


def _listing(names: list[str]) -> str:
    shown = ", ".join(names[:12])
    return f"{shown} and {len(names) - 12} more" if len(names) > 12 else shown
