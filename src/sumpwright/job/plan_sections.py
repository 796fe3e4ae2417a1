"""The sections of a plan file: what may vary, what is tied to it, what counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field
from pydantic_core import core_schema

from sumpwright.job.fields import Name, OneOf, _Taker, refuse
from sumpwright.job.section_types import Section
from sumpwright.quantities.text import QuantityError, number_and_unit

MOST_VARIED = 40
MOST_CHOICES = 200
WAYS = ("grid", "spread", "search", "matters")


@dataclass(frozen=True, slots=True)
class Whole(_Taker):
    """A whole number in a range, written without quotes."""

    least: int
    most: int
    good: str

    def take(self, value: Any, info: core_schema.ValidationInfo) -> int:
        """The number."""
        allowed = f"{self.least} to {self.most}"
        if not isinstance(value, int) or isinstance(value, bool):
            raise refuse("a whole number without quotes is wanted", self.good, allowed)
        if not self.least <= value <= self.most:
            raise refuse("it is out of range", self.good, allowed)
        return value


@dataclass(frozen=True, slots=True)
class Factor(_Taker):
    """A plain number, written without quotes."""

    good: str

    def take(self, value: Any, info: core_schema.ValidationInfo) -> float:
        """The number."""
        if not isinstance(value, int | float) or isinstance(value, bool) or not abs(value) < 1e6:
            raise refuse("a plain number without quotes is wanted", self.good)
        return float(value)


@dataclass(frozen=True, slots=True)
class Figure(_Taker):
    """A number with its unit in quotes, of whatever kind the key is; or a plain number."""

    good: str

    def take(self, value: Any, info: core_schema.ValidationInfo) -> str:
        """The text as written; a plain number as text."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = f"{value}"
        if not isinstance(value, str):
            raise refuse("a quantity in quotes is wanted, a number and its unit", f'"{self.good}"')
        try:
            number_and_unit(value, self.good)
        except QuantityError as trouble:
            raise refuse(trouble.rule, f'"{self.good}"') from None
        return value


_KEY = Name(120, "lumps.sump.depth")
_NAME = Name(30, "depth")


class PlanSection(Section):
    """How variants are chosen."""

    job: Annotated[str | None, Name(60, "job.toml")] = Field(
        None, description="The job file beside the plan; without it job.toml."
    )
    way: Annotated[str, OneOf(WAYS)] = Field(
        description="grid: every combination of the steps. spread: so many variants, evenly spread. search: "
        "each batch is bred from the best so far. matters: how much each input moves each answer."
    )
    variants: Annotated[int | None, Whole(1, 10_000_000, "200")] = Field(
        None, description="How many, for spread and search; for matters at most so many."
    )
    batch: Annotated[int, Whole(2, 1000, "24")] = Field(
        24, description="For search: so many are tried before the next are bred. The same on any machine."
    )
    seed: Annotated[int, Whole(0, 2**31 - 1, "1")] = Field(
        1, description="Another number gives another spread or search; the same number the same."
    )
    finalists: Annotated[int, Whole(0, 50, "3")] = Field(
        3, description="So many of the best are checked in full, as by 'check', before they are shown."
    )


class VarySection(Section):
    """One thing that may vary."""

    name: Annotated[str, _NAME] = Field(description="What the tables call it.")
    key: Annotated[str | None, _KEY] = Field(
        None,
        description="The job file's key with its sections. A lump or wall goes by its name, a name with a "
        "blank in quotes, one figure of a list by its place from one: pickup.mouth.3.",
    )
    keys: list[Annotated[str, _KEY]] | None = Field(
        None, max_length=20, examples=['["lumps.sump.depth"]'], description="Several keys that move together."
    )
    least: Annotated[str | None, Figure("100 mm")] = Field(None, description="Where the range begins.")
    most: Annotated[str | None, Figure("140 mm")] = Field(None, description="Where it ends.")
    step: Annotated[str | None, Figure("5 mm")] = Field(
        None,
        description="From one value to the next, counted from least. Without it a thousandth of the range.",
    )
    choices: list[Any] | None = Field(
        None,
        min_length=2,
        max_length=MOST_CHOICES,
        examples=['["2 mm", "3 mm"]'],
        description="Instead of a range: the values to choose from; or, where one choice changes several "
        'keys, { name = "doors turned", set = { "walls.1.doors.1.passes" = "rear" } }.',
    )


class TieSection(Section):
    """A key that follows something that varies."""

    key: Annotated[str, _KEY] = Field(description="The job file's key that follows.")
    follows: Annotated[str, _NAME] = Field(description="Name of a [[vary]] with a range.")
    times: Annotated[float, Factor("-1")] = Field(1.0, description="What the value is multiplied by.")
    plus: Annotated[str | None, Figure("11 mm")] = Field(None, description="What is added then.")


class CountsSection(Section):
    """One answer that counts."""

    answer: Annotated[str, Name(30, "cover margin")] = Field(description="One of the answers listed below.")
    want: Annotated[str | None, OneOf(("more", "less", "only the limit"))] = Field(
        None, description="Without it what the answer is usually wanted to be."
    )
    at_least: Annotated[str | None, Figure("0 mm")] = Field(None, description="Limit from below.")
    at_most: Annotated[str | None, Figure("4.5 kg")] = Field(None, description="Limit from above.")
    limit: Annotated[str, OneOf(("hard", "soft"))] = Field(
        "hard",
        description="A variant past a hard limit is dropped at once; past a soft one it is shown and marked.",
    )
    alike: Annotated[str | None, Figure("1 mm")] = Field(
        None, description="Differences smaller than this do not count."
    )


SINGLE: dict[str, type[Section]] = {"plan": PlanSection}
LISTED: dict[tuple[str, ...], type[Section]] = {
    ("vary",): VarySection,
    ("tie",): TieSection,
    ("counts",): CountsSection,
}
