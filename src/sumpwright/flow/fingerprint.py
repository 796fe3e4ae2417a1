"""One stable name for a set of frozen inputs: the same inputs give the same name, on any machine."""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import PurePath
from typing import Any

import numpy as np


def fingerprint(*values: Any) -> str:
    """Name of the values, 32 hexadecimal digits.

    Reads frozen dataclasses, tuples, arrays, numbers, texts, enums and None. Two values
    that differ in type, in one bit of a number or in the shape of an array get different
    names. Anything that could change behind our back (a list, a dict, a function) is a
    wrong call: TypeError.
    """
    digest = hashlib.blake2b(digest_size=16)
    for value in values:
        _feed(value, digest.update)
    return digest.hexdigest()


def _feed(value: Any, put: Callable[[bytes], None]) -> None:
    """Write one value with its kind in front, so that no two values run into each other."""
    if value is None:
        put(b"-")
    elif isinstance(value, Enum):
        _text(f"{type(value).__qualname__}.{value.name}", b"e", put)
    elif isinstance(value, (bool, np.bool_)):
        put(b"T" if value else b"F")
    elif isinstance(value, (int, np.integer)):
        _text(str(int(value)), b"i", put)
    elif isinstance(value, (float, np.floating)):
        put(b"f" + struct.pack("<d", float(value)))
    elif isinstance(value, str):
        _text(value, b"s", put)
    elif isinstance(value, bytes):
        put(b"b" + struct.pack("<q", len(value)) + value)
    elif isinstance(value, np.ndarray) and value.dtype != object:
        plain = np.ascontiguousarray(value)
        _text(f"{plain.dtype.str}{value.shape}", b"a", put)
        put(plain.tobytes())
    elif isinstance(value, tuple):
        put(b"(" + struct.pack("<q", len(value)))
        for part in value:
            _feed(part, put)
    elif isinstance(value, PurePath):
        _text(value.as_posix(), b"p", put)
    elif is_dataclass(value) and not isinstance(value, type):
        kind = type(value)
        _text(f"{kind.__module__}.{kind.__qualname__}", b"d", put)
        for field in fields(value):
            _feed(getattr(value, field.name), put)
    else:
        raise TypeError(f"a stage input must be frozen; cannot name a {type(value).__qualname__}")


def _text(text: str, kind: bytes, put: Callable[[bytes], None]) -> None:
    raw = text.encode()
    put(kind + struct.pack("<q", len(raw)) + raw)
