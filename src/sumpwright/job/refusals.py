"""From the validator's errors to faults with file, line, key and a good example."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sumpwright.job.faults import Fault, shown
from sumpwright.job.fields import Asked, Name, OneOf, Setting
from sumpwright.job.lines import LineMap
from sumpwright.job.nearest import nearest
from sumpwright.job.section_types import Section

Path = tuple[str | int, ...]
AnySection = TypeVar("AnySection", bound=Section)


class OpenFile:
    """One file while it is being read: its data, its lines, and the faults found in it so far."""

    def __init__(self, name: str, text: str, data: Mapping[str, Any]) -> None:
        self.name = name
        self.data = data
        self.faults: list[Fault] = []
        self.text = text
        self._lines: LineMap | None = None

    def line(self, path: Path) -> int | None:
        """Line of a key; the map is only drawn once something is wrong."""
        if self._lines is None:
            self._lines = LineMap(self.text)
        return self._lines.line(path)

    def fault(self, path: Path, rule: str, good: str = "", allowed: str = "", read: object = None) -> None:
        """Note one fault. ``read`` stands in for the value at the path; "" where nothing stands there."""
        value = value_at(self.data, path) if read is None else read
        text = "" if value is None or read == "" else shown(value)
        key = key_words(path, self.data)
        self.faults.append(Fault(self.name, self.line(path), key, text, rule, allowed, good))

    def take(self, model: type[AnySection], data: Any, path: Path, setting: Setting) -> AnySection | None:
        """One section read by its model, or None with its faults noted."""
        if not isinstance(data, dict):
            brackets = ".".join(str(part) for part in path if isinstance(part, str))
            self.fault(path, "a section is wanted here", good=f"[{brackets}] on a line of its own")
            return None
        try:
            return model.model_validate(data, context=setting)
        except ValidationError as errors:
            for error in errors.errors(include_url=False):
                self._note(model, dict(error), path, setting)
            return None

    def _note(self, model: type[Section], error: dict[str, Any], base: Path, setting: Setting) -> None:
        inner: Path = tuple(error["loc"])
        path = (*base, *inner)
        kind = error["type"]
        if kind == "refused":
            ctx = error["ctx"]
            good = ctx["good"]
            if good and inner and isinstance(inner[-1], str):
                good = f"{inner[-1]} = {good}"
            self.fault(path, ctx["rule"], good, ctx["allowed"], read=error["input"])
        elif kind == "missing":
            last = str(inner[-1])
            self.fault(
                path,
                f"the key {last!r} is needed here and is missing",
                good=_example(model, inner, setting),
                read="",
            )
        elif kind == "extra_forbidden":
            self._note_unknown(model, inner, path)
        else:
            rule, allowed = _shape_rule(kind, error.get("ctx") or {})
            self.fault(path, rule, _example(model, inner, setting), allowed, read=error["input"])

    def _note_unknown(self, model: type[Section], inner: Path, path: Path) -> None:
        known = list(_model_at(model, inner[:-1]).model_fields)
        near = nearest(str(inner[-1]), known)
        rule = f"the key {str(inner[-1])[:40]!r} is not known here" + (
            f"; did you mean {near!r}?" if near else ""
        )
        self.fault(path, rule, allowed="known are " + ", ".join(known))


def value_at(data: Any, path: Path) -> Any:
    """What stands at a path, or None."""
    for part in path:
        is_member = isinstance(data, list) and isinstance(part, int) and part < len(data)
        if not is_member and not (isinstance(data, Mapping) and part in data):
            return None
        data = data[part]
    return data


def key_words(path: Path, data: Any) -> str:
    """A path as it is written elsewhere too: ``lumps.sump.depth``, ``rail.fasteners.2.kind``,
    ``lumps."deep end".depth``.

    Members of a list of sections are called by their name where they have one, and
    counted from one otherwise.
    """
    words = []
    for part in path:
        data = value_at(data, (part,))
        if isinstance(part, int):
            name = data.get("name") if isinstance(data, dict) else None
            words.append(_member(name) if isinstance(name, str) and name.isprintable() else str(part + 1))
        else:
            words.append(part[:40] if part.isprintable() else "?")
    return ".".join(words)


def _member(name: str) -> str:
    """A section's own name inside a key, in quotes where it would fall apart without them."""
    name = name[:40]
    return f'"{name}"' if "." in name or " " in name else name


def _model_at(model: type[Section], inner: Path) -> type[BaseModel]:
    """The model of a nested table."""
    found: type[BaseModel] = model
    for part in inner:
        field = found.model_fields.get(str(part))
        nested = [item for item in _parts(field.annotation) if _is_model(item)] if field else []
        if not nested:
            break
        found = nested[0]
    return found


def _parts(annotation: Any) -> Sequence[Any]:
    return getattr(annotation, "__args__", None) or (annotation,)


def _is_model(item: Any) -> bool:
    return isinstance(item, type) and issubclass(item, BaseModel)


def _example(model: type[Section], inner: Path, setting: Setting) -> str:
    """A good value of a key as it would stand in the file."""
    found = _model_at(model, inner[:-1])
    name = next((str(part) for part in reversed(inner) if isinstance(part, str)), "")
    field = found.model_fields.get(name)
    if field is None:
        return ""
    return f"{name} = {example_of(field, setting)}"


def example_of(field: Any, setting: Setting) -> str:
    """A good value of a field, from what it may hold."""
    for rule in field.metadata:
        if isinstance(rule, Asked):
            return f'"{rule.example(setting.units)}"'
        if isinstance(rule, OneOf):
            return f'"{rule.words[0]}"'
        if isinstance(rule, Name):
            return f'"{rule.good}"'
        good = getattr(rule, "good", None)
        if good is not None:
            return str(good) if good in ("true", "false") else f'"{good}"'
    return str(field.examples[0]) if field.examples else ""


_SHAPES: dict[str, Callable[[Mapping[str, Any]], tuple[str, str]]] = {
    "too_short": lambda ctx: ("the list is too short", f"{ctx.get('min_length')} or more"),
    "too_long": lambda ctx: ("the list is too long", f"{ctx.get('max_length')} at most"),
    "list_type": lambda ctx: ("a list in square brackets is wanted", ""),
    "dict_type": lambda ctx: ("pairs in curly brackets are wanted", ""),
    "model_type": lambda ctx: ("keys in curly brackets are wanted", ""),
}


def _shape_rule(kind: str, ctx: Mapping[str, Any]) -> tuple[str, str]:
    made = _SHAPES.get(kind)
    return made(ctx) if made else ("this value is of the wrong sort", "")
