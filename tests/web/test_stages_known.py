"""Every stage of the work has its place on the page."""

from __future__ import annotations

from dataclasses import fields

from sumpwright.flow import QUICK_STAGES, STAGES
from sumpwright.job import sections, shop_sections
from sumpwright.job.model import JobResults
from sumpwright.web.section_places import HEADINGS, KEY_OF_CODE, section_of_file
from sumpwright.web.workers import first_stages, metal_stages


def test_every_stage_has_a_section_and_a_process():
    results = {field.name for field in fields(JobResults)}
    for stage in STAGES:
        assert stage.name in results
        assert HEADINGS[KEY_OF_CODE[stage.code]] == stage.section
    assert {*first_stages(), *metal_stages()} == set(QUICK_STAGES)
    assert not {*first_stages()} & {*metal_stages()}
    by_name = {stage.name: stage for stage in STAGES}
    # The first process runs to its end without waiting for the parts.
    assert all(set(by_name[name].needs) <= {*first_stages()} for name in first_stages())


def test_every_section_of_the_files_stands_somewhere():
    for file, module in (("job", sections), ("shop", shop_sections)):
        for name in (*module.SINGLE, *(path[0] for path in module.LISTED)):
            assert section_of_file(file, name) in HEADINGS
