"""``weld-map.pdf``: seams numbered in their order on views of the pan, the steps to tick, a strip a seam."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from sumpwright.body import Cavity
from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.cautions import cautions_beside
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.metal_cautions import cautions_of_metals, strip_words
from sumpwright.outputs.pan_views import View, is_hidden
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.weld_symbols import draw_symbol, sign_of
from sumpwright.outputs.words import UnitSystem, write_length, write_shop_length
from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.tables.welding import family_of
from sumpwright.weld.filler_model import FillerPlan
from sumpwright.weld.model import Seam, SeamRuns, WeldPlan, WeldResult


def _view(name: str, right: tuple[float, ...], up: tuple[float, ...]) -> View:
    return View(name, frozen_array(right), frozen_array(up), frozen_array(np.cross(right, up)))  # type: ignore[arg-type]


MAP_VIEWS: tuple[tuple[View, str], ...] = (
    (
        _view("from below", (1, 0, 0), (0, -1, 0)),
        "front to the right, the engine's left points down the page",
    ),
    (_view("from the left", (-1, 0, 0), (0, 0, 1)), "front to the left, rail on top"),
    (_view("from the right", (1, 0, 0), (0, 0, 1)), "front to the right, rail on top"),
    (_view("from the front", (0, 1, 0), (0, 0, 1)), "the engine's left to the right, rail on top"),
    (_view("from the rear", (0, -1, 0), (0, 0, 1)), "the engine's left to the left, rail on top"),
    (
        _view("from above", (1, 0, 0), (0, 1, 0)),
        "looking into the pan: front to the right, the left up the page",
    ),
)

STRIP = 20.0  # height of one seam's strip, mm


def weld_map_pdf(job: Job, results: JobResults) -> bytes | None:
    """The map as a PDF file; None where nothing was planned."""
    if results.weld is None or results.weld.plan is None:
        return None
    counting = _laid_out(job, results, None)
    return _laid_out(job, results, counting.page).finish()


def turns(plan: WeldPlan) -> dict[int, int]:
    """The number of each welded seam on the map, which is its place in the order."""
    return {seam: place for place, seam in enumerate(plan.order, start=1)}


def _laid_out(job: Job, results: JobResults, total: int | None) -> Form:
    assert results.weld is not None
    plan = results.weld.plan
    assert plan is not None
    version = dict(results.versions).get("sumpwright", "")
    foot = f"Planning figures, not a certified procedure. Sumpwright {version}".rstrip()
    form = Form(job.paper, f"{job.name}: weld map", job.name, foot, total)
    form.section = "Weld map"
    form.words(f"{job.name}: weld map", 18, bold=True)
    form.words(
        "Seams bear the number of their turn. Full circle: tight and continuous; dashed: stitched. Symbols"
        " after ISO 2553, the arrow's side is the side from which it is welded. Each bead starts and stops at"
        " the places of its strip, never in a corner.",
        9,
    )
    if results.weld.replay is not None and not results.weld.replay.holds:
        form.words("The checker does not agree with this order: do not weld by it.", 11, bold=True)
    # The general word on fume stands aside for that of the metals in this pan.
    metals = cautions_of_metals(_families(results.weld.seams))
    general = [one for one in cautions_beside("Welding") if not (metals and one.key == "welding fume")]
    for entry in (*metals, *general):
        form.caution(entry.heading, entry.words)
    _steps(form, job, results.weld, plan)
    _pictures(form, results, plan)
    _strips(form, job, results.weld, plan, results.filler)
    return form


def _families(seams: Iterable[Seam]) -> set[str]:
    """Families of the metals that meet in some seams; a bought boss is of its sheet's."""
    metals = {metal for seam in seams for metal in (seam.material_a, seam.material_b)}
    return {family for metal in metals if (family := family_of(metal)) is not None}


# --- the steps ----------------------------------------------------------------------------------


def _steps(form: Form, job: Job, weld: WeldResult, plan: WeldPlan) -> None:
    seams = {seam.number: seam for seam in weld.seams}
    number = turns(plan)
    form.caption("The steps, to tick")
    rows = []
    stops = list(plan.hold_points)
    place = ""
    for step in plan.steps:
        while stops and stops[0].after_step < step.number:
            stop = stops.pop(0)
            rows.append(Row(("STOP", "", f"{stop.name}: {'; '.join(stop.checks)}", "( )"), True))
        where = "bench" if step.place == "bench" else "plate"
        if step.action == "set":
            verb = "lay on the bench" if where == "bench" and not step.built else "set and tack"
            words = f"{verb}: {', '.join(step.parts)}"
            rows.append(Row((str(step.number), where if where != place else "", words, "( )")))
        else:
            assert step.seam is not None
            seam = seams[step.seam]
            early = "; now: later nothing gets there" if step.before_closing else ""
            length = write_shop_length(seam.length, job.units)
            words = f"weld {number[step.seam]}: {seam.where}, {step.side}, {length}{early}"
            if step.bolts_out:
                names = ", ".join(name.removeprefix("clamp bolt ") for name in step.bolts_out)
                words += f"; bolts {names} out as the bead passes, one at a time, and back in"
            rows.append(Row((str(step.number), where if where != place else "", words, "( )")))
        place = where
    rows += [Row(("STOP", "", f"{stop.name}: {'; '.join(stop.checks)}", "( )"), True) for stop in stops]
    form.table(
        (Column("step", 12), Column("on", 14), Column("what", 140), Column("done", 12, "right")),
        tuple(rows),
    )
    for left in weld.left_out:
        form.words(f"Not in this plan: {left}.", 8.5)


# --- the pictures -------------------------------------------------------------------------------


def _pictures(form: Form, results: JobResults, plan: WeldPlan) -> None:
    body, weld = results.body, results.weld
    assert weld is not None
    if body is None or body.cavity is None:
        return
    cavity = body.cavity
    left = set(plan.order) | set(plan.left_over) | set(plan.bare)
    for view, words in MAP_VIEWS:
        shown = [seam for seam in weld.seams if seam.number in left and _faces(seam, view, cavity)]
        if not shown:
            continue
        left -= {seam.number for seam in shown}
        form.caption(f"Seen {view.name}", follow=_height(cavity, view, form.inner_width) + 12.0)
        form.words(f"{words[0].upper()}{words[1:]}.", 8.5)
        form.picture(_height(cavity, view, form.inner_width), _drawer(cavity, view, tuple(shown), plan))
    rest = [seam for seam in weld.seams if seam.number in left]
    if rest:
        number = turns(plan)
        names = "; ".join(f"{number.get(seam.number, '-')} {seam.where}" for seam in rest)
        form.words(f"Seen on none of these pictures, for other parts hide them: {names}.", 8.5)


def _height(cavity: Cavity, view: View, width: float) -> float:
    size = np.ptp(view.flat(cavity.vertices), axis=0) + 0.06
    return float(min(104.0, 14.0 + size[1] * 1e3 * _scale(cavity, view, width)))


def _scale(cavity: Cavity, view: View, width: float) -> float:
    """Page millimetres a millimetre of the pan."""
    size = np.ptp(view.flat(cavity.vertices), axis=0) + 0.06
    return float(min((width - 8.0) / (size[0] * 1e3), 90.0 / (size[1] * 1e3), 1.0))


def _faces(seam: Seam, view: View, cavity: Cavity) -> bool:
    """Whether most of a seam shows in a view, by the side from which it is welded."""
    way = seam.ways[0]
    points = np.asarray(way.path)
    if not seam.is_closed:
        points = points[0] + np.linspace(0.1, 0.9, 5)[:, None] * (points[-1] - points[0])
    out = np.asarray(way.middle).mean(axis=0)
    if np.linalg.norm(out) < 1e-6 or seam.is_closed:
        out = np.cross(way.path[0] - points.mean(axis=0), way.path[len(way.path) // 4] - points.mean(axis=0))
        out = out if out @ way.leg_a[0] > 0.0 else -out
    out = out / np.linalg.norm(out)
    if float(out @ view.towards) < 0.2:
        return False
    if seam.side != "outside":
        # Looked at through the opening: nothing of the pan's outside lies between.
        return bool(view.towards[2] > 0.5)
    lifted = points + 0.006 * out
    return float(np.mean(is_hidden(lifted, cavity.vertices[cavity.triangles], view))) < 0.5


def _drawer(
    cavity: Cavity, view: View, shown: tuple[Seam, ...], plan: WeldPlan
) -> Callable[[Sheet, float, float, float, float], None]:
    number = turns(plan)

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        flat = view.flat(cavity.vertices)
        low = flat.min(axis=0) - 0.03
        scale = _scale(cavity, view, width)
        left = x + 0.5 * (width - float(np.ptp(flat[:, 0]) + 0.06) * 1e3 * scale)

        def place(points: FloatArray) -> list[tuple[float, float]]:
            seen = (view.flat(np.atleast_2d(points)) - low) * 1e3 * scale
            return [(left + float(u), y + 4.0 + float(v)) for u, v in seen]

        for edge in cavity.edges:
            (x1, y1), (x2, y2) = place(cavity.vertices[[edge.start, edge.end]])
            sheet.line(x1, y1, x2, y2, weight=0.12, grey=0.65)
        taken: list[tuple[float, float]] = []
        for seam in shown:
            points = place(seam.path)
            if seam.is_oil_tight:
                sheet.polyline(points, weight=0.7)
            else:
                with sheet.dashed(2.0, 1.2):
                    sheet.polyline(points, weight=0.6)
        for seam in shown:
            cx, cy = _label_place(place(seam.path), taken)
            taken.append((cx, cy))
            words = str(number[seam.number]) if seam.number in number else "!"
            sheet.circle(cx, cy, 2.3, weight=0.3, fill=1.0)
            sheet.text(cx, cy - 0.95, words, 6.5, bold=True, align="middle")

    return draw


def _label_place(points: list[tuple[float, float]], taken: list[tuple[float, float]]) -> tuple[float, float]:
    """A place on the line, or beside it, that keeps clear of the numbers so far."""
    if len(points) > 2:
        anchors = [points[k * (len(points) - 1) // 8] for k in range(8)]
        away = (0.0, 1.0)
    else:
        (x1, y1), (x2, y2) = points[0], points[-1]
        length = max(1e-6, float(np.hypot(x2 - x1, y2 - y1)))
        away = (-(y2 - y1) / length, (x2 - x1) / length)
        shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
        anchors = [(x1 + s * (x2 - x1), y1 + s * (y2 - y1)) for s in shares]
    for off in (0.0, 5.0, -5.0, 9.0, -9.0):
        for px, py in anchors:
            spot = (px + off * away[0], py + off * away[1])
            if all(np.hypot(spot[0] - ox, spot[1] - oy) > 4.9 for ox, oy in taken):
                return spot
    return anchors[0]


# --- a strip a seam -----------------------------------------------------------------------------


def _setting(seam: Seam, filler: FillerPlan | None) -> str:
    """Current, amps and filler of a seam's pair; "" where they are not known."""
    if filler is None:
        return ""
    metals = [metal for metal in (seam.material_a, seam.material_b) if family_of(metal) is not None]
    thin, thick = sorted((seam.thickness_a, seam.thickness_b))
    for pair in filler.pairs:
        same = {pair.metal_a, pair.metal_b} == set(metals)
        if same and abs(pair.thin - thin) < 1e-5 and abs(pair.thick - thick) < 1e-5:
            if pair.choice is None:
                return "not welded: no filler is known"
            if pair.amps is None:
                return f"{pair.filler}, amps not known"
            low, high = pair.amps
            return f"{pair.current} {low:.0f} to {high:.0f} A to start with, {pair.filler}"
    return ""


def _strips(form: Form, job: Job, weld: WeldResult, plan: WeldPlan, filler: FillerPlan | None) -> None:
    seams = {seam.number: seam for seam in weld.seams}
    runs = {one.seam: one for one in plan.runs}
    number = turns(plan)
    side = {step.seam: step.side for step in plan.steps if step.seam is not None}
    form.caption("A strip a seam", follow=STRIP + 14.0)
    form.words(
        "T1, T2: tacks in their order. Arrows: runs in their order, each welded the way it points (stepped "
        "back)."
        " An arrow that begins or ends outside the strip is carried round the corner onto the seam named "
        "there.",
        8.5,
    )
    for one in plan.order:
        told = (_setting(seams[one], filler), strip_words(_families((seams[one],))))
        third = "; ".join(words for words in told if words)
        form.picture(STRIP, _strip(seams[one], runs[one], number, side[one], third, job.units))


def _strip(
    seam: Seam, runs: SeamRuns, number: dict[int, int], side: str, third: str, units: UnitSystem
) -> Callable[[Sheet, float, float, float, float], None]:
    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        top = y + height
        sheet.line(x, top, x + width, top, weight=0.08, grey=0.7)
        sheet.circle(x + 3.0, top - 4.0, 2.3, weight=0.3)
        sheet.text(x + 3.0, top - 4.95, str(number[seam.number]), 6.5, bold=True, align="middle")
        sheet.text(x + 7.0, top - 3.6, seam.where, 7.5, bold=True)
        kind = "tight" if seam.is_oil_tight else "stitched"
        metal = f"{write_length(seam.thickness_a, units, 1)} to {write_length(seam.thickness_b, units, 1)}"
        volume = f"{seam.fill_volume * 1e9:.0f} mm3 of weld metal"
        sheet.text(x + 7.0, top - 6.9, f"{side}, {kind}, {metal}, {volume}", 6.5)
        sheet.text(x + 7.0, top - 10.0, third, 6.5)
        stitches = 0 if seam.is_oil_tight else len(runs.runs)
        draw_symbol(sheet, seam, stitches, x + width - 31.0, top - 5.0)
        first, last = x + 24.0, x + width - 40.0
        line = y + 4.6

        def at(place: float) -> float:
            return first + min(1.06, max(-0.06, place / seam.length)) * (last - first)

        sheet.line(first, line, last, line, weight=0.5)
        for end, other in ((first, runs.round_start), (last, runs.round_end)):
            if seam.is_closed:
                continue
            sheet.line(end, line - 1.6, end, line + 1.6, weight=0.35)
            if other is not None and other in number:
                outer = end - 5.2 if end == first else end + 5.2
                sheet.text(outer, line - 3.6, f"onto {number[other]}", 5.5, align="middle")
        sheet.text(last + 25.0, line - 1.0, write_shop_length(seam.length, units), 7, align="middle")
        for order, tack in enumerate(runs.tacks, start=1):
            px = at(tack)
            sheet.polyline(
                [(px - 0.7, line - 0.7), (px + 0.7, line - 0.7), (px, line + 0.6)],
                close=True,
                weight=0.1,
                fill=0.0,
            )
            if len(runs.tacks) <= 17:
                sheet.text(px, line - 3.4, f"T{order}", 5.5, align="middle")
        for order, run in enumerate(runs.runs, start=1):
            a, b = at(run.start), at(run.end)
            if abs(a - b) < 0.8:
                continue
            sheet.arrow(a, line + 1.7, b, line + 1.7, weight=0.25, head=min(1.6, 0.6 * abs(a - b)))
            if len(runs.runs) <= 20:
                sheet.text(0.5 * (a + b), line + 2.3, str(order), 5.5, align="middle")

    return draw


__all__ = ["MAP_VIEWS", "sign_of", "turns", "weld_map_pdf"]
