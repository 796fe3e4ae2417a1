"""What a key of a file may hold: quantities in a range, words from a list, names.

Each class is the annotation of a field in the section models; it reads the value and
refuses it with a rule, the allowed range in the writer's own unit, and a good example.
"""

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from pydantic_core import PydanticCustomError, core_schema

from sumpwright.job.nearest import nearest
from sumpwright.quantities.text import (
    GAUGE,
    GRADE,
    Gallons,
    Quantity,
    QuantityError,
    Unit,
    read,
    round_to,
    to_si,
    unit,
)

UnitSystem = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class Setting:
    """What the reader of a value has to know from elsewhere in the files."""

    units: UnitSystem = "mm"
    gallons: Gallons | None = None
    gauges: Mapping[int, float] | None = None  # of the section's own metal
    currency: str = "EUR"


def refuse(rule: str, good: str = "", allowed: str = "") -> PydanticCustomError:
    """The refusal of one value, on its way to becoming a Fault."""
    return PydanticCustomError("refused", "{rule}", {"rule": rule, "good": good, "allowed": allowed})


def setting_of(info: core_schema.ValidationInfo) -> Setting:
    """The setting handed to the validation."""
    return info.context if isinstance(info.context, Setting) else Setting()


STEEPEST_GRADE = 1.4
"""Radians. Beyond this nobody thinks in per cent, and straight up has none."""

_ROUNDING = 1e-9
"""A limit is met by its own figure in any unit: 2 mm is not less than 0.002 m for a rounding error."""


def is_within(value: float, least: float, most: float) -> bool:
    """Whether a value lies in a range, its ends included."""
    return least - _ROUNDING * abs(least) <= value <= most + _ROUNDING * abs(most)


def range_words(least: float, most: float, shown: Unit) -> str:
    """A range [base SI] in a unit, rounded inwards so that the printed ends are themselves allowed."""
    if shown is GRADE and most > STEEPEST_GRADE:
        shown = unit("angle", "deg")
    tail = f" {shown.name}" if shown.name else ""
    low, high = _end_words(least, shown, "up"), _end_words(most, shown, "down")
    return f"between {low}{tail} and {high}{tail}"


def _end_words(limit: float, shown: Unit, inwards: Literal["up", "down"]) -> str:
    near = round_to(limit, shown, 4)
    is_it = abs(to_si(Fraction(near), shown) - limit) <= _ROUNDING * abs(limit)
    return near if is_it else round_to(limit, shown, 3, inwards)


class _Taker(ABC):
    """A field that reads its value with ``take``."""

    __slots__ = ()

    @abstractmethod
    def take(self, value: Any, info: core_schema.ValidationInfo) -> Any:
        """The value as the section holds it; a refusal is raised."""

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self.take)


@dataclass(frozen=True, slots=True)
class Asked(_Taker):
    """A quantity of one kind within a range [base SI], written in quotes with its unit."""

    kind: str
    least: float
    most: float
    good: str  # in metric units
    good_inch: str
    may_be_gauge: bool = False

    def example(self, units: UnitSystem) -> str:
        """A good value in the user's units."""
        return self.good if units == "mm" else self.good_inch

    def take(self, value: Any, info: core_schema.ValidationInfo) -> float:
        """The value in base SI."""
        setting = setting_of(info)
        good = self.example(setting.units)
        if isinstance(value, int | float) and not isinstance(value, bool):
            if not math.isfinite(value):
                raise refuse("this is not a number that can be measured", _quoted(good))
            if self.kind == "ratio":
                value = f"{value}"
            else:
                raise refuse("a quantity stands in quotes, with its unit behind the number", _quoted(good))
        if not isinstance(value, str):
            raise refuse("a quantity in quotes is wanted, a number and its unit", _quoted(good))
        try:
            found = read(
                value,
                self.kind,
                gallons=setting.gallons,
                gauges=setting.gauges if self.may_be_gauge else None,
                good=good,
            )
        except QuantityError as trouble:
            raise refuse(
                trouble.rule, _quoted(trouble.good), self.allowed(self.usual_unit(setting.units))
            ) from None
        return self.in_range(found, good)

    def in_range(self, found: Quantity, good: str) -> float:
        """The value if it lies in the range."""
        if not is_within(found.value, self.least, self.most):
            shown = found.unit if found.unit is not GAUGE else unit("length", "mm")
            side = "too small" if found.value < self.least else "too big"
            raise refuse(f"it is {side} to be meant", _quoted(good), self.allowed(shown))
        return found.value

    def usual_unit(self, units: UnitSystem) -> Unit:
        """The unit of the example, for showing the range."""
        return read(self.example(units), self.kind).unit

    def allowed(self, shown: Unit) -> str:
        """The range in a unit."""
        return range_words(self.least, self.most, shown)


@dataclass(frozen=True, slots=True)
class Thicknesses(_Taker):
    """A length, or a multiple of the sheet's thickness: "1.5 mm" or "1 t"."""

    good: str

    def take(self, value: Any, info: core_schema.ValidationInfo) -> tuple[float, float]:
        """(multiple of the thickness, length [m]); one of the two is nought."""
        if not isinstance(value, str):
            raise refuse("a quantity in quotes is wanted, in millimetres or thicknesses", _quoted(self.good))
        kind = "thicknesses" if re.search(r"\bt\s*$", value) else "length"
        try:
            number = read(value, kind, good=self.good).value
        except QuantityError as trouble:
            raise refuse(trouble.rule, _quoted(self.good)) from None
        if not 0.0 <= number <= (10.0 if kind == "thicknesses" else 0.05):
            raise refuse("it is out of range", _quoted(self.good), "between 0 t and 10 t, or 0 mm and 50 mm")
        return (number, 0.0) if kind == "thicknesses" else (0.0, number)


@dataclass(frozen=True, slots=True)
class OneOf(_Taker):
    """One word of a list."""

    words: tuple[str, ...]
    also: Mapping[str, str] | None = None  # other spellings -> the word

    def take(self, value: Any, info: core_schema.ValidationInfo) -> str:
        """The word as the list writes it."""
        good = _quoted(self.words[0])
        if not isinstance(value, str):
            raise refuse("a word in quotes is wanted", good, ", ".join(self.words))
        plain = " ".join(value.replace("_", " ").split()).casefold()
        for word in self.words:
            if plain == word.replace("_", " ").casefold():
                return word
        other = (self.also or {}).get(plain)
        if other is not None:
            return other
        near = nearest(value, self.words)
        hint = f"; did you mean {near!r}?" if near else ""
        raise refuse(
            f"this word is not known here{hint}", _quoted(near or self.words[0]), ", ".join(self.words)
        )


@dataclass(frozen=True, slots=True)
class Name(_Taker):
    """A name the user gives: short, printable, one line, no braces (they mark gaps in sentences)."""

    longest: int
    good: str
    is_label: bool = False  # stands in readings files and on etched parts: no blanks, no commas

    def take(self, value: Any, info: core_schema.ValidationInfo) -> str:
        """The name without blanks around it."""
        if not isinstance(value, str):
            raise refuse("a name in quotes is wanted", _quoted(self.good))
        name = " ".join(value.split())
        if not name or len(name) > self.longest or not name.isprintable():
            raise refuse(f"a name has 1 to {self.longest} letters on one line", _quoted(self.good))
        if "{" in name or "}" in name:
            raise refuse("a name has no braces { } in it", _quoted(self.good))
        if self.is_label and re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]*", name) is None:
            raise refuse(
                "letters a to z, figures, - and _ only: the name is etched and stands in lists",
                _quoted(self.good),
            )
        return name


@dataclass(frozen=True, slots=True)
class Flag(_Taker):
    """Yes or no."""

    good: str = "true"

    def take(self, value: Any, info: core_schema.ValidationInfo) -> bool:
        """The flag."""
        if not isinstance(value, bool):
            raise refuse("true or false is wanted, without quotes", self.good)
        return value


@dataclass(frozen=True, slots=True)
class Amount(_Taker):
    """A price, kept as text until the shop's currency is known."""

    per: str
    good: str

    def take(self, value: Any, info: core_schema.ValidationInfo) -> float:
        """Money for one base SI unit."""
        from sumpwright.quantities.text import read_price

        currency = setting_of(info).currency
        good = self.good.replace("EUR", currency)
        if not isinstance(value, str):
            raise refuse("a price in quotes is wanted", _quoted(good))
        try:
            price = read_price(value, currency, self.per, good)
        except QuantityError as trouble:
            raise refuse(trouble.rule, _quoted(good)) from None
        if not price.amount < 1e6:
            raise refuse("the price is too high to be meant", _quoted(good))
        return price.amount


def _quoted(text: str) -> str:
    return f'"{text}"'
