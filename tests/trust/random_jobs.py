"""Whole jobs with random slips in sensible places: other sizes, words, lines lost or doubled."""

from __future__ import annotations

import random
import re
from pathlib import Path

from sumpwright.job import examples
from tests.jobs.laid_out import laid_out

_QUANTITY = re.compile(r'"(-?)(\d+(?:\.\d+)?)( [A-Za-z%][A-Za-z/%]*)"')
_WORD = re.compile(r'= "([a-z][a-z -]+)"')
FACTORS = (0.02, 0.3, 0.6, 0.8, 0.9, 0.95, 0.98, 1.02, 1.05, 1.1, 1.2, 1.6, 3.0)


def random_job(folder: Path, dice: random.Random) -> Path:
    """A copy of one of the examples with one to six slips in its job file or its readings."""
    job = laid_out(folder, dice.choice(examples()))
    path = job / "job.toml"
    text = path.read_text("utf-8")
    for _ in range(dice.randint(1, 5)):
        text = dice.choice(SLIPS)(text, dice)
    path.write_text(text, "utf-8")
    if dice.random() < 0.25:
        readings = job / "rail.csv"
        lines = readings.read_text("utf-8").splitlines()
        at = dice.randrange(1, len(lines))
        lines[at] = re.sub(r"\d+\.\d+", lambda _: f"{dice.uniform(0.0, 900.0):.2f}", lines[at], count=1)
        if dice.random() < 0.5:
            del lines[dice.randrange(1, len(lines))]
        readings.write_text("\n".join(lines) + "\n", "utf-8")
    return job


def _sized(text: str, dice: random.Random) -> str:
    """One quantity by a factor."""
    found = list(_QUANTITY.finditer(text))
    one = dice.choice(found)
    number = float(one[2]) * dice.choice(FACTORS)
    return f'{text[: one.start()]}"{one[1]}{number:.6g}{one[3]}"{text[one.end() :]}'


def _turned(text: str, dice: random.Random) -> str:
    """One quantity's sign."""
    one = dice.choice(list(_QUANTITY.finditer(text)))
    sign = "" if one[1] else "-"
    return f'{text[: one.start()]}"{sign}{one[2]}{one[3]}"{text[one.end() :]}'


def _lost(text: str, dice: random.Random) -> str:
    lines = text.split("\n")
    del lines[dice.randrange(len(lines))]
    return "\n".join(lines)


def _doubled(text: str, dice: random.Random) -> str:
    """A whole section once more, as copying and pasting does."""
    parts = re.split(r"(?m)^(?=\[)", text)
    return text + "\n" + dice.choice(parts)


def _swapped_words(text: str, dice: random.Random) -> str:
    """Two words of the file change places."""
    found = list(_WORD.finditer(text))
    one, other = sorted(dice.sample(found, 2), key=lambda match: match.start())
    return text[: one.start(1)] + other[1] + text[one.end(1) : other.start(1)] + one[1] + text[other.end(1) :]


SLIPS = (*[_sized] * 12, _turned, _lost, _doubled, _swapped_words)
