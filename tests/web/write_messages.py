"""Writes ``page/src/messages.ts`` from the models of ``sumpwright.web``.

Run ``python -m tests.web.write_messages``.
Models become interfaces, unions of words become unions of words. Docstrings and the comments
beside the keys are carried over, so that both sides read the same.
"""

from __future__ import annotations

import inspect
import re
import types
import typing
from pathlib import Path

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from sumpwright.web import messages, picture_messages

TARGET = Path(__file__).resolve().parents[2] / "page" / "src" / "messages.ts"

_HEAD = """// Written from src/sumpwright/web/messages.py and picture_messages.py by
// `python -m tests.web.write_messages`. Do not edit by hand.
"""
_PLAIN = {str: "string", int: "number", float: "number", bool: "boolean", type(None): "null"}
_KEY = re.compile(r"^    (\w+): .*?#\s*(.*)$")


def written() -> str:
    """The whole file."""
    parts = [_HEAD, f"export const MESSAGES = {messages.MESSAGES};\n"]
    told: set[str] = set()
    for module in (messages, picture_messages):
        aliases = {name: value for name, value in vars(module).items() if _is_alias(name, value)}
        # A name that one module takes from the other is told once.
        parts += [_alias(name, value) for name, value in aliases.items() if name not in told]
        told |= aliases.keys()
        parts += [
            _interface(model)
            for model in vars(module).values()
            if inspect.isclass(model)
            and issubclass(model, messages.Message)
            and model is not messages.Message
            and model.__module__ == module.__name__
        ]
    return "\n".join(parts)


def _is_alias(name: str, value: object) -> bool:
    origin = typing.get_origin(value)
    return name[0].isupper() and origin in (
        typing.Literal,
        typing.Union,
        types.UnionType,
        typing.Annotated,
        tuple,
    )


def _alias(name: str, value: object) -> str:
    return f"export type {name} = {_type(value)};\n"


def _interface(model: type[BaseModel]) -> str:
    doc = inspect.cleandoc(model.__doc__ or "").splitlines()
    lines = ["/**", *(f" * {line}".rstrip() for line in doc), " */", f"export interface {model.__name__} {{"]
    told = _comments(model)
    for name, field in model.model_fields.items():
        mark = "" if field.is_required() else "?"
        comment = f" // {told[name]}" if name in told else ""
        lines.append(f"  {name}{mark}: {_type(_annotation(model, name, field))};{comment}")
    return "\n".join([*lines, "}\n"])


def _annotation(model: type[BaseModel], name: str, field: FieldInfo) -> object:
    return typing.get_type_hints(model, include_extras=True).get(name, field.annotation)


def _comments(model: type[BaseModel]) -> dict[str, str]:
    found = (_KEY.match(line) for line in inspect.getsource(model).splitlines())
    return {match[1]: match[2] for match in found if match}


def _type(kind: object) -> str:
    if kind in _PLAIN:
        return _PLAIN[kind]
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Annotated:
        return _type(inside[0])
    if origin is typing.Literal:
        return " | ".join(f'"{word}"' if isinstance(word, str) else str(word).lower() for word in inside)
    if origin in (typing.Union, types.UnionType):
        return " | ".join(_type(one) for one in inside)
    if origin is list:
        member = _type(inside[0])
        return f"({member})[]" if " | " in member else f"{member}[]"
    if origin is tuple:
        return f"[{', '.join(_type(one) for one in inside)}]"
    if origin is dict:
        return f"Record<{_type(inside[0])}, {_type(inside[1])}>"
    if inspect.isclass(kind) and issubclass(kind, messages.Message):
        return kind.__name__
    raise TypeError(f"no TypeScript for {kind!r}")


if __name__ == "__main__":
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_text(written(), "utf-8")
