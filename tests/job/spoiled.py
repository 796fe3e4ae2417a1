"""A file with slips in it, as hands, disks and bad mail make them."""

from __future__ import annotations

import random

JUNK = (
    b"[",
    b"]",
    b"{",
    b"}",
    b'"',
    b"'",
    b"=",
    b",",
    b"\n",
    b".",
    b"-",
    b"nan",
    b"inf",
    b"1e9",
    b"\x00",
    b"\xff",
    b"\\u",
)


def spoiled(raw: bytes, dice: random.Random) -> bytes:
    """One to four random slips: a byte changed, a stretch lost, doubled, moved, or junk put in."""
    text = bytearray(raw)
    for _ in range(dice.randint(1, 4)):
        at, to = sorted((dice.randrange(len(text) + 1), min(len(text), dice.randrange(len(text) + 1))))
        to = min(to, at + dice.choice((1, 3, 20, 400)))
        kind = dice.randrange(5)
        if kind == 0 and at < len(text):
            text[at] = dice.randrange(256)
        elif kind == 1:
            del text[at:to]
        elif kind == 2:
            text[at:at] = text[at:to]
        elif kind == 3:
            text[at:at] = dice.choice(JUNK)
        else:
            piece = text[at:to]
            del text[at:to]
            place = dice.randrange(len(text) + 1)
            text[place:place] = piece
    return bytes(text)
