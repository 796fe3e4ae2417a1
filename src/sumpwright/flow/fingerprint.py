"""One stable name for a set of frozen inputs: the same inputs give the same name, on any machine."""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
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
    kind: Any = type(value)
    # The few kinds that nearly all values are come first; bool and str enums have kinds of their own.
    if kind is float:
        put(_FLOAT(b"f", value))
    elif kind is tuple:
        put(_COUNT(b"(", len(value)))
        for part in value:
            _feed(part, put)
    elif kind is str:
        _text(value, b"s", put)
    elif value is None:
        put(b"-")
    elif kind is int:
        _text(str(value), b"i", put)
    elif isinstance(value, Enum):
        _text(f"{kind.__qualname__}.{value.name}", b"e", put)
    elif isinstance(value, (bool, np.bool_)):
        put(b"T" if value else b"F")
    elif isinstance(value, (int, np.integer)):
        _text(str(int(value)), b"i", put)
    elif isinstance(value, (float, np.floating)):
        put(_FLOAT(b"f", float(value)))
    elif isinstance(value, str):
        _text(value, b"s", put)
    elif isinstance(value, bytes):
        put(_COUNT(b"b", len(value)) + value)
    elif isinstance(value, np.ndarray) and value.dtype != object:
        plain = np.ascontiguousarray(value)
        _text(f"{plain.dtype.str}{value.shape}", b"a", put)
        put(plain.tobytes())
    elif isinstance(value, tuple):
        put(_COUNT(b"(", len(value)))
        for part in value:
            _feed(part, put)
    elif isinstance(value, PurePath):
        _text(value.as_posix(), b"p", put)
    elif is_dataclass(value) and not isinstance(value, type):
        name, names = _told(kind)
        put(name)
        for field in names:
            _feed(getattr(value, field), put)
    else:
        raise TypeError(f"a stage input must be frozen; cannot name a {kind.__qualname__}")


_FLOAT = struct.Struct("<cd").pack
_COUNT = struct.Struct("<cq").pack


@cache
def _told(kind: Any) -> tuple[bytes, tuple[str, ...]]:
    """How a dataclass is written: its name with its kind in front, and its fields. One entry a class."""
    raw = f"{kind.__module__}.{kind.__qualname__}".encode()
    return _COUNT(b"d", len(raw)) + raw, tuple(field.name for field in fields(kind))


def _text(text: str, kind: bytes, put: Callable[[bytes], None]) -> None:
    raw = text.encode()
    put(_COUNT(kind, len(raw)) + raw)
