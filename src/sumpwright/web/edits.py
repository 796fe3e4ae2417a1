"""The edits of the page done to the texts of the files, all of one request or none."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sumpwright.job.shop import SHOP_FILE
from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.fields import is_plain_number
from sumpwright.web.job_folder import FileSet, FileText
from sumpwright.web.messages import (
    AddMember,
    AddReading,
    Asked,
    ClearKey,
    FileKind,
    RemoveMember,
    RemoveReading,
    SetCell,
    SetKey,
)
from sumpwright.web.rail_edits import add_reading, remove_reading, row_of, set_cell
from sumpwright.web.toml_edits import (
    add_member,
    clear_key,
    path_of,
    remove_section,
    set_key,
    shown_text,
    split_target_or_refuse,
    value_at,
)

_NEW_SHOP = '# What holds for every pan of this shop.\n\n[shop]\nname = "My shop"\ncurrency = "EUR"\n'


PlainEdit = SetKey | ClearKey | AddMember | RemoveMember | SetCell | AddReading | RemoveReading
"""An edit of the text of one file."""


def asked_about(edits: Iterable[PlainEdit], files: FileSet) -> list[Asked]:
    """Places where something else stands than the page showed: one has to choose."""
    found = []
    for edit in edits:
        if isinstance(edit, SetKey | ClearKey) and edit.was is not None:
            now = _now(files, edit)
            yours = edit.text if isinstance(edit, SetKey) else ""
            if now not in (edit.was, yours):
                found.append(Asked(file=edit.file, key=edit.key, was=edit.was, theirs=now, yours=yours))
        elif isinstance(edit, SetCell) and edit.was is not None:
            now = row_of(_readings(files), edit.line).get(edit.column, "")
            if now not in (edit.was, edit.text.strip()):
                key = f"line {edit.line}, {edit.column}"
                found.append(Asked(file="readings", key=key, was=edit.was, theirs=now, yours=edit.text))
        elif isinstance(edit, RemoveReading):
            now = row_of(_readings(files), edit.line).get("reading", "")
            if now != edit.was:
                key = f"line {edit.line}"
                found.append(Asked(file="readings", key=key, was=edit.was, theirs=now, yours=""))
    return found


def changed_files(edits: Iterable[PlainEdit], files: FileSet) -> tuple[FileSet, str, str]:
    """The files with all edits done, and the first edit's place before and after. Raises EditRefusedError."""
    first: tuple[str, str] | None = None
    for edit in edits:
        if first is None:
            first = _before_and_after(files, edit)
        files = _done(files, edit)
    before, after = first or ("", "")
    return files, before, after


def label_of(edits: list[PlainEdit]) -> str:
    """What a step is called in the list of changes."""
    edit = edits[0]
    if isinstance(edit, SetKey | ClearKey | RemoveMember):
        name = edit.key
    elif isinstance(edit, AddMember):
        name = edit.list_key
    elif isinstance(edit, AddReading):
        name = "a new reading"
    else:
        name = f"reading on line {edit.line}"
    return name if len(edits) == 1 else f"{name} and {len(edits) - 1} more"


def _now(files: FileSet, edit: SetKey | ClearKey) -> str:
    data = files.data(edit.file)
    return shown_text(value_at(data, path_of(data, split_target_or_refuse(edit.key))))


def _before_and_after(files: FileSet, edit: PlainEdit) -> tuple[str, str]:
    if isinstance(edit, SetKey):
        return _now(files, edit), edit.text
    if isinstance(edit, ClearKey):
        return _now(files, edit), ""
    if isinstance(edit, SetCell):
        return row_of(_readings(files), edit.line).get(edit.column, ""), edit.text
    if isinstance(edit, AddReading):
        return "", ", ".join((edit.kind, edit.a, edit.b, edit.reading))
    if isinstance(edit, RemoveReading):
        return edit.was, ""
    return ("", edit.member) if isinstance(edit, AddMember) else (edit.key, "")


def _done(files: FileSet, edit: PlainEdit) -> FileSet:
    kind: FileKind = "readings" if isinstance(edit, SetCell | AddReading | RemoveReading) else edit.file
    old = files.file(kind)
    if old is None and kind == "shop":
        old = FileText(SHOP_FILE, _NEW_SHOP)
    if old is None:
        raise EditRefusedError("", "the file cannot be read; put it right in a text editor first")
    text = old.text
    if text.count("\r\n") == text.count("\n"):
        text = text.replace("\r\n", "\n")  # put back when the file is written
    return files.replaced(kind, old.with_text(_text_with(text, edit)))


def _text_with(text: str, edit: PlainEdit) -> str:
    if isinstance(edit, SetKey):
        is_plain = is_plain_number(edit.file, split_target_or_refuse(edit.key))
        return set_key(text, edit.key, edit.text, is_plain)
    if isinstance(edit, ClearKey):
        return clear_key(text, edit.key)
    if isinstance(edit, AddMember):
        return add_member(text, edit.list_key, edit.member)
    if isinstance(edit, RemoveMember):
        return remove_section(text, edit.key)
    if isinstance(edit, SetCell):
        return set_cell(text, edit.line, edit.column, edit.text)
    if isinstance(edit, RemoveReading):
        return remove_reading(text, edit.line)
    cells: dict[str, Any] = {
        "kind": edit.kind, "a": edit.a, "b": edit.b, "reading": edit.reading, "with": edit.tool, "u": edit.u,
        "note": edit.note,
    }  # fmt: skip
    return add_reading(text, edit.after_line, cells)


def _readings(files: FileSet) -> str:
    if files.readings is None:
        raise EditRefusedError("", "the readings file cannot be read; put it right in a text editor first")
    return files.readings.text
