"""Numbers and sentences as the fabricator reads them: the only place that writes them.

The stages hand over sentences with named gaps and figures in base SI. Here each gap
becomes a number in the user's units, once, so that the same sentence stands on
screen, on paper and in the results file.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from sumpwright.findings import Assumption, Figure, Finding, Proposal, Verdict
from sumpwright.quantities import STANDARD_GRAVITY
from sumpwright.quantities.text import QuantityError, read
from sumpwright.quantities.text import unit as unit_named

UnitSystem = Literal["mm", "in"]


def _size(kind: str, name: str) -> float:
    """SI value of one such unit; ``quantities`` keeps the exact factors."""
    return float(unit_named(kind, name).scale)


INCH: float = _size("length", "in")
"""One inch [m]."""
_US_QUART = _size("volume", "us qt")
_DEG_F = unit_named("temperature", "degF")

_GAP = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True, slots=True)
class PrintedUnit:
    """How one kind of number is printed: printed = (SI - zero) / size."""

    label: str
    size: float
    zero: float = 0.0
    extra_digits: int = 0  # decimals more than metric, where a stage asks for a number of them
    most_digits: int = 2  # decimals at most where nobody asks

    def number(self, value: float) -> float:
        """The printed number of a value in base SI."""
        return (value - self.zero) / self.size

    def spread(self, value: float) -> float:
        """The printed number of a difference (an uncertainty) in base SI."""
        return value / self.size


_METRIC: dict[str, PrintedUnit] = {
    "length": PrintedUnit("mm", 1e-3),
    "volume": PrintedUnit("L", 1e-3),
    "small volume": PrintedUnit("mL", 1e-6, extra_digits=-3),
    "angle": PrintedUnit("°", math.pi / 180),
    "count": PrintedUnit("", 1.0, most_digits=0),
    "ratio": PrintedUnit("", 1.0),
    "percent": PrintedUnit("%", 0.01),
    "area": PrintedUnit("mm²", 1e-6, most_digits=1),
    "sheet area": PrintedUnit("m²", 1.0),
    "pressure": PrintedUnit("kPa", 1e3),
    "stress": PrintedUnit("MPa", 1e6),
    "air lost": PrintedUnit("mL of air a minute", 1e-6 / 60),
    "seam heat": PrintedUnit("kJ/mm", 1e6),
    "current": PrintedUnit("A", 1.0, most_digits=0),
    "mass": PrintedUnit("kg", 1.0),
    "temperature": PrintedUnit("°C", 1.0, 273.15, most_digits=0),
    "temperature difference": PrintedUnit("°C", 1.0, most_digits=0),
    "flow": PrintedUnit("L/min", 1e-3 / 60),
    "acceleration": PrintedUnit("g", STANDARD_GRAVITY),
    "time": PrintedUnit("s", 1.0),
    "force": PrintedUnit("N", 1.0),
    "torque": PrintedUnit("N m", 1.0),
    "energy": PrintedUnit("J", 1.0),
    "speed": PrintedUnit("m/s", 1.0),
    "engine speed": PrintedUnit("rpm", 1.0 / 60.0, most_digits=0),
    "frequency": PrintedUnit("Hz", 1.0, most_digits=0),
    "altitude": PrintedUnit("m", 1.0, most_digits=0),
    "length per volume": PrintedUnit("mm/L", 1.0),
    "density": PrintedUnit("kg/m³", 1.0),
}

_INCH: dict[str, PrintedUnit] = _METRIC | {
    "length": PrintedUnit("in", INCH, extra_digits=1, most_digits=3),
    "area": PrintedUnit("in²", INCH**2, extra_digits=2),
    "sheet area": PrintedUnit("ft²", _size("length", "ft") ** 2),
    "pressure": PrintedUnit("psi", _size("pressure", "psi"), extra_digits=1),
    "stress": PrintedUnit("psi", _size("pressure", "psi")),
    "seam heat": PrintedUnit("kJ/in", 1e3 / INCH),
    "mass": PrintedUnit("lb", _size("mass", "lb")),
    "temperature": PrintedUnit("°F", float(_DEG_F.scale), float(_DEG_F.offset), most_digits=0),
    "temperature difference": PrintedUnit("°F", float(_DEG_F.scale), most_digits=0),
    "force": PrintedUnit("lbf", _size("force", "lbf")),
    "torque": PrintedUnit("lbf ft", _size("torque", "lbf ft")),
    "speed": PrintedUnit("ft/s", _size("speed", "ft/s")),
    "altitude": PrintedUnit("ft", _size("length", "ft"), most_digits=0),
    "length per volume": PrintedUnit("in/L", INCH / 1e-3, extra_digits=1),
}

KINDS = (*_METRIC, "price")
"""Every kind of number that can be written."""


def printed_unit(kind: str, unit: str, units: UnitSystem) -> PrintedUnit:
    """How a number of this kind is printed for this user.

    A kind that is not listed (and a price, whose unit is the shop's currency) keeps
    the unit it came with.
    """
    known = (_INCH if units == "in" else _METRIC).get(kind)
    return known if known is not None else PrintedUnit(unit if unit != "1" else "", 1.0)


def decimals_for(number: float, most: int = 2) -> int:
    """Decimals that leave three digits; fewer for small numbers, and none below 0.00005, which is nothing."""
    size = abs(number)
    if size < 5e-5:
        return 0
    if size < 10.0**-most:
        return min(4, math.ceil(-math.log10(size) - 1e-9))
    return max(0, min(most, 2 - math.floor(math.log10(size) + 1e-12)))


def decimals_for_spread(spread: float) -> int:
    """Decimals of an uncertainty: two digits where it starts below 3.55, else one.

    The rounding rule of the Particle Data Group; the GUM (JCGM 100:2008, 7.2.6) asks for
    two digits at most.
    """
    size = abs(spread)
    if size <= 0.0 or not math.isfinite(size):
        return 0
    exponent = math.floor(math.log10(size) + 1e-12)
    leading = size / 10.0**exponent
    return max(0, min(6, -exponent + (1 if leading < 3.55 else 0)))


def write_number(number: float, decimals: int) -> str:
    """A number with a fixed count of decimals, never '-0'."""
    if math.isnan(number):
        return "not known"
    if math.isinf(number):
        return "without limit" if number > 0 else "without limit below"
    text = f"{number:,.{decimals}f}" if abs(number) >= 1e4 else f"{number:.{decimals}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def write_value(
    value: float, unit: str, kind: str, units: UnitSystem, digits: int | None = None, u95: float | None = None
) -> str:
    """A number with its unit: "63.4 mm", "2.5 in", "4.8 L (5.07 US qt)"; with u95 "63.42 ± 0.12 mm"."""
    kind = _fitting(value, kind)
    printed = printed_unit(kind, unit, units)
    number = printed.number(value)
    if not math.isfinite(number):
        return write_number(number, 0)
    if u95 is not None and math.isfinite(u95) and u95 > 0.0:
        spread = printed.spread(u95)
        decimals = decimals_for_spread(spread)
        text = f"{write_number(number, decimals)} ± {write_number(spread, decimals)}"
        if printed.label in ("°", "%"):
            text = f"({text})"
    else:
        decimals = _decimals(number, printed, digits)
        text = write_number(number, decimals)
    text = _with_label(text, printed.label)
    if units == "in" and kind == "volume":
        quarts = value / _US_QUART
        text += f" ({write_number(quarts, decimals_for(quarts))} US qt)"
    elif units == "in" and kind == "length per volume":
        a_quart = value * _US_QUART / INCH
        text += f" ({write_number(a_quart, decimals_for(a_quart))} in/US qt)"
    return text


def write_figure(figure: Figure, units: UnitSystem, more: int = 0) -> str:
    """One figure of a sentence; ``more`` adds decimals where two figures would look alike."""
    if figure.name.startswith("u95") or figure.name.endswith("u95"):
        return _write_spread(figure, units)
    printed = printed_unit(_fitting(figure.value, figure.kind), figure.unit, units)
    number = printed.number(figure.value)
    digits = figure.digits
    if (
        digits is not None
        and math.isfinite(number)
        and abs(number) < 0.5 * 10.0 ** -_decimals(number, printed, digits)
    ):
        # Small is not nothing: 0.0004 in with three decimals asked is not "0.000 in".
        digits = max(digits, decimals_for(number, printed.most_digits) - printed.extra_digits)
    if more:
        digits = _decimals(number, printed, digits) - printed.extra_digits + more
    return write_value(figure.value, figure.unit, figure.kind, units, digits)


def fill(sentence: str, figures: tuple[Figure, ...], units: UnitSystem) -> str:
    """The sentence with every {gap} filled from the figures, in the user's units.

    Two different figures that would print alike (5.04 against a limit of 5.0) get
    more decimals until they differ, so that a sentence never says '5.0 is above 5.0'.
    A gap without a figure is a mistake in the program and raises ValueError.
    """
    by_name = {figure.name: figure for figure in figures}
    gaps = [name.strip() for name in _GAP.findall(sentence)]
    for name in gaps:
        if not _NAME.fullmatch(name) or name not in by_name:
            raise ValueError(f"the sentence {sentence!r} has a gap {{{name}}} without a figure")
    used = [by_name[name] for name in dict.fromkeys(gaps)]
    more = {figure.name: _decimals_apart(figure, used, units) for figure in used}
    return _GAP.sub(
        lambda match: write_figure(by_name[match.group(1).strip()], units, more[match.group(1).strip()]),
        sentence,
    )


@dataclass(frozen=True, slots=True)
class FindingWords:
    """A finding with its sentences written out."""

    finding: Finding
    code: str
    verdict: Verdict
    where: str
    says: str
    how_sure: str
    do: str
    source: str


def finding_words(finding: Finding, units: UnitSystem) -> FindingWords:
    """The finding's sentences in the user's units; the same for screen, paper and results file."""
    how_sure = fill(finding.how_sure, finding.figures, units)
    if not how_sure and finding.u95 is not None:
        spread = Figure("u95", finding.u95, finding.unit, finding.kind)
        how_sure = f"Could be off by {_write_spread(spread, units)}."
    return FindingWords(
        finding=finding,
        code=finding.code,
        verdict=finding.verdict,
        where=finding.where,
        says=_as_sentence(fill(finding.says, finding.figures, units)),
        how_sure=_as_sentence(how_sure),
        do=_as_sentence(fill(finding.do, finding.figures, units)),
        source=finding.source,
    )


def proposal_words(proposal: Proposal, units: UnitSystem) -> str:
    """A proposed change as one sentence: "Set lumps.sump.depth to 126 mm: ..."."""
    effect = fill(proposal.effect, proposal.figures, units)
    if proposal.target.endswith(".+"):
        what = proposal.value.strip().removeprefix("{").removesuffix("}").strip()
        return _as_sentence(f"Add one to {proposal.target[:-2]} ({what}): {effect}")
    return _as_sentence(f"Set {proposal.target} to {_as_read(proposal.value, units)}: {effect}")


def assumption_words(assumption: Assumption, units: UnitSystem) -> str:
    """A default that was taken, as one sentence."""
    return _as_sentence(fill(assumption.says, assumption.figures, units))


def _as_read(value: str, units: UnitSystem) -> str:
    """A value for the job file in the user's own unit, rounded up to what a rule can show."""
    if units != "in" or not value.endswith(" mm"):
        return value
    try:
        length = read(value, "length").value
    except QuantityError:
        return value
    return f"{write_number(math.ceil(length / INCH * 100 - 1e-6) / 100, 2)} in ({value})"


def write_length(value: float, units: UnitSystem, digits: int | None = None) -> str:
    """A length with its unit."""
    return write_value(value, "m", "length", units, digits)


def write_bare_length(value: float, units: UnitSystem, digits: int | None = None) -> str:
    """A length without its unit, for a table whose heading names it."""
    return write_length(value, units, digits).partition(" ")[0]


def write_shop_length(value: float, units: UnitSystem, digits: int = 1) -> str:
    """A length to mark out with a rule: "118.0 mm"; in inches also the nearest 1/64: "4.646 in (4 41/64)".

    The fraction is left out below 1/16 in, where it says less than the decimals.
    """
    if units == "mm":
        return write_value(value, "m", "length", "mm", digits)
    text = write_value(value, "m", "length", "in", digits + 1)
    if abs(value) < INCH / 16:
        return text
    fraction = nearest_sixtyfourth(value)
    return text if fraction.isdigit() and text == f"{fraction} in" else f"{text} ({fraction})"


def nose_words(nose_up: float) -> str:
    """How the nose stands [rad], in words: "nose 4° up", "nose level"."""
    degrees = math.degrees(nose_up)
    if abs(degrees) < 0.05:
        return "nose level"
    return f"nose {write_number(abs(degrees), 1)}° {'up' if degrees > 0 else 'down'}"


def lean_words(lean_right: float) -> str:
    """How the engine leans, seen from behind [rad]: "4° to the left", "upright"."""
    degrees = math.degrees(lean_right)
    if abs(degrees) < 0.05:
        return "upright"
    return f"{write_number(abs(degrees), 1)}° to the {'right' if degrees > 0 else 'left'}"


def slope_words(nose_up: float, lean_right: float) -> str:
    """Both in one: "nose 7.5° up, leaned 25.0° to the left"."""
    lean = lean_words(lean_right)
    return f"{nose_words(nose_up)}, {lean if lean == 'upright' else f'leaned {lean}'}"


def write_bolt_length(value: float, thread: str) -> str:
    """A bolt's length as it is sold: whole millimetres with metric threads, else inches and fractions."""
    if thread.upper().startswith("M"):
        return write_value(value, "m", "length", "mm")
    return f"{nearest_sixtyfourth(value)} in"


def nearest_sixtyfourth(value: float) -> str:
    """A length in inches to the nearest 1/64: "4 41/64", "1/2", "3"."""
    nearest = Fraction(round(value / INCH * 64), 64)
    whole, part = divmod(abs(nearest), 1)
    words = [str(whole)] if whole or not part else []
    if part:
        words.append(f"{part.numerator}/{part.denominator}")
    return ("-" if nearest < 0 else "") + " ".join(words)


def _fitting(value: float, kind: str) -> str:
    """Small volumes in mL and large areas in m2, whatever the user's units."""
    if kind == "volume" and 0.0 < abs(value) < 0.1e-3:
        return "small volume"
    if kind == "area" and abs(value) >= 0.1:
        return "sheet area"
    return kind


def _decimals(number: float, printed: PrintedUnit, digits: int | None) -> int:
    if digits is not None:
        return max(0, digits + printed.extra_digits)
    decimals = decimals_for(number, printed.most_digits)
    # A round number that somebody wrote ("10 mm") stays as it was written.
    while decimals and abs(number) > 1e-9 and abs(round(number, decimals - 1) - number) < 1e-9 * abs(number):
        decimals -= 1
    return decimals


def _write_spread(figure: Figure, units: UnitSystem) -> str:
    kind = "temperature difference" if figure.kind == "temperature" else figure.kind
    printed = printed_unit(_fitting(figure.value, kind), figure.unit, units)
    spread = printed.spread(figure.value)
    if not math.isfinite(spread):
        return write_number(spread, 0)
    return _with_label(write_number(spread, decimals_for_spread(spread)), printed.label)


def _with_label(text: str, label: str) -> str:
    if not label:
        return text
    return f"{text}{label}" if label == "°" else f"{text} {label}"


def _decimals_apart(figure: Figure, used: list[Figure], units: UnitSystem) -> int:
    """How many more decimals keep this figure apart from every other of its kind."""
    others = [
        other
        for other in used
        if other.name != figure.name
        and other.kind == figure.kind
        and abs(other.value - figure.value) > 1e-7 * max(abs(other.value), abs(figure.value), 1e-30)
    ]
    printed = [_number_as_printed(other, units, 0) for other in others]
    for more in range(4):
        if _number_as_printed(figure, units, more) not in printed:
            return more
    return 3


def _number_as_printed(figure: Figure, units: UnitSystem, more: int) -> float:
    """The number that a reader would read: 5.00 and 5 are the same."""
    text = write_figure(figure, units, more).split()[0].strip("°(").replace(",", "")
    try:
        return float(text)
    except ValueError:
        return math.nan


def _as_sentence(text: str) -> str:
    """Starts with a capital where it starts with a small letter, ends with a stop."""
    text = " ".join(text.split())
    if not text:
        return ""
    first = text.partition(" ")[0].rstrip(",;:")
    if first == "a" or (first.isalpha() and first.islower() and len(first) > 1):
        text = text[0].upper() + text[1:]
    return text if text[-1] in ".!?" else text + "."
