"""``bench-sheet.pdf``: pages to fill in with a pencil, the same fields in the same order as the record.

First what is to be read, line by line; then the install card. Parts bear the same numbers and titles
as in the form that ``sumpwright record`` reads.
"""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.job.model import Job, JobResults
from sumpwright.job.record_sections import title_of
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.proof_steps import install_steps
from sumpwright.outputs.weld_map import turns
from sumpwright.outputs.words import write_bare_length, write_value
from sumpwright.proof.seam_names import key_of, names_of

_LINE = 8.2
"""Millimetres of paper for one line of writing."""


@dataclass(frozen=True, slots=True)
class Field:
    """A blank to write in."""

    key: str
    words: str
    unit: str


def bench_sheet_pdf(job: Job, results: JobResults) -> bytes | None:
    """The bench sheet as a PDF file; None where nothing was proven."""
    if results.proof is None:
        return None
    counting = _laid_out(job, results, None)
    return _laid_out(job, results, counting.page).finish()


def _laid_out(job: Job, results: JobResults, total: int | None) -> Form:
    foot = "Fill in with a pencil, then copy part by part into as-built.toml and run: sumpwright record"
    form = Form(job.paper, f"{job.name}: bench sheet", job.name, foot, total)
    form.section = "Bench sheet"
    length = "mm" if job.units == "mm" else "in"
    pressure = "kPa" if job.units == "mm" else "psi"
    warm = "°C" if job.units == "mm" else "°F"
    mass = "kg" if job.units == "mm" else "lb"
    form.words("Bench sheet", 18, bold=True)
    form.words(
        "Parts 1 to 9 stand in as-built.toml under the same numbers, and the words in bold are the names"
        " there. 'sumpwright record' lays that file out the first time and reads it the next.",
        9,
    )
    _fields(
        form,
        "record",
        f"job: {job.name}",
        (Field("date", "day", ""), Field("by", "who reads", ""), Field("note", "anything else", "")),
    )
    _fields(
        form,
        "pan",
        "before it is painted or filled",
        (
            Field("weighed", f"bare and dry{_computed_mass(job, results)}", mass),
            Field("bow", "of the flange off the strongback, middle against ends", length),
            Field("hours", "at the bench, all told", "h"),
        ),
    )
    seams = _seams(results)
    tight = set() if results.proof is None else set(results.proof.tight_seams)
    before = () if job.proof is None or job.proof.earlier is None else job.proof.earlier.leaks
    leaked = {key_of(look.seam) for look in before}
    _blank_table(
        form,
        "settings",
        "write down what differed from the plan; the map number is that of the weld map",
        (("map", 12), ("seam", 70), ("words: amps, filler, speed", 90)),
        [(number, name, "") for number, name in seams],
    )
    _blank_table(
        form,
        "straight_edge",
        "largest feeler that goes under, along each line; free, then pulled down",
        (("place", 70), (f"span, {length}", 30), (f"feeler, {length}", 32), ("state", 34)),
        [(place, "", "", state) for state in ("free", "pulled down") for place in _lines(results)],
    )
    _blank_table(
        form,
        "heights",
        "dial over a table, or height gauge, at each bolt hole; free, then pulled down",
        (
            ("beside hole", 34),
            (f"x, {length}", 28),
            (f"y, {length}", 28),
            (f"height, {length}", 36),
            ("state", 34),
        ),
        _height_rows(job, results),
    )
    _blank_table(
        form,
        "bubbles",
        "a minute each under soap at test pressure; 0 is what passes",
        (("map", 12), ("seam", 104), ("growing", 34)),
        [
            (number, name + ("  (leaked on the pan before)" if key_of(name) in leaked else ""), "")
            for number, name in seams
            if name in tight
        ],
    )
    test = results.proof.test_pressure if results.proof is not None else None
    planned = "" if test is None else f" (planned {write_value(test, 'Pa', 'pressure', job.units, 1)})"
    _fields(
        form,
        "leak_test",
        "a screen only",
        (
            Field("start", f"gauge when shut in{planned}", pressure),
            Field("end", "gauge at the end", pressure),
            Field("time", "between the two", "min"),
            Field("start_temperature", "air at the start", warm),
            Field("end_temperature", "air at the end", warm),
            Field("barometer", "at the bench, not put down to sea level", "hPa"),
        ),
    )
    _blank_table(
        form,
        "pours",
        "pan level on its stand; all that is in it by now, and the stick from its shoulder",
        (("poured, L", 60), (f"stick, {length}", 60)),
        [("", "")] * 6,
    )
    _blank_table(
        form,
        "logs",
        "files in the job folder; which column is what is asked in as-built.toml",
        (("file", 120),),
        [("",)] * 3,
    )
    _install(form, job, results)
    return form


def _seams(results: JobResults) -> list[tuple[str, str]]:
    """Number on the weld map and name of every seam, in welding order; those without a turn last."""
    if results.weld is None:
        return [] if results.proof is None else [("", name) for name in results.proof.tight_seams]
    names = names_of(results.weld.seams)
    order = {} if results.weld.plan is None else turns(results.weld.plan)
    ranked = sorted(names, key=lambda number: (order.get(number, len(names) + 1), number))
    return [(str(order.get(number, "-")), names[number]) for number in ranked]


def _computed_mass(job: Job, results: JobResults) -> str:
    if results.kit is None:
        return ""
    return f" (computed {write_value(results.kit.mass, 'kg', 'mass', job.units, 2)} without weld)"


def _lines(results: JobResults) -> list[str]:
    """Lines for the straight edge: each long side of the rail, both ends, both diagonals."""
    body = results.body
    if body is None:
        return [""] * 6
    names, xy = body.pattern.names, body.pattern.xy
    middle = xy.mean(axis=0)

    def at(x: int, y: int) -> str:
        return names[int((x * (xy[:, 0] - middle[0]) + y * (xy[:, 1] - middle[1])).argmax())]

    front_left, front_right, rear_left, rear_right = at(1, 1), at(1, -1), at(-1, 1), at(-1, -1)
    return [
        f"left rail, {rear_left} to {front_left}",
        f"right rail, {rear_right} to {front_right}",
        f"front, {front_left} to {front_right}",
        f"rear, {rear_left} to {rear_right}",
        f"across, {rear_left} to {front_right}",
        f"across, {rear_right} to {front_left}",
    ]


def _height_rows(job: Job, results: JobResults) -> list[tuple[str, ...]]:
    body = results.body
    if body is None:
        return [("", "", "", "", "")] * 8
    places = [
        (name, write_bare_length(float(x), job.units, 0), write_bare_length(float(y), job.units, 0))
        for name, (x, y) in zip(body.pattern.names, body.pattern.xy, strict=True)
    ]
    return [(*place, "", state) for state in ("free", "pulled down") for place in places]


def _fields(form: Form, key: str, words: str, fields: tuple[Field, ...]) -> None:
    form.caption(title_of(key), follow=_LINE * len(fields) + 12.0)
    form.words(words, 8.5)

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        for k, field in enumerate(fields):
            foot = y + height - (k + 1) * _LINE + 2.0
            sheet.text(x, foot, field.key.replace("_", " "), 9.0, bold=True)
            sheet.text(x + 38.0, foot, field.words, 8.0, grey=0.2)
            sheet.line(x + 118.0, foot - 1.0, x + width - 14.0, foot - 1.0, weight=0.2)
            sheet.text(x + width, foot, field.unit, 8.5, align="right")

    form.picture(_LINE * len(fields), draw)


def _blank_table(
    form: Form, key: str, words: str, columns: tuple[tuple[str, int], ...], rows: list[tuple[str, ...]]
) -> None:
    form.caption(title_of(key), follow=40.0)
    form.words(words, 8.5)
    form.table(
        tuple(Column(heading, share) for heading, share in columns),
        tuple(Row(row) for row in (rows or [("",) * len(columns)] * 4)),
        10.5,
    )


def _install(form: Form, job: Job, results: JobResults) -> None:
    form.section = "Install card"
    form.new_page()
    form.words("Install card", 18, bold=True)
    threads = ""
    if results.body is not None:
        counts: dict[str, int] = {}
        for fastener in results.body.pattern.fasteners:
            if fastener.kind != "dowel" and fastener.thread:
                counts[fastener.thread] = counts.get(fastener.thread, 0) + 1
        threads = "".join(f"({count} x {name}) " for name, count in counts.items())
    for number, step in enumerate(install_steps(job.units, job.proof, threads), start=1):
        form.need(16.0)

        def tick(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
            sheet.box(x, y - 3.2, 3.0, 3.0, weight=0.3)

        form.picture(0.1, tick)
        form.words(f"{number}.  {step.words}", 10.0, indent=6.0)
        if step.caution:
            form.caution("", step.caution)
