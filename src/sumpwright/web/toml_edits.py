"""A change is made to the text of a TOML file: comments, order and all other lines stay.

Whatever the editing does, the new text is read again and must hold exactly the old data
with that one change; anything else is refused and nothing is written.
"""

from __future__ import annotations

import copy
import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from tomlkit.exceptions import TOMLKitError

from sumpwright.flow.changes import ONE_MORE, Change, changed_data, changed_text, split_target
from sumpwright.job.lines import LineMap
from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.job_folder import toml_data

Path = tuple[str | int, ...]

_HEADER = re.compile(r"^[ \t]*\[\[?[^\[\]]+\]\]?\s*(?:#.*)?$")
_SIMPLE = re.compile(r"^[ \t]*(?P<key>[A-Za-z0-9_-]+)[ \t]*=[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def set_key(text: str, target: str, typed: str, is_plain: bool) -> str:
    """The text with what was typed at the key; ``is_plain`` where a number or flag stands without quotes."""
    data = _data(text)
    steps = split_target_or_refuse(target)
    if steps[-1] == ONE_MORE:
        return _with_one_more(text, data, Change(target, typed))
    path = path_of(data, steps)
    if len(path) < 2 or _is_section(text, data, path):
        raise EditRefusedError(target, "this is a section, not a key in one")
    value: Any = _typed_value(target, typed, is_plain, value_at(data, path))
    if value_at(data, path) == value and type(value_at(data, path)) is type(value):
        return text
    short = _on_one_line(text, path, value_at(data, path), value)
    if short is not None:
        return _proved(short, _with(data, path, value), target)
    try:
        if is_plain and value_at(data, path) is None:
            # A key that is new is written as text unless something plain stands there before.
            text = changed_text(text, Change(target, "true"))
        elif isinstance(value, str) and isinstance(value_at(data, path), bool | int | float):
            text = without_key(text, path)  # text takes the place of a plain number: with its quotes
        new = changed_text(text, Change(target, typed))
    except ValueError as trouble:
        raise EditRefusedError(target, str(trouble)) from None
    return _proved(new, _with(data, path, value), target)


def _with_one_more(text: str, data: Mapping[str, Any], change: Change) -> str:
    """The text with one more member of a list, as a proposal asks for it."""
    try:
        return _proved(changed_text(text, change), changed_data(data, change), change.target)
    except (ValueError, TOMLKitError) as trouble:
        raise EditRefusedError(change.target, str(trouble)) from None


def _on_one_line(text: str, path: Path, old: Any, new: Any) -> str | None:
    """The text with one string in its line replaced; None where it is not as simple as that.

    Most edits are, and it saves reading the whole file in a way that can write it back.
    """
    if not isinstance(old, str) or not isinstance(new, str):
        return None
    line = LineMap(text).line(path)
    lines = text.split("\n")
    start = None if line is None else _SIMPLE.match(lines[line - 1])
    if line is None or start is None or start["key"] != path[-1]:
        return None
    rest = lines[line - 1][start.end() :]
    written = toml_text(old)
    if not rest.startswith(written) or rest[len(written) :].strip()[:1] not in ("", "#"):
        return None
    lines[line - 1] = f"{start[0]}{toml_text(new)}{rest[len(written) :]}"
    return "\n".join(lines)


def clear_key(text: str, target: str) -> str:
    """The text without the key; a key that is not there is no trouble."""
    data = _data(text)
    path = path_of(data, split_target_or_refuse(target))
    if value_at(data, path) is None:
        return text
    if len(path) < 2 or _is_section(text, data, path):
        raise EditRefusedError(target, "this is a section, not a key in one")
    return _proved(without_key(text, path), _without(data, path), target)


def add_member(text: str, list_key: str, member: str) -> str:
    """The text with one more section in double brackets, behind its last like."""
    data = _data(text)
    names = split_target_or_refuse(list_key)
    path: Path = tuple(names)
    new = _member_data(list_key, member)
    there = value_at(data, path)
    if there is not None and not isinstance(there, list):
        raise EditRefusedError(list_key, "what stands there is no list of sections")
    lines = text.split("\n")
    block = [f"[[{'.'.join(_key(name) for name in names)}]]"]
    block += [f"{_key(key)} = {toml_text(value)}" for key, value in new.items()]
    if there:
        start = LineMap(text).line((*path, len(there) - 1))
        if start is None or not _HEADER.match(lines[start - 1]):
            raise EditRefusedError(
                list_key, "the list stands on one line; write the new member into it by hand"
            )
        end = _block_end(text, lines, (*path, len(there) - 1))
        at = end
    else:
        at = _end_of_parent(text, lines, path, data)
    ahead = [""] if at and lines[at - 1].strip() else []
    behind = [""] if at < len(lines) and lines[at].strip() else []
    lines[at:at] = [*ahead, *block, *behind]
    wanted = copy.deepcopy(dict(data))
    place: Any = wanted
    for name in names[:-1]:
        place = place.setdefault(name, {})
    place.setdefault(names[-1], []).append(new)
    text = "\n".join(lines)
    return _proved(text if text.endswith("\n") else f"{text}\n", wanted, list_key)


def remove_section(text: str, target: str) -> str:
    """The text without a section, or without one member of a list of sections."""
    data = _data(text)
    path = path_of(data, split_target_or_refuse(target))
    if value_at(data, path) is None:
        raise EditRefusedError(target, "there is no such section any more")
    lines = text.split("\n")
    start = LineMap(text).line(path)
    if start is None or not _HEADER.match(lines[start - 1]):
        raise EditRefusedError(target, "it stands on one line with others; take it out by hand")
    del lines[start - 1 : _block_end(text, lines, path)]
    while (
        start >= 2
        and start - 1 < len(lines)
        and not lines[start - 2].strip()
        and not lines[start - 1].strip()
    ):
        del lines[start - 1]
    return _proved("\n".join(lines), _without(data, path), target)


def without_key(text: str, path: Path) -> str:
    """The text without one key, however many lines its value takes."""
    import tomlkit

    document = tomlkit.parse(text)
    place: Any = document
    for step in path[:-1]:
        place = place[step]
    del place[path[-1]]
    return tomlkit.dumps(document)


def split_target_or_refuse(target: str) -> tuple[str, ...]:
    """The names of a target; a target that is none is refused."""
    try:
        return split_target(target)
    except ValueError as trouble:
        raise EditRefusedError(target[:80], str(trouble)) from None


def path_of(data: Mapping[str, Any], names: tuple[str, ...]) -> Path:
    """The path of a target in the data; a member that nobody wrote is refused."""
    path: list[str | int] = []
    place: Any = data
    for name in names:
        if isinstance(place, list):
            at = member_at(place, name)
            if at is None:
                raise EditRefusedError(".".join(names), f"nothing here is called {name!r} any more")
            path.append(at)
            place = place[at]
        else:
            path.append(name)
            place = place.get(name) if isinstance(place, Mapping) else None
    return tuple(path)


def member_at(members: list[Any], name: str) -> int | None:
    """Which member of a list is meant: by its name, or counted from one."""
    for at, member in enumerate(members):
        if isinstance(member, dict) and str(member.get("name")) == name:
            return at
    if name.isdigit() and 1 <= int(name) <= len(members):
        return int(name) - 1
    return None


def value_at(data: Any, path: Path) -> Any:
    """What stands at a path, or None."""
    for step in path:
        is_member = isinstance(data, list) and isinstance(step, int) and step < len(data)
        if not is_member and not (isinstance(data, Mapping) and step in data):
            return None
        data = data[step]
    return data


def toml_text(value: Any) -> str:
    """A value as one line of TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # JSON's escapes are TOML's, but for the letter DEL.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    if isinstance(value, list):
        return f"[{', '.join(toml_text(one) for one in value)}]"
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(str(key))} = {toml_text(one)}" for key, one in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    return str(value)


def shown_text(value: Any) -> str:
    """A value as it is typed into a field: text without its quotes."""
    return value if isinstance(value, str) else "" if value is None else toml_text(value)


def _key(name: str) -> str:
    return name if _BARE_KEY.fullmatch(name) else toml_text(name)


def _is_section(text: str, data: Mapping[str, Any], path: Path) -> bool:
    """Whether what stands there has a heading of its own."""
    there = value_at(data, path)
    if not isinstance(there, dict | list):
        return False
    line = LineMap(text).line(path)
    return (
        line is not None
        and path in headers_on(text, line)
        and bool(_HEADER.match(text.split("\n")[line - 1]))
    )


def _data(text: str) -> Mapping[str, Any]:
    data = toml_data(text)
    if not data and any(line.strip() and not line.lstrip().startswith("#") for line in text.split("\n")):
        raise EditRefusedError(
            "", "the file cannot be read as it stands; put it right in a text editor first"
        )
    return data


def _typed_value(target: str, typed: str, is_plain: bool, old: Any) -> Any:
    """What the file would hold after it."""
    plain = typed.strip()
    is_other = plain.startswith(("[", "{")) or plain in ("true", "false")
    if not is_other and not is_plain:
        return typed
    try:
        return tomllib.loads(f"value = {plain}")["value"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        if is_plain and not is_other:
            raise EditRefusedError(target, f"a plain number is wanted here, not {plain[:40]!r}") from None
        raise EditRefusedError(
            target, "this list cannot be read: are all quotes, commas and brackets closed?"
        ) from None


def _member_data(list_key: str, member: str) -> dict[str, Any]:
    try:
        found = tomllib.loads(f"member = {member.strip()}")["member"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        found = None
    if not isinstance(found, dict):
        raise EditRefusedError(list_key, "the new member cannot be read; keys in curly brackets are wanted")
    return found


def _block_end(text: str, lines: list[str], path: Path) -> int:
    """Number of lines up to the end of a section with all that belongs to it.

    Blank lines and remarks right before the next heading belong to that one.
    """
    start = LineMap(text).line(path) or 1
    end = len(lines)
    for number in range(start, len(lines)):
        if _HEADER.match(lines[number]) and _is_header(text, number + 1, path):
            end = number
            break
    while end > start and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return end


def _is_header(text: str, line: int, path: Path) -> bool:
    """Whether the line is a heading of a section that does not lie inside the one at ``path``."""
    depth = len(path)
    return any(found != path[: len(found)] and found[:depth] != path for found in headers_on(text, line))


def headers_on(text: str, line: int) -> list[Path]:
    """Paths of the sections whose heading stands on this line."""
    map_of = LineMap(text)
    found: list[Path] = []

    def walk(value: Any, path: Path) -> None:
        if isinstance(value, dict) or (
            isinstance(value, list) and all(isinstance(one, dict) for one in value)
        ):
            if path and map_of.line(path) == line:
                found.append(path)
            for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
                walk(inner, (*path, key))

    walk(tomllib.loads(text), ())
    return found


def _end_of_parent(text: str, lines: list[str], path: Path, data: Mapping[str, Any]) -> int:
    """Where a first member goes: behind the section it belongs to, or at the end of the file."""
    if len(path) > 1 and isinstance(value_at(data, path[:-1]), dict):
        return _block_end(text, lines, path[:-1])
    end = len(lines)
    while end and not lines[end - 1].strip():
        end -= 1
    return end


def _with(data: Mapping[str, Any], path: Path, value: Any) -> dict[str, Any]:
    new = copy.deepcopy(dict(data))
    place: Any = new
    for step in path[:-1]:
        place = place.setdefault(step, {}) if isinstance(step, str) else place[step]
    place[path[-1]] = value
    return new


def _without(data: Mapping[str, Any], path: Path) -> dict[str, Any]:
    new = copy.deepcopy(dict(data))
    place: Any = new
    for step in path[:-1]:
        place = place[step]
    del place[path[-1]]
    return new


def _proved(text: str, wanted: Mapping[str, Any], target: str) -> str:
    """The new text, if it holds what it should and nothing else."""
    if _plain(toml_data(text)) != _plain(wanted):
        raise EditRefusedError(
            target, "this could not be written without touching other lines; change it in a text editor"
        )
    return text


def _plain(value: Any) -> Any:
    """Data with empty lists of sections left out: the last member gone, nothing stands there any more."""
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items() if one != []}
    return [_plain(one) for one in value] if isinstance(value, list) else value
