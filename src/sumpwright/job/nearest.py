"""The known word nearest to a slip of the pen."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant, or None."""
    plain = {item.replace("_", " ").casefold(): item for item in known}
    found = difflib.get_close_matches(word[:60].replace("_", " ").casefold(), list(plain), 1, 0.6)
    return plain[found[0]] if found else None
