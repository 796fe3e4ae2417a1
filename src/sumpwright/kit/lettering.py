"""Single-stroke letters for etched marks, drawn on a grid four wide and six high.

Every letter is a few straight strokes without curves or closed fills, so that an etching
head runs each line once. A point is two digits, across and up; the letters stand on the
second grid line, so that tails of g, j, p, q and y have room below.
"""

from __future__ import annotations

import math
import unicodedata
from functools import cache

import numpy as np

from sumpwright.geometry import Stroke
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

_BASE = 2
_CAPITAL = 6
_GAP = 1.6
"""Grid steps below the letters, height of a capital, and room between two letters."""

_LETTERS: dict[str, str] = {
    "A": "02 06 28 46 42,05 45",
    "B": "02 08 38 47 46 35 05,35 44 43 32 02",
    "C": "47 38 18 07 03 12 32 43",
    "D": "02 08 28 46 44 22 02",
    "E": "48 08 02 42,05 35",
    "F": "48 08 02,05 35",
    "G": "47 38 18 07 03 12 32 43 45 25",
    "H": "02 08,42 48,05 45",
    "I": "12 32,22 28,18 38",
    "J": "03 12 22 33 38,18 48",
    "K": "02 08,48 04,15 42",
    "L": "08 02 42",
    "M": "02 08 25 48 42",
    "N": "02 08 42 48",
    "O": "12 03 07 18 38 47 43 32 12",
    "P": "02 08 38 47 46 35 05",
    "Q": "12 03 07 18 38 47 43 32 12,24 42",
    "R": "02 08 38 47 46 35 05,25 42",
    "S": "47 38 18 07 06 15 35 44 43 32 12 03",
    "T": "08 48,28 22",
    "U": "08 03 12 32 43 48",
    "V": "08 05 22 45 48",
    "W": "08 02 25 42 48",
    "X": "02 48,08 42",
    "Y": "08 25 48,25 22",
    "Z": "08 48 02 42",
    "a": "05 16 26 35 32,34 14 03 12 22 33",
    "b": "08 02,05 16 26 35 33 22 12 03",
    "c": "35 26 16 05 03 12 22 33",
    "d": "38 32,35 26 16 05 03 12 22 33",
    "e": "04 34 35 26 16 05 03 12 22 33",
    "f": "38 28 17 12,05 25",
    "g": "36 31 20 10 01,35 26 16 05 03 12 22 33",
    "h": "02 08,05 16 26 35 32",
    "i": "12 16,18 17",
    "j": "00 10 21 26,28 27",
    "k": "02 08,36 04,15 32",
    "l": "18 13 22",
    "m": "02 06,05 16 25 22,25 36 45 42",
    "n": "02 06,05 16 26 35 32",
    "o": "12 03 05 16 26 35 33 22 12",
    "p": "00 06,05 16 26 35 33 22 12 03",
    "q": "30 36,35 26 16 05 03 12 22 33",
    "r": "02 06,05 16 26",
    "s": "36 16 05 14 24 33 22 02",
    "t": "18 13 22 32,06 26",
    "u": "06 03 12 22 33,36 32",
    "v": "06 05 12 25 26",
    "w": "06 03 12 24 32 43 46",
    "x": "02 36,06 32",
    "y": "06 04 13 33,36 31 20 00",
    "z": "06 36 02 32",
    "0": "12 03 07 18 38 47 43 32 12,13 37",
    "1": "06 28 22,02 42",
    "2": "07 18 38 47 46 02 42",
    "3": "08 48 25 35 44 43 32 12 03",
    "4": "32 38 04 44",
    "5": "48 08 05 35 44 43 32 02",
    "6": "38 18 06 03 12 32 43 44 35 05",
    "7": "08 48 46 12",
    "8": "15 06 07 18 38 47 46 35 15 04 03 12 32 43 44 35",
    "9": "12 32 44 47 38 18 07 06 15 45",
    "-": "05 35",
    ".": "02 12",
    ",": "12 01",
    "/": "02 48",
    "(": "28 16 14 22",
    ")": "08 16 14 02",
    "+": "05 45,23 27",
    ":": "03 13,06 16",
    "'": "08 06",
    "_": "02 42",
    "#": "12 18,32 38,04 44,06 46",
    "&": "42 07 18 27 04 03 12 22 44",
    "=": "04 44,06 46",
    "?": "07 18 38 47 46 24,23 22",
}


@cache
def _strokes_of(letter: str) -> tuple[tuple[tuple[float, float], ...], ...]:
    """A letter's strokes on the grid, standing on zero."""
    return tuple(
        tuple((float(pair[0]), float(pair[1]) - _BASE) for pair in stroke.split())
        for stroke in _LETTERS[letter].split(",")
    )


@cache
def _width_of(letter: str) -> float:
    if letter == " ":
        return 2.0
    return max(x for stroke in _strokes_of(letter) for x, _ in stroke)


def plain(text: str) -> str:
    """The text in letters that can be etched: accents dropped, anything else a question mark."""
    bare = unicodedata.normalize("NFKD", text)
    kept = (letter for letter in bare if not unicodedata.combining(letter))
    return "".join(letter if letter in _LETTERS or letter == " " else "?" for letter in kept)


def letters() -> str:
    """All letters that can be etched."""
    return "".join(sorted(_LETTERS))


def words_width(text: str, height: Metre) -> Metre:
    """Width [m] of a line whose capitals are ``height`` high."""
    line = plain(text)
    if not line:
        return 0.0
    steps = sum(_width_of(letter) for letter in line) + _GAP * (len(line) - 1)
    return steps * height / _CAPITAL


def tail_depth(text: str, height: Metre) -> Metre:
    """How far [m] the tails of a line reach below its foot."""
    low = min(
        (y for letter in plain(text) if letter != " " for s in _strokes_of(letter) for _, y in s), default=0
    )
    return max(0.0, -low) * height / _CAPITAL


def write(text: str, height: Metre, middle: FloatArray, angle: Radian = 0.0) -> tuple[Stroke, ...]:
    """A line of letters about a middle point (2,) m, turned anticlockwise by ``angle``.

    The middle is halfway along the line and halfway up its capitals.
    """
    line = plain(text)
    scale = height / _CAPITAL
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    across = -0.5 * words_width(text, height)
    strokes = []
    for letter in line:
        if letter != " ":
            for stroke in _strokes_of(letter):
                points = np.array(stroke) * scale + np.array([across, -0.5 * height])
                strokes.append(Stroke(frozen_array(points @ turn.T + middle)))
        across += (_width_of(letter) + _GAP) * scale
    return tuple(strokes)
