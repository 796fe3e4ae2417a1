"""Reads the job, shop and readings files into the stages' inputs; lists every fault at once.

The shop asks: what have I written, and what is wrong with it. In: a job folder with
``job.toml``, ``rail.csv`` and, if it is there, ``shop.toml``. Out: a ``Job`` in base SI
with every default that was taken, or one ``JobError``. Left out: sections whose stage has
not come yet, which are refused and not skipped.

In reading order: ``files`` (bytes, text, TOML), ``lines`` (where each key stands),
``fields`` (what a key may hold), ``sections`` and ``shop_sections`` (which keys there
are), ``refusals`` and ``faults`` (what is wrong, in words), ``rail_rules`` and
``body_rules`` (what has to hold between keys), ``readings``, ``shop``, ``rail_inputs``,
``lumps``, ``body_inputs``, ``metal_inputs`` (what the stages get), ``read``, ``layout``,
``describe``.
"""

from sumpwright.job.describe import describe
from sumpwright.job.faults import Fault, JobError
from sumpwright.job.layout import examples, lay_out, lay_out_after
from sumpwright.job.model import Job, JobResults, Sheet, Shop
from sumpwright.job.read import read_job, read_job_with, reread_job

lay_out_job = lay_out

__all__ = [
    "Fault",
    "Job",
    "JobError",
    "JobResults",
    "Sheet",
    "Shop",
    "describe",
    "examples",
    "lay_out",
    "lay_out_after",
    "lay_out_job",
    "read_job",
    "read_job_with",
    "reread_job",
]
