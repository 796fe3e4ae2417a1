"""The Welding section: the order, fillers and settings, how far it moves, other metals."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Form
from sumpwright.outputs.sheet_materials import material_pages
from sumpwright.outputs.sheet_strongback import strongback_pages
from sumpwright.outputs.sheet_weld import weld_pages
from sumpwright.outputs.sheet_weld_bow import bow_pages
from sumpwright.outputs.sheet_weld_filler import filler_pages


def welding_pages(form: Form, job: Job, results: JobResults) -> None:
    """Each part of it that was worked out."""
    weld_pages(form, job, results)
    if results.filler is not None and results.filler.pairs:
        filler_pages(form, job, results.filler)
    if results.bow is not None:
        if results.bow.strongback is not None:
            strongback_pages(form, results.bow.strongback, job.units)
        bow_pages(form, job, results, results.bow)
    if results.materials:
        material_pages(form, job, results.materials)
