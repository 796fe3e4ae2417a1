"""What the sheet asks for: every key of the job and shop files, as it stands there."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache, partial
from typing import Any, Literal, get_args

from pydantic.fields import FieldInfo

from sumpwright.job.fields import Amount, Asked, Flag, Name, OneOf, Setting, Thicknesses
from sumpwright.job.metals import gauges_of
from sumpwright.job.refusals import example_of
from sumpwright.job.section_types import Section
from sumpwright.job.typed_numbers import bounds_of, number_in_unit
from sumpwright.tables.materials import materials
from sumpwright.web.job_folder import FileSet
from sumpwright.web.messages import FieldGroup, FieldRow, HoldsWhat, ListOffer, SectionAsks, SectionKey
from sumpwright.web.section_places import (
    HEADINGS,
    SECTION_KEYS,
    listed_models,
    section_of_file,
    single_models,
    title_of,
)
from sumpwright.web.toml_edits import shown_text, toml_text, value_at

EditedFile = Literal["job", "shop"]
_METAL_KEYS = ("material", "flange_material", "block", "threads")


class GroupStore:
    """Groups of fields as made last: a section that nobody touched is not made again."""

    def __init__(self) -> None:
        """Nothing made yet."""
        self._made: dict[tuple[EditedFile, str], tuple[Any, FieldGroup]] = {}

    def group(
        self, file: EditedFile, key: str, state: tuple[Any, ...], make: Callable[[], FieldGroup]
    ) -> FieldGroup:
        """The group made of this state."""
        kept = self._made.get((file, key))
        if kept is None or kept[0] != state:
            kept = (state, make())
            self._made[file, key] = kept
        return kept[1]


def asked(files: FileSet, store: GroupStore) -> tuple[SectionAsks, ...]:
    """Every section with its groups of fields, without what stands in for missing keys and without faults."""
    groups: dict[SectionKey, list[FieldGroup]] = {key: [] for key in SECTION_KEYS}
    offers: dict[SectionKey, list[ListOffer]] = {key: [] for key in SECTION_KEYS}
    setting = _setting(files)
    for file in ("job", "shop"):
        data = files.data(file)
        for name, model in single_models(file).items():
            place = section_of_file(file, name)
            groups[place].append(_single(file, name, model, data, setting, store))
            for path, inner in listed_models(file).items():
                if len(path) == 2 and path[0] == name:
                    groups[place] += _members(file, path, inner, data, setting, store)
                    offers[place].append(_offer(file, path, inner, data, setting))
        for path, inner in listed_models(file).items():
            if len(path) == 1:
                place = section_of_file(file, path[0])
                groups[place] += _members(file, path, inner, data, setting, store)
                offers[place].append(_offer(file, path, inner, data, setting))
    return tuple(
        SectionAsks(section=key, heading=HEADINGS[key], groups=groups[key], offers=offers[key])
        for key in SECTION_KEYS
    )


def all_rows(sections: tuple[SectionAsks, ...]) -> dict[tuple[str, str], FieldRow]:
    """Every field by file and key."""
    return {(row.file, row.key): row for one in sections for group in one.groups for row in group.fields}


def is_plain_number(file: EditedFile, names: tuple[str, ...]) -> bool:
    """Whether a key holds a bare number or a flag, without quotes."""
    model = _model_of(file, names)
    field = None if model is None else model.model_fields.get(names[-1])
    if field is None:
        return False
    return _kind_of(field) in (bool, int) or any(isinstance(rule, Flag) for rule in field.metadata)


def quoted_key(name: str) -> str:
    """A name as it stands in a target: in quotes where it has a dot, a blank or a quote in it."""
    return f'"{name}"' if not name.replace("-", "").replace("_", "").isalnum() else name


def member_key(path: tuple[str, ...], members: list[Any], at: int) -> str:
    """The target of one member: by its name where that names it alone, else counted from one."""
    member = members[at]
    name = str(member.get("name", "")) if isinstance(member, dict) else ""
    named = [one for one in members if isinstance(one, dict) and str(one.get("name", "")) == name]
    is_plain = bool(name) and len(named) == 1 and '"' not in name
    return f"{'.'.join(path)}.{quoted_key(name) if is_plain else at + 1}"


def _single(
    file: EditedFile,
    name: str,
    model: type[Section],
    data: Mapping[str, Any],
    setting: Setting,
    store: GroupStore,
) -> FieldGroup:
    there = data.get(name)
    values = there if isinstance(there, dict) else {}
    inner = [path[1] for path in listed_models(file) if len(path) == 2 and path[0] == name]
    own = {key: value for key, value in values.items() if key not in inner}

    def make() -> FieldGroup:
        return FieldGroup(
            file=file,
            key=name,
            list_key="",
            title=title_of((name,)),
            help=_doc(model),
            given=isinstance(there, dict),
            fields=_rows(file, name, model, own, _with_gauges(setting, own), (name,)),
        )

    return store.group(file, name, (isinstance(there, dict), own, setting), make)


def _members(
    file: EditedFile,
    path: tuple[str, ...],
    model: type[Section],
    data: Mapping[str, Any],
    setting: Setting,
    store: GroupStore,
) -> list[FieldGroup]:
    members = value_at(data, path)
    if not isinstance(members, list):
        return []

    def group(key: str, values: Mapping[str, Any], name: str) -> FieldGroup:
        return FieldGroup(
            file=file,
            key=key,
            list_key=".".join(path),
            title=title_of(path, name),
            help=_doc(model),
            given=True,
            fields=_rows(file, key, model, values, _with_gauges(setting, values), path),
        )

    found = []
    for at, member in enumerate(members):
        values = member if isinstance(member, dict) else {}
        key = member_key(path, members, at)
        name = str(values.get("name", "")) or str(at + 1)
        found.append(store.group(file, key, (values, setting, name), partial(group, key, values, name)))
    return found


def _offer(
    file: EditedFile, path: tuple[str, ...], model: type[Section], data: Mapping[str, Any], setting: Setting
) -> ListOffer:
    there = value_at(data, path)
    members = there if isinstance(there, list) else []
    title = title_of(path).lower()
    return ListOffer(
        file=file,
        list_key=".".join(path),
        title=title,
        help=_doc(model),
        members=[member_key(path, members, at) for at in range(len(members))],
        new_member=_beginning(model, title, len(members), setting),
    )


def _beginning(model: type[Section], title: str, count: int, setting: Setting) -> str:
    """A member to begin with: the keys that are needed, with good examples."""
    import tomllib

    held: dict[str, Any] = {}
    for key, field in model.model_fields.items():
        if key == "name":
            held[key] = f"{title} {count + 1}"[:30]
        elif field.is_required():
            held[key] = tomllib.loads(f"value = {example_of(field, setting) or chr(34) * 2}")["value"]
    return toml_text(held)


def _rows(
    file: EditedFile,
    key: str,
    model: type[Section],
    values: Mapping[str, Any],
    setting: Setting,
    path: tuple[str, ...],
) -> list[FieldRow]:
    inner = {one[1] for one in listed_models(file) if len(one) == 2 and one[:1] == path}
    rows = [
        _row(file, f"{key}.{name}", name, field, values.get(name), name in values, setting)
        for name, field in model.model_fields.items()
        if name not in inner
    ]
    rows += [
        _stranger(file, f"{key}.{quoted_key(name)}", name, value)
        for name, value in values.items()
        if name not in model.model_fields and name not in inner
    ]
    return rows


def _row(
    file: EditedFile, key: str, name: str, field: FieldInfo, value: Any, given: bool, setting: Setting
) -> FieldRow:
    shape = _shape(field, setting)
    number = None
    if shape.rule is not None and isinstance(value, str | int | float) and not isinstance(value, bool):
        number = number_in_unit(shape.rule, value, setting)
    return FieldRow(
        file=file,
        key=key,
        label=name.replace("_", " "),
        text=shown_text(value) if given else "",
        given=given,
        needed=field.is_required(),
        holds=shape.holds,
        kind=shape.rule.kind if shape.rule is not None else "",
        words=_metals() if name in _METAL_KEYS and not shape.words else list(shape.words),
        help=" ".join((field.description or "").split()),
        allowed=shape.allowed,
        example=shape.example,
        value=number,
        least=shape.least,
        most=shape.most,
        unit=shape.label,
        taken="",
        faults=[],
    )


def _stranger(file: EditedFile, key: str, name: str, value: Any) -> FieldRow:
    """A key that nobody knows: it is shown, so that it can be taken out."""
    return FieldRow(
        file=file, key=key, label=name[:40], text=shown_text(value)[:2000], given=True, needed=False,
        holds="text", kind="", words=[], help="", allowed="", example="", value=None, least=None, most=None,
        unit="", taken="", faults=[],
    )  # fmt: skip


class _Shape:
    """What a key may hold, the same for every job in one unit system."""

    def __init__(self, field: FieldInfo, setting: Setting) -> None:
        self.rule: Asked | None = next((rule for rule in field.metadata if isinstance(rule, Asked)), None)
        self.words: tuple[str, ...] = ()
        self.allowed = self.label = ""
        self.least: float | None = None
        self.most: float | None = None
        example = example_of(field, setting)
        self.example = example[1:-1] if example[:1] == '"' == example[-1:] else example
        self.holds: HoldsWhat = self._holds(field)
        if self.rule is not None:
            self._bounds(self.rule, setting)

    def _holds(self, field: FieldInfo) -> HoldsWhat:
        for rule in field.metadata:
            if isinstance(rule, Asked | Thicknesses | Amount):
                return "quantity"
            if isinstance(rule, OneOf):
                self.words = rule.words
                return "word"
            if isinstance(rule, Flag):
                return "flag"
            if isinstance(rule, Name):
                return "name"
        kind = _kind_of(field)
        if kind is list:
            self.words = _words_inside(field.annotation)
            return "list"
        return "pairs" if kind is dict else "text"

    def _bounds(self, rule: Asked, setting: Setting) -> None:
        bounds = bounds_of(rule, setting.units)
        self.allowed, self.label = bounds.allowed, bounds.unit
        self.least, self.most = bounds.least, bounds.most


@lru_cache(maxsize=2000)
def _shape_of(field_id: int, units: str, gallons: str | None) -> list[_Shape]:
    """A place to keep the shape of a field; filled by ``_shape``."""
    return []


def _shape(field: FieldInfo, setting: Setting) -> _Shape:
    # Fields live as long as their models, so their identity names them.
    kept = _shape_of(id(field), setting.units, setting.gallons)
    if not kept:
        kept.append(_Shape(field, setting))
    return kept[0]


def _kind_of(field: FieldInfo) -> Any:
    """list, dict, int, bool or another type, without the None beside it."""
    kind = field.annotation
    for one in (kind, *get_args(kind)):
        plain = getattr(one, "__origin__", one)
        if plain in (list, dict, int, bool):
            return plain
        for inner in get_args(one):
            if getattr(inner, "__origin__", inner) in (list, dict):
                return getattr(inner, "__origin__", inner)
    return kind


def _words_inside(kind: Any) -> tuple[str, ...]:
    """Words that may stand in a list."""
    for one in (*getattr(kind, "__metadata__", ()), *get_args(kind)):
        if isinstance(one, OneOf):
            return one.words
        found = _words_inside(one) if get_args(one) else ()
        if found:
            return found
    return ()


def _model_of(file: EditedFile, names: tuple[str, ...]) -> type[Section] | None:
    single, listed = single_models(file), listed_models(file)
    if len(names) >= 4 and names[:2] in listed:
        return listed[names[:2]]
    if len(names) == 3 and names[:1] in listed:
        return listed[names[:1]]
    return single.get(names[0]) if len(names) == 2 else None


def _setting(files: FileSet) -> Setting:
    job = files.data("job").get("job")
    job = job if isinstance(job, dict) else {}
    gallons = job.get("gallons")
    return Setting(
        units="in" if job.get("units") in ("in", "inch", "inches") else "mm",
        gallons=gallons if gallons in ("us", "imperial") else None,
    )


def _with_gauges(setting: Setting, values: Mapping[str, Any]) -> Setting:
    if "material" not in values:
        return setting
    return Setting(units=setting.units, gallons=setting.gallons, gauges=gauges_of(values["material"]))


@lru_cache(maxsize=1)
def _metal_names() -> tuple[str, ...]:
    return tuple(metal.id for metal in materials())


def _metals() -> list[str]:
    return list(_metal_names())


def _doc(model: type[Section]) -> str:
    return " ".join((model.__doc__ or "").split())
