"""Drawings, cut files, template, job sheet, results file. Shows, never calculates.

The shop asks: what do I send to the cutter, what do I take to the bench. In: the job
and what its stages found. Out: the shop pack, a folder that is written whole or not
at all, and the findings table on the screen. Left out here: nests, weld map.
"""

from sumpwright.outputs.pack import PackError, write_pack
from sumpwright.outputs.words import fill

__all__ = ["PackError", "fill", "write_pack"]
