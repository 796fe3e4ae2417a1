"""Quantities as a fabricator writes them, read and written.

``"6 mm"``, ``"1 1/2 in"``, ``"1-1/2 in"``, ``"5 ft 3 1/2 in"``, ``"16 ga"``, ``"80 degF"``,
``"2.5 us gal"``. Numbers are kept as exact fractions until the last step, so that
``"1/4 in"`` is the double nearest to 0.00635 m and nothing else. Which unit words are
known depends on the kind of quantity asked for: ``g`` is a gram where a mass is wanted
and an acceleration where an acceleration is.

Used by ``job`` and ``outputs`` only: everybody else speaks base SI.
"""

from __future__ import annotations

import difflib
import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Literal

Gallons = Literal["us", "imperial"]

LONGEST_TEXT = 60
"""No quantity needs more letters; keeps hostile texts short."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one kind: SI value = scale * number + offset."""

    kind: str
    name: str  # as we write it
    scale: Fraction
    offset: Fraction = Fraction(0)
    words: tuple[str, ...] = ()  # other ways to write it


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity that was read: base SI value, and the unit it was written in."""

    value: float
    unit: Unit
    text: str


class QuantityError(ValueError):
    """A text that is no quantity of the kind asked for."""

    def __init__(self, rule: str, good: str) -> None:
        super().__init__(rule)
        self.rule = rule  # what is wrong, one sentence
        self.good = good  # an example of a good value


def _f(text: str) -> Fraction:
    return Fraction(text)


_INCH = _f("0.0254")
_POUND = _f("0.45359237")
_POUND_FORCE = _POUND * _f("9.80665")
_US_GALLON = 231 * _INCH**3
_IMPERIAL_GALLON = _f("0.00454609")
_PI = Fraction(math.pi)

# (kind, name, scale, other words). Sources of the factors: NIST SP 811 appendix B; the
# inch, pound, gallons and standard gravity are exact by definition.
_SCALED = tuple(
    Unit(kind, name, scale, Fraction(0), words)
    for kind, name, scale, words in (
        ("length", "mm", _f("0.001"), ("millimetre", "millimetres", "millimeter", "millimeters")),
        ("length", "cm", _f("0.01"), ("centimetre", "centimetres", "centimeter", "centimeters")),
        ("length", "m", _f("1"), ("metre", "metres", "meter", "meters")),
        ("length", "km", _f("1000"), ()),
        ("length", "um", _f("0.000001"), ("μm", "micron", "microns", "micrometre", "micrometres")),
        ("length", "in", _INCH, ('"', "inch", "inches", "ins")),
        ("length", "ft", 12 * _INCH, ("'", "foot", "feet")),
        ("length", "yd", 36 * _INCH, ("yard", "yards")),
        ("length", "thou", _INCH / 1000, ("mil", "mils")),
        ("area", "mm2", _f("0.000001"), ("sqmm",)),
        ("area", "cm2", _f("0.0001"), ("sqcm",)),
        ("area", "m2", _f("1"), ("sqm",)),
        ("area", "in2", _INCH**2, ("sqin",)),
        ("volume", "L", _f("0.001"), ("l", "litre", "litres", "liter", "liters", "dm3")),
        ("volume", "mL", _f("0.000001"), ("ml", "cc", "cm3", "ccm")),
        ("volume", "m3", _f("1"), ()),
        ("volume", "in3", _INCH**3, ("cuin", "cubicinch", "cubicinches")),
        ("volume", "us gal", _US_GALLON, ("galus", "usgallon", "usgallons", "galusliquid")),
        ("volume", "us qt", _US_GALLON / 4, ("qtus", "usquart", "usquarts")),
        ("volume", "us pt", _US_GALLON / 8, ("ptus", "uspint", "uspints")),
        ("volume", "us fl oz", _US_GALLON / 128, ("flozus",)),
        (
            "volume",
            "imp gal",
            _IMPERIAL_GALLON,
            ("galimp", "ukgal", "galuk", "imperialgal", "imperialgallon", "imperialgallons", "impgallons"),
        ),
        ("volume", "imp qt", _IMPERIAL_GALLON / 4, ("qtimp", "ukqt", "imperialquart", "imperialquarts")),
        ("volume", "imp pt", _IMPERIAL_GALLON / 8, ("ptimp", "ukpt", "imperialpint", "imperialpints")),
        ("volume", "imp fl oz", _IMPERIAL_GALLON / 160, ("flozimp", "ukfloz")),
        ("mass", "kg", _f("1"), ("kilogram", "kilograms")),
        ("mass", "g", _f("0.001"), ("gram", "grams")),
        ("mass", "lb", _POUND, ("lbs", "pound", "pounds")),
        ("mass", "oz", _POUND / 16, ("ounce", "ounces")),
        ("time", "s", _f("1"), ("sec", "second", "seconds")),
        ("time", "ms", _f("0.001"), ("millisecond", "milliseconds")),
        ("time", "min", _f("60"), ("minute", "minutes")),
        ("time", "h", _f("3600"), ("hr", "hour", "hours")),
        ("frequency", "Hz", _f("1"), ("hertz",)),
        ("rotation", "rpm", _PI / 30, ("rev/min", "r/min", "1/min", "revmin")),
        ("rotation", "rad/s", _f("1"), ()),
        ("temperature", "K", _f("1"), ("kelvin",)),
        ("temperature difference", "K", _f("1"), ("kelvin", "degC", "C", "celsius")),
        ("temperature difference", "degF", _f("5/9"), ("F", "fahrenheit")),
        ("angle", "deg", _PI / 180, ("degree", "degrees")),
        ("angle", "rad", _f("1"), ("radian", "radians")),
        ("acceleration", "m/s2", _f("1"), ("m/s/s",)),
        ("acceleration", "g", _f("9.80665"), ()),
        ("acceleration", "ft/s2", 12 * _INCH, ()),
        ("speed", "m/s", _f("1"), ()),
        ("speed", "km/h", _f("5/18"), ("kph", "kmh")),
        ("speed", "mph", _f("0.44704"), ("mi/h", "miles/h")),
        ("speed", "ft/s", 12 * _INCH, ()),
        ("speed", "kn", _f("1852/3600"), ("knot", "knots")),
        ("flow", "L/min", _f("1/60000"), ("lpm", "litres/min", "liters/min")),
        ("flow", "L/s", _f("0.001"), ()),
        ("flow", "L/h", _f("1/3600000"), ()),
        ("flow", "mL/min", _f("1/60000000"), ("cc/min", "cm3/min")),
        ("flow", "m3/s", _f("1"), ()),
        ("flow", "us gal/min", _US_GALLON / 60, ("usgpm",)),
        ("flow", "us qt/min", _US_GALLON / 240, ()),
        ("flow", "imp gal/min", _IMPERIAL_GALLON / 60, ("impgpm",)),
        ("pressure", "Pa", _f("1"), ()),
        ("pressure", "hPa", _f("100"), ()),
        ("pressure", "kPa", _f("1000"), ()),
        ("pressure", "MPa", _f("1000000"), ("N/mm2",)),
        ("pressure", "bar", _f("100000"), ()),
        ("pressure", "mbar", _f("100"), ()),
        ("pressure", "psi", _POUND_FORCE / _INCH**2, ("lbf/in2",)),
        ("kinematic viscosity", "mm2/s", _f("0.000001"), ("cSt", "centistokes")),
        ("kinematic viscosity", "m2/s", _f("1"), ()),
        ("dynamic viscosity", "mPa s", _f("0.001"), ("cP", "centipoise")),
        ("dynamic viscosity", "Pa s", _f("1"), ()),
        ("torque", "N m", _f("1"), ()),
        ("torque", "lbf ft", 12 * _INCH * _POUND_FORCE, ("ftlbf", "lbft", "ftlb", "ftlbs", "lbsft")),
        ("torque", "lbf in", _INCH * _POUND_FORCE, ("inlbf", "lbin", "inlb", "inlbs")),
        ("force", "N", _f("1"), ()),
        ("force", "kN", _f("1000"), ()),
        ("force", "lbf", _POUND_FORCE, ()),
        ("density", "kg/m3", _f("1"), ()),
        ("density", "kg/L", _f("1000"), ("g/cm3", "g/cc", "g/ml")),
        ("density", "lb/in3", _POUND / _INCH**3, ()),
        ("expansion", "um/m/K", _f("0.000001"), ("um/(mK)", "μm/m/K", "μm/(mK)", "10-6/K")),
        ("expansion", "per K", _f("1"), ("/K",)),
        ("energy", "J", _f("1"), ()),
        ("energy", "kJ", _f("1000"), ()),
        ("energy", "lbf ft", 12 * _INCH * _POUND_FORCE, ("ftlbf", "ftlb")),
        ("power", "W", _f("1"), ()),
        ("power", "kW", _f("1000"), ()),
        ("power", "hp", 550 * 12 * _INCH * _POUND_FORCE, ()),
        ("current", "A", _f("1"), ("amp", "amps")),
        ("voltage", "V", _f("1"), ("volt", "volts")),
        ("thicknesses", "t", _f("1"), ("xt",)),
    )
)
_SHIFTED = (
    Unit("temperature", "degC", Fraction(1), _f("273.15"), ("C", "celsius", "degcelsius")),
    Unit("temperature", "degF", _f("5/9"), _f("459.67") * 5 / 9, ("F", "fahrenheit", "degfahrenheit")),
)
_UNITS: tuple[Unit, ...] = (*_SCALED, *_SHIFTED)

GAUGE = Unit("length", "ga", Fraction(1), Fraction(0), ("gauge", "gage"))
"""Sheet gauge numbers: not a unit, a row of a table that depends on the metal."""

GRADE = Unit("angle", "%", Fraction(1, 100))
"""Grade: so many up for a hundred along; the angle is atan(number / 100)."""

PERCENT = Unit("ratio", "%", Fraction(1, 100), Fraction(0), ("percent",))
PLAIN = Unit("ratio", "", Fraction(1))

GOOD_EXAMPLES: Mapping[str, tuple[str, str]] = {
    "length": ("6 mm", "1/4 in"),
    "area": ("1200 mm2", "1.9 in2"),
    "volume": ("4.8 L", "5 us qt"),
    "mass": ("3.2 kg", "7 lb"),
    "time": ("1.5 s", "1.5 s"),
    "frequency": ("50 Hz", "50 Hz"),
    "rotation": ("7000 rpm", "7000 rpm"),
    "temperature": ("20 degC", "68 degF"),
    "temperature difference": ("90 K", "160 degF"),
    "angle": ("7 deg", "7 deg"),
    "acceleration": ("1.2 g", "1.2 g"),
    "speed": ("60 km/h", "40 mph"),
    "flow": ("54 L/min", "14 us gal/min"),
    "pressure": ("4 bar", "60 psi"),
    "kinematic viscosity": ("63 cSt", "63 cSt"),
    "dynamic viscosity": ("55 mPa s", "55 cP"),
    "torque": ("10 N m", "7 lbf ft"),
    "force": ("200 N", "45 lbf"),
    "density": ("7850 kg/m3", "0.284 lb/in3"),
    "expansion": ("11.4 um/m/K", "11.4 um/m/K"),
    "energy": ("60 J", "44 lbf ft"),
    "power": ("2 kW", "3 hp"),
    "current": ("90 A", "90 A"),
    "voltage": ("20 V", "20 V"),
    "thicknesses": ("1.5 t", "1.5 t"),
    "ratio": ("10 %", "10 %"),
}
"""Kind -> an example in metric and one in inch units."""

_VULGAR = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅓": "1/3",
    "⅔": "2/3",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}

_NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:
        (?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)
      | (?P<decimal>[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?P<power>[eE][+-]?[0-9]+)?
    )""",
    re.VERBOSE,
)

_AMBIGUOUS = {
    "gal": ("us gal", "imp gal"),
    "gals": ("us gal", "imp gal"),
    "gallon": ("us gal", "imp gal"),
    "gallons": ("us gal", "imp gal"),
    "qt": ("us qt", "imp qt"),
    "qts": ("us qt", "imp qt"),
    "quart": ("us qt", "imp qt"),
    "quarts": ("us qt", "imp qt"),
    "pt": ("us pt", "imp pt"),
    "pint": ("us pt", "imp pt"),
    "pints": ("us pt", "imp pt"),
    "floz": ("us fl oz", "imp fl oz"),
    "gpm": ("us gal/min", "imp gal/min"),
    "gal/min": ("us gal/min", "imp gal/min"),
}


def _squeeze(word: str) -> str:
    """Unit word without what people vary: spaces, hyphens, points, raised dots, carets."""
    return re.sub(r"[\s\-.·⋅*^]", "", word)


@cache
def _words(kind: str) -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for unit in _UNITS:
        if unit.kind == kind:
            for word in (unit.name, *unit.words):
                found[_squeeze(word)] = unit
    if kind == "angle":
        found["%"] = GRADE
    if kind == "ratio":
        found.update({"%": PERCENT, "percent": PERCENT})
    return found


@cache
def _loose_words(kind: str) -> dict[str, Unit | None]:
    """The same without regard to capitals; None where capitals decide."""
    found: dict[str, Unit | None] = {}
    for word, unit in _words(kind).items():
        low = word.casefold()
        found[low] = unit if found.get(low, unit) is unit else None
    return found


def find_unit(word: str, kind: str) -> Unit | None:
    """The unit of this kind that the word means, or None."""
    squeezed = _squeeze(word)
    return _words(kind).get(squeezed) or _loose_words(kind).get(squeezed.casefold())


def unit(kind: str, name: str) -> Unit:
    """A unit by kind and name; KeyError where there is none (a slip in the program)."""
    found = find_unit(name, kind) if name else (PLAIN if kind == "ratio" else None)
    if found is None:
        raise KeyError(f"no unit {name!r} of kind {kind!r}")
    return found


def _tidy(text: str) -> str:
    for sign, word in _VULGAR.items():
        text = text.replace(sign, f" {word}")
    for sign, word in (("″", '"'), ("”", '"'), ("“", '"'), ("′", "'"), ("’", "'"), ("−", "-"), ("⁄", "/")):
        text = text.replace(sign, word)
    text = unicodedata.normalize("NFKC", text)
    return re.sub(r"°\s*", "deg", text).strip()


def _take_number(text: str, good: str) -> tuple[Fraction, str]:
    """The number at the front, and what follows it."""
    if re.match(r"[+-]?\s*(nan|inf|infinity)\b", text, re.IGNORECASE):
        raise QuantityError("this is not a number that can be measured", good)
    if re.match(r"[+-]?\s*[0-9]+,[0-9]", text):
        with_point = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)
        raise QuantityError(
            "a comma inside a number can mean two things; write a point for decimals", with_point
        )
    match = _NUMBER.match(text)
    if match is None:
        raise QuantityError("it starts with no number", good)
    if match["top"] is not None:
        bottom = int(match["bottom"])
        if bottom == 0:
            raise QuantityError("a fraction cannot have a nought below the line", good)
        number = Fraction(int(match["top"]), bottom) + int(match["whole"] or 0)
        if match["whole"] is not None and int(match["top"]) >= bottom:
            raise QuantityError("the fraction behind a whole number must be smaller than one", good)
    else:
        power = match["power"] or ""
        if len(power.lstrip("eE+-0")) > 2:
            raise QuantityError("the number is beyond anything that can be measured", good)
        number = Fraction(match["decimal"] + power)
    rest = text[match.end() :]
    if re.match(r"\s*[0-9.,/]", rest):
        raise QuantityError("the number cannot be told; there may be a sign too many in it", good)
    return (-number if match["sign"] == "-" else number), rest.strip()


def _other_kind(word: str, kind: str) -> str | None:
    for other in GOOD_EXAMPLES:
        if other not in (kind, "thicknesses") and find_unit(word, other) is not None:
            return other
    return None


def _unknown_unit(word: str, kind: str, good: str) -> QuantityError:
    other = _other_kind(word, kind)
    if other is not None and not (other.startswith("temperature") and kind.startswith("temperature")):
        return QuantityError(f"{_article(kind)} is wanted here, and {word!r} is {_article(other)}", good)
    near = difflib.get_close_matches(word.casefold(), [*unit_names(kind), *_words(kind)], 1, 0.7)
    hint = f"; did you mean {near[0]!r}?" if near else f"; known are {', '.join(unit_names(kind))}"
    return QuantityError(f"{word!r} is no unit known for {_article(kind)}{hint}", good)


def _article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def unit_names(kind: str) -> tuple[str, ...]:
    """The units of a kind as we write them, in the table's order."""
    names = dict.fromkeys(found.name for found in _words(kind).values())
    return tuple(names)


def to_si(number: Fraction, of: Unit) -> float:
    """A number in a unit as base SI; OverflowError where it is beyond any float."""
    if of is GRADE:
        return math.atan(float(number * of.scale))
    return float(number * of.scale + of.offset)


def from_si(value: float, to: Unit) -> Fraction:
    """A base SI value as an exact number in a unit (a grade is rounded to a float)."""
    if to is GRADE:
        return Fraction(math.tan(value)) / to.scale
    return (Fraction(value) - to.offset) / to.scale


def read(
    text: str,
    kind: str,
    *,
    gallons: Gallons | None = None,
    gauges: Mapping[int, float] | None = None,
    bare: str | None = None,
    good: str | None = None,
) -> Quantity:
    """Read one quantity of the kind asked for.

    ``gallons`` says which gallon, quart and pint a bare "gal" means; without it such a
    text is refused. ``gauges`` maps sheet gauge numbers to metres for the metal at hand;
    None where gauge numbers have no meaning. ``bare`` is the unit of a number written
    without one; None refuses it. Raises QuantityError.
    """
    good = good or GOOD_EXAMPLES[kind][0]
    if gauges is None:
        return _read_kept(text, kind, gallons, bare, good)
    return _read(text, kind, gallons, gauges, bare, good)


@lru_cache(4096)
def _read_kept(text: str, kind: str, gallons: Gallons | None, bare: str | None, good: str) -> Quantity:
    """The same text means the same again: a job is read over and over with one figure changed."""
    return _read(text, kind, gallons, None, bare, good)


def _read(
    text: str,
    kind: str,
    gallons: Gallons | None,
    gauges: Mapping[int, float] | None,
    bare: str | None,
    good: str,
) -> Quantity:
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"it is longer than any quantity ({LONGEST_TEXT} letters at most)", good)
    tidy = _tidy(text)
    if not tidy:
        raise QuantityError("it is empty", good)
    number, word = _take_number(tidy, good)
    if kind == "length":
        number, word = _feet_and_inches(number, word, good)
    if find_gauge(word):
        return Quantity(_gauge(number, kind, gauges, good), GAUGE, text)
    found = _unit_of(number, word, kind, gallons, bare, good)
    try:
        value = to_si(number, found)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise QuantityError("the number is too big to mean anything", good)
    return Quantity(value, found, text)


def _unit_of(
    number: Fraction, word: str, kind: str, gallons: Gallons | None, bare: str | None, good: str
) -> Unit:
    if not word:
        if kind == "ratio":
            return PLAIN
        if bare is not None:
            return unit(kind, bare)
        names = dict.fromkeys(_usual_unit(example) for example in GOOD_EXAMPLES[kind])
        raise QuantityError(f"a unit is missing behind the number: {' or '.join(names)}, say", good)
    pair = _AMBIGUOUS.get(_squeeze(word).casefold())
    if pair is not None and find_unit(pair[0], kind) is not None:
        if gallons is None:
            both = " or ".join(_shown_both(number, name, kind) for name in pair)
            raise QuantityError(
                f"{word!r} can be the US or the imperial one: write {both}", f"{_plain(number)} {pair[0]}"
            )
        return unit(kind, pair[0] if gallons == "us" else pair[1])
    found = find_unit(word, kind)
    if found is None:
        raise _unknown_unit(word, kind, good)
    return found


def _usual_unit(example: str) -> str:
    """The unit word of an example quantity."""
    return example.lstrip("0123456789./ ")


def _shown_both(number: Fraction, name: str, kind: str) -> str:
    si = to_si(number, unit(kind, name))
    metric = "L" if kind == "volume" else "L/min"
    return f'"{_plain(number)} {name}" ({round_to(si, unit(kind, metric), 3)} {metric})'


def number_and_unit(text: str, good: str) -> tuple[Fraction, str]:
    """The number at the front of a text and the unit word behind it, whatever kind it is of.

    For ranges, whose kind only the key tells. A sum of two units (5 ft 3 in) raises QuantityError.
    """
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"it is longer than any quantity ({LONGEST_TEXT} letters at most)", good)
    number, word = _take_number(_tidy(text), good)
    if re.search(r"['\s][0-9]", word):
        raise QuantityError("one number and one unit are wanted here", good)
    return number, word


def decimal_text(number: Fraction) -> str:
    """A number written out without powers of ten, to 40 places at most."""
    return _decimal(number)


def _feet_and_inches(number: Fraction, word: str, good: str) -> tuple[Fraction, str]:
    """``5 ft 3 1/2 in`` as inches."""
    match = re.match(r"(?P<feet>ft|feet|foot|')\.?\s*(?P<rest>-?[0-9.].*)$", word, re.IGNORECASE)
    if match is None:
        return number, word
    inches, inch_word = _take_number(match["rest"].removeprefix("-"), good)
    if find_unit(inch_word or "in", "length") is not unit("length", "in") or not 0 <= inches < 12:
        raise QuantityError("behind feet there may follow inches below twelve, nothing else", "5 ft 3 1/2 in")
    return number * 12 + (inches if number >= 0 else -inches), "in"


def find_gauge(word: str) -> bool:
    """Whether the unit word means a sheet gauge number."""
    return _squeeze(word).casefold() in (GAUGE.name, *GAUGE.words)


def _gauge(number: Fraction, kind: str, gauges: Mapping[int, float] | None, good: str) -> float:
    if kind != "length" or gauges is None:
        raise QuantityError(
            "a gauge number is a sheet thickness of one metal; write millimetres or inches here", good
        )
    row = gauges.get(int(number)) if number.denominator == 1 else None
    if row is None:
        listed = ", ".join(str(gauge) for gauge in sorted(gauges))
        raise QuantityError(
            f"gauge {_plain(number)} is not in the table for this metal (listed: {listed}); measure the "
            "sheet and write its thickness",
            good,
        )
    return row


def _plain(number: Fraction) -> str:
    return f"{float(number):.6g}"


def round_to(value: float, to: Unit, digits: int, towards: Literal["near", "up", "down"] = "near") -> str:
    """A base SI value in a unit with so many significant digits, as plain text."""
    number = from_si(value, to)
    if number == 0:
        return "0"
    size = math.floor(math.log10(abs(number)))
    step = Fraction(10) ** (size - digits + 1)
    steps = number / step
    rounded = {"near": round(steps), "up": math.ceil(steps), "down": math.floor(steps)}
    return _decimal(rounded[towards] * step)


def _decimal(number: Fraction) -> str:
    """A fraction with a finite decimal form written out without powers of ten."""
    sign = "-" if number < 0 else ""
    number = abs(number)
    places = 0
    while number.denominator != 1 and places < 40:
        number *= 10
        places += 1
    digits = str(round(number)).rjust(places + 1, "0")
    whole, tail = (digits[:-places], digits[-places:]) if places else (digits, "")
    tail = tail.rstrip("0")
    return f"{sign}{whole}.{tail}" if tail else f"{sign}{whole}"


def write(value: float, kind: str, name: str, digits: int | None = None) -> str:
    """A base SI value as text with its unit.

    ``digits`` are significant digits; None writes the shortest text that ``read`` turns
    back into the very same value.
    """
    to = unit(kind, name)
    if not math.isfinite(value):
        raise ValueError("only finite values can be written")
    tail = f" {to.name}" if to.name else ""
    if digits is not None:
        return round_to(value, to, digits) + tail
    for count in range(1, 25):
        text = round_to(value, to, count) + tail
        if len(text) <= LONGEST_TEXT and read(text, kind).value == value:
            return text
    return round_to(value, to, 17) + tail


def write_inches(value: float, finest: int = 64) -> str:
    """A length [m] as whole and fraction of an inch where it is one, else in decimals.

    ``finest`` is the smallest denominator on the rule.
    """
    inches = from_si(value, unit("length", "in"))
    nearest = Fraction(round(inches * finest), finest)
    if float(nearest * _INCH) != value:
        return write(value, "length", "in", 5)
    sign = "-" if nearest < 0 else ""
    whole, part = divmod(abs(nearest), 1)
    words = [str(whole)] if whole or not part else []
    if part:
        words.append(f"{part.numerator}/{part.denominator}")
    return f"{sign}{' '.join(words)} in"


_MONEY = re.compile(
    r"(?P<before>[^0-9\s+\-.,/]*)\s*(?P<number>[0-9]+(?:\.[0-9]+)?)\s*(?P<after>[^/]*?)\s*(?:/\s*(?P<per>.+))?$"
)


@dataclass(frozen=True, slots=True)
class Price:
    """An amount of money for one base SI unit of something (1 for a piece)."""

    amount: float
    currency: str
    per: str  # kind: "mass", "length", ... or "piece"


def read_price(text: str, currency: str, per: str, good: str) -> Price:
    """Read a price such as "4.20 EUR/kg" or "3.10 USD/lb".

    ``currency`` is the shop's own; another one is refused, because nothing here
    converts money. ``per`` is the kind of unit under the stroke, or "piece" for none.
    """
    tidy = _tidy(text) if len(text) <= LONGEST_TEXT else ""
    if re.search(r"[0-9],[0-9]", tidy):
        raise QuantityError("a comma inside a number can mean two things; write a point for decimals", good)
    match = _MONEY.match(tidy)
    if match is None:
        raise QuantityError("it is no price", good)
    word = (match["before"] + match["after"]).strip()
    if word.casefold() != currency.casefold():
        raise QuantityError(
            f"prices are in {currency} here (the currency named in [shop]), not in {word or 'nothing'}", good
        )
    amount = Fraction(match["number"])
    under = match["per"]
    if per == "piece":
        if under not in (None, "piece"):
            raise QuantityError("a price for one piece is wanted", good)
        return Price(float(amount), currency, per)
    found = find_unit(under or "", per)
    if found is None:
        raise QuantityError(f"a price for a unit of {per} is wanted", good)
    return Price(float(amount / found.scale), currency, per)
