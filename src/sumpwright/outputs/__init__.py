"""Drawings, cut files, template, job sheet, results file. Shows, never calculates.

The shop asks: what do I send to the cutter, what do I take to the bench. In: the job
and what its stages found. Out: the shop pack, a folder that is written whole or not
at all, and the findings table on the screen. Left out here: nests, weld map.
"""

from typing import TYPE_CHECKING, Any

from sumpwright.outputs.words import fill

if TYPE_CHECKING:
    from sumpwright.outputs.pack import PackError, write_pack

__all__ = ["PackError", "fill", "write_pack"]


def __getattr__(name: str) -> Any:
    """The pack's writer, loaded when it is first asked for: findings on the screen need none of it."""
    if name not in ("PackError", "write_pack"):
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from sumpwright.outputs import pack

    return getattr(pack, name)
