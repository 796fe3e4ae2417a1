"""``job-sheet.pdf``: verdicts first, then each section of the work, to take to the bench."""

from __future__ import annotations

from collections.abc import Callable

from sumpwright.findings import SEVERITY, Figure, Finding, Verdict, worst
from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.cautions import CAUTIONS, caution, cautions_beside
from sumpwright.outputs.form import Column, Form, KeyFigure, Row, draw_verdict
from sumpwright.outputs.plan import rail_plan
from sumpwright.outputs.results_file import has_cut_files
from sumpwright.outputs.sections import SECTIONS, section_of, tally, worst_first
from sumpwright.outputs.sheet_drive import drive_pages
from sumpwright.outputs.sheet_free_surface import free_surface_pages
from sumpwright.outputs.sheet_motion import motion_pages
from sumpwright.outputs.sheet_oil import oil_pages
from sumpwright.outputs.sheet_parts import parts_pages
from sumpwright.outputs.sheet_proof import proof_pages
from sumpwright.outputs.sheet_rail import rail_pages
from sumpwright.outputs.sheet_shape import shape_pages
from sumpwright.outputs.sheet_suction import suction_pages
from sumpwright.outputs.sheet_welding import welding_pages
from sumpwright.outputs.words import (
    assumption_words,
    finding_words,
    proposal_words,
    write_figure,
    write_length,
    write_value,
)
from sumpwright.tables.sources import source_title, sources


def _motion_pages(form: Form, job: Job, results: JobResults) -> None:
    motion_pages(form, job, results)
    drive_pages(form, job, results)
    free_surface_pages(form, job, results)


_PAGES: dict[str, Callable[[Form, Job, JobResults], None]] = {
    "Rail": rail_pages,
    "Shape": shape_pages,
    "Oil": oil_pages,
    "Motion": _motion_pages,
    "Suction": suction_pages,
    "Parts": parts_pages,
    "Welding": welding_pages,
    "Proof": proof_pages,
}


def section_pages(form: Form, heading: str, job: Job, results: JobResults) -> None:
    """What stands in one section beside its findings; nothing where it shows nothing more."""
    if heading in _PAGES:
        _PAGES[heading](form, job, results)


def job_sheet_pdf(job: Job, results: JobResults) -> bytes:
    """The sheet as a PDF file: laid out once to count its pages, once to draw them."""
    counting = _laid_out(job, results, None)
    return _laid_out(job, results, counting.page).finish()


def _laid_out(job: Job, results: JobResults, total: int | None) -> Form:
    version = dict(results.versions).get("sumpwright", "")
    foot = f"Planning figures, not a certified design: see the cautions. Sumpwright {version}".rstrip()
    form = Form(job.paper, f"{job.name}: job sheet", job.name, foot, total)
    _first_page(form, job, results)
    number = 0
    headings = [heading for _, heading in SECTIONS]
    headings += [section_of(finding) for finding in results.findings if section_of(finding) not in headings]
    for heading in dict.fromkeys(headings):
        findings = tuple(finding for finding in results.findings if section_of(finding) == heading)
        if not findings and not _has_pages(heading, results):
            continue
        number += 1
        _section(form, job, results, number, heading, findings)
    _assumptions(form, job, results)
    _all_cautions(form)
    _sources(form, results)
    return form


def _has_pages(heading: str, results: JobResults) -> bool:
    """Whether a section without findings still has something to show."""
    shown = {
        "Rail": results.rail,
        "Shape": results.body,
        "Oil": results.oil,
        "Motion": results.motion,
        "Suction": results.suction,
        "Parts": results.kit,
        "Welding": results.weld or results.filler,
        "Proof": results.proof,
    }
    return shown.get(heading) is not None


def verdict_headline(results: JobResults) -> tuple[str, str]:
    """What the first page says in big letters, and the sentence below it."""
    whole = worst([finding.verdict for finding in results.findings])
    if not results.findings:
        return "Nothing was judged", "No stage has said anything about this pan."
    counted = f"{tally(results.findings)[0].upper()}{tally(results.findings)[1:]}."
    if whole is Verdict.FAILS:
        return "Something fails: do not cut yet", counted
    if whole is Verdict.CANNOT_SAY:
        return "Something cannot be said: do not cut yet", counted
    if whole is Verdict.CLOSE:
        return "Nothing fails, some of it is close", counted
    return "Everything that was judged holds", counted


def _first_page(form: Form, job: Job, results: JobResults) -> None:
    form.section = ""
    form.words(job.name, 22, bold=True)
    whole = worst([finding.verdict for finding in results.findings])
    headline, counted = verdict_headline(results)
    height = 19.0
    form.need(height)
    sheet, y = form.sheet, form.y
    sheet.box(form.left, y - height, form.inner_width, height, weight=0.8)
    draw_verdict(sheet, whole, form.left + 3.0, y - height + 4.0, 40.0, 11.0, 15.0)
    sheet.text(form.left + 47.0, y - 8.6, headline, 13.5, bold=True)
    sheet.text(form.left + 47.0, y - 14.6, counted, 10)
    form.y = y - height - 3.0
    if not has_cut_files(results):
        form.words(_why_no_cut_files(results), 10.5, bold=True)
    form.key_figures(_key_figures(job, results))
    form.caution(CAUTIONS[0].heading, CAUTIONS[0].words)
    opened = [finding for finding in worst_first(results.findings) if SEVERITY[finding.verdict] > 0]
    if opened:
        form.caption("What to settle, worst first")
        for finding in opened:
            form.finding(finding_words(finding, job.units), _changes(finding, job, results))


def _why_no_cut_files(results: JobResults) -> str:
    if results.kit is None:
        return "This pack holds no cut files: the parts were not made, because an earlier section is open."
    rebuild = results.kit.rebuild
    why = f" ({rebuild.why})" if rebuild.why else ""
    places = "; ".join(dict.fromkeys(gap.where for gap in rebuild.gaps[:3]))
    where = f" Look at: {places}." if places else ""
    return f"This pack holds no cut files: the kit, built up again from its flats, was refused{why}.{where}"


def _key_figures(job: Job, results: JobResults) -> tuple[KeyFigure, ...]:
    """The numbers one asks for first; a dash where a number is not known."""
    units = job.units
    out = []
    plan = rail_plan(results)
    if plan is None:
        out.append(KeyFigure("rail holes placed", "none", "see Rail"))
    else:
        loosest = max(plan.holes, key=lambda hole: hole.off_by.long)
        out.append(KeyFigure("rail holes placed", str(len(plan.holes))))
        out.append(
            KeyFigure(
                "loosest hole could be off by",
                write_length(loosest.off_by.long, units, 2),
                f"hole {loosest.name}",
            )
        )
    oil = results.oil
    if oil is not None:
        out.append(
            KeyFigure(
                "oil up to the rail",
                write_value(oil.capacity_to_rail, "m3", "volume", units, 2).partition(" (")[0],
                "level, standing",
            )
        )
        full = next((mark for mark in oil.marks if mark.name == "full"), None)
        if full is not None:
            out.append(
                KeyFigure(
                    "full mark from the shoulder",
                    "cannot be read" if full.from_stop is None else write_length(full.from_stop, units, 1),
                    f"{write_value(full.volume, 'm3', 'volume', units)} in the pan",
                )
            )
    kit = results.kit
    if kit is not None:
        count = sum(part.quantity for part in kit.parts)
        out.append(KeyFigure("flat parts", str(count), "" if has_cut_files(results) else "refused"))
        out.append(KeyFigure("mass", write_value(kit.mass, "kg", "mass", units, 1)))
        out.append(KeyFigure("length to weld", write_value(kit.weld_length, "m", "length", units, 0)))
        out.append(
            KeyFigure(
                "worst gap when rebuilt",
                write_figure(Figure("gap", kit.rebuild.worst_gap, "m", "length", 2), units),
                f"{kit.rebuild.rays:,} rays, {kit.rebuild.escapes} got out",
            )
        )
    return tuple(out)


def _section(
    form: Form, job: Job, results: JobResults, number: int, heading: str, findings: tuple[Finding, ...]
) -> None:
    form.section = heading
    form.need(130.0)
    form.heading(str(number), heading)
    for entry in cautions_beside(heading):
        form.caution(entry.heading, entry.words)
    if findings:
        form.words(f"{tally(findings)[0].upper()}{tally(findings)[1:]}.", 10.5, bold=True)
    else:
        form.words("Nothing was judged here.", 10.5, bold=True)
    beside = {entry.key for entry in cautions_beside(heading)}
    for finding in findings:
        title = source_title(finding.source) if finding.source else ""
        form.finding(finding_words(finding, job.units), _changes(finding, job, results), title)
        for key in finding.cautions:
            if key not in beside:
                form.caution("", caution(key))
                beside.add(key)
    section_pages(form, heading, job, results)


def _changes(finding: Finding, job: Job, results: JobResults) -> tuple[str, ...]:
    return tuple(
        proposal_words(proposal, job.units) for proposal in results.proposals if proposal.code == finding.code
    )


def _assumptions(form: Form, job: Job, results: JobResults) -> None:
    form.section = "What was taken for granted"
    form.new_page()
    form.caption("What was taken for granted, because the job does not say")
    if not results.assumptions:
        form.words("Nothing: every figure is the job's or the shop's own.")
        return
    form.words("Write your own figure under the key, and this line goes away.", 9)
    form.table(
        (Column("key", 26), Column("taken", 52), Column("where it comes from", 30)),
        tuple(
            Row((entry.key, assumption_words(entry, job.units), source_title(entry.source)))
            for entry in results.assumptions
        ),
    )


def _all_cautions(form: Form) -> None:
    form.section = "Cautions"
    form.new_page()
    form.caption("Cautions: this work can hurt")
    for entry in CAUTIONS:
        form.caution(entry.heading, entry.words)


def _sources(form: Form, results: JobResults) -> None:
    named = {finding.source for finding in results.findings}
    named |= {assumption.source for assumption in results.assumptions}
    known = [name for name in sources() if name in named]
    if not known:
        return
    form.section = "Sources"
    form.caption("Where the limits and formulas come from")
    words = {
        "published": "published",
        "memory": "from memory, not looked up",
        "practice": "trade rule, no authority",
        "derived": "worked out here",
        "user": "your own figure",
    }
    form.table(
        (Column("source", 80), Column("how it is known", 30)),
        tuple(Row((sources()[name].title, words[sources()[name].how])) for name in known),
    )
