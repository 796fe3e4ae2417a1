"""Parting a file into its sections: known, not read yet, unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from sumpwright.job.fields import Setting
from sumpwright.job.nearest import nearest
from sumpwright.job.refusals import OpenFile, Path
from sumpwright.job.section_types import Section

MOST_LISTED = 200
"""Sections of one kind in a file."""


def take_sections(
    file: OpenFile,
    single: Mapping[str, type[Section]],
    listed: Mapping[tuple[str, ...], type[Section]],
    reserved: Mapping[str, str],
    setting_for: Callable[[tuple[str, ...], Any], Setting],
) -> tuple[dict[str, Section | None], dict[tuple[str, ...], list[Section | None]]]:
    """Every section read by its model; None where it is faulty, absent where the file has none."""
    known = [*single, *(path[0] for path in listed if len(path) == 1)]
    for name, data in file.data.items():
        if name not in known:
            _unknown(file, name, data, known, reserved)
    found_single: dict[str, Section | None] = {}
    inner = {path: _pop_inner(file.data, path) for path in listed if len(path) == 2}
    for name, model in single.items():
        if name in file.data:
            data = file.data[name]
            if isinstance(data, dict):
                data = {key: value for key, value in data.items() if (name, key) not in listed}
            found_single[name] = file.take(model, data, (name,), setting_for((name,), data))
    found_listed: dict[tuple[str, ...], list[Section | None]] = {}
    for path, model in listed.items():
        items = inner[path] if len(path) == 2 else file.data.get(path[0])
        found_listed[path] = _take_list(file, model, items, path, setting_for)
    return found_single, found_listed


def _pop_inner(data: Mapping[str, Any], path: tuple[str, ...]) -> Any:
    outer = data.get(path[0])
    return outer.get(path[1]) if isinstance(outer, dict) else None


def _take_list(
    file: OpenFile,
    model: type[Section],
    items: Any,
    path: tuple[str, ...],
    setting_for: Callable[[tuple[str, ...], Any], Setting],
) -> list[Section | None]:
    if items is None:
        return []
    brackets = f"[[{'.'.join(path)}]]"
    if not isinstance(items, list):
        file.fault(path, "this section stands in double brackets, once for each", good=brackets)
        return []
    if len(items) > MOST_LISTED:
        file.fault(path, f"there are more than {MOST_LISTED} of these sections")
        return []
    found: list[Section | None] = []
    for at, item in enumerate(items):
        here: Path = (*path, at)
        if isinstance(item, dict):
            found.append(file.take(model, item, here, setting_for(path, item)))
        else:
            file.fault(here, "a section in double brackets is wanted", good=brackets)
            found.append(None)
    return found


def _unknown(file: OpenFile, name: str, data: Any, known: list[str], reserved: Mapping[str, str]) -> None:
    if name in reserved:
        file.fault(
            (name,),
            f"this section is not read yet (it is kept for {reserved[name]}); leave it out for now",
            read="",
        )
        return
    word = name[:40] if name.isprintable() else "?"
    near = nearest(name, known)
    hint = f"; did you mean {near!r}?" if near else ""
    if isinstance(data, dict | list):
        file.fault((name,), f"no section is called {word!r}{hint}", allowed=", ".join(known), read="")
    else:
        file.fault((name,), "this key stands in no section", allowed="the sections " + ", ".join(known))
