"""The same pan in every sheet metal, side by side: price, mass, movement, dents, corrosion, welding.

Each metal is a change of the job file, read again and worked out anew by kit, filler and
movement. Steel is taken thinner than aluminium, as pans are made: the sheet nearest to two
thirds of it among usual stock.
"""

from __future__ import annotations

from dataclasses import replace

from sumpwright.findings import SEVERITY, Finding, Verdict
from sumpwright.flow.alternatives import with_stand_in_prices
from sumpwright.flow.changes import Change, changed_text
from sumpwright.flow.memory import Memory
from sumpwright.flow.sequence import run
from sumpwright.job.faults import JobError
from sumpwright.job.model import Job, JobResults, MaterialChoice
from sumpwright.kit import SheetKit
from sumpwright.kit.internals_model import RUBBER
from sumpwright.kit.nest_model import MetalPrice, Rates
from sumpwright.kit.price import price_of
from sumpwright.quantities.units import Metre
from sumpwright.tables.material_choice import metal_in_use
from sumpwright.tables.materials import Material, find_material, materials, usual_flange_thickness
from sumpwright.weld.bow_model import BowResult
from sumpwright.weld.material_choice_formulas import dent_load, tearing_work

USUAL_SHEET: tuple[Metre, ...] = (0.001, 0.0012, 0.0015, 0.002, 0.0025, 0.003, 0.004, 0.005, 0.006)
STEEL_FOR_ALUMINIUM = 2.0 / 3.0
"""Steel sheet against aluminium sheet of the same pan: common practice."""

CLASSES: tuple[tuple[str, Metre], ...] = (("A", 0.0001), ("B", 0.0005), ("C", 0.0010))
"""Distortion class by the far end of how far the flange comes off the plate; D beyond the last."""

COARSE: Metre = 0.022
"""Cell for comparing: the bow changes by less than a tenth against the finer one."""


def material_choices(
    job: Job,
    results: JobResults,
    memory: Memory | None = None,
    found: tuple[MaterialChoice, ...] | None = None,
) -> tuple[MaterialChoice, ...]:
    """The job's own metal first, then every other sheet metal; nothing without a kit.

    ``found`` are the rows where they are worked out already.
    """
    if results.kit is None or not results.kit.parts:
        return ()
    return in_every_metal(job, memory) if found is None else found


def in_every_metal(job: Job, memory: Memory | None = None) -> tuple[MaterialChoice, ...]:
    """A row for the job's own metal and for every other sheet metal; nothing where no weld is planned."""
    if job.bow is None:
        return ()
    memory = Memory() if memory is None else memory
    own = find_material(job.kit.material)
    found = []
    for metal in sorted(materials(), key=lambda one: own is not None and one.id != own.id):
        if metal.is_sheet and own is not None and metal_in_use(metal.id) is not None:
            found.append(_tried(job, metal, own, memory))
    return tuple(found)


def distortion_class(most: Metre) -> str:
    """A: no facing with liquid sealant; B: up to half a millimetre; C: up to one; D: more."""
    return next((name for name, limit in CLASSES if most <= limit), "D")


def sheet_for(metal: Material, own: Material, thickness: Metre) -> Metre:
    """The sheet in which a pan of another metal would be made."""
    if (metal.family == "aluminium") == (own.family == "aluminium"):
        return thickness
    share = STEEL_FOR_ALUMINIUM if own.family == "aluminium" else 1.0 / STEEL_FOR_ALUMINIUM
    return min(USUAL_SHEET, key=lambda one: (abs(one - share * thickness), -one))


def _tried(job: Job, metal: Material, own: Material, memory: Memory) -> MaterialChoice:
    from sumpwright.job import reread_job

    sheet = sheet_for(metal, own, job.body.sheet)
    usual = usual_flange_thickness(metal.family)
    flange = job.body.flange_thickness
    if usual is not None and metal.id != own.id:
        flange = min(max(flange, usual.least), usual.most)
    changes: tuple[Change, ...] = ()
    if metal.id != own.id:
        changes = (
            Change("pan.material", metal.id),
            Change("pan.flange_material", metal.id),
            Change("pan.sheet", f"{sheet * 1e3:g} mm"),
            Change("pan.flange", f"{flange * 1e3:g} mm"),
        )
    told = tuple((change.target, change.value) for change in changes)
    text = next(raw.decode("utf-8-sig") for name, raw in job.texts if name == job.job_file.name)
    for change in changes:
        text = changed_text(text, change)
    row = MaterialChoice(metal.id, sheet, flange, told)
    try:
        changed = reread_job(job, text) if changes else job
    except JobError as trouble:
        return replace(row, why_not=trouble.faults[0].rule)
    assert changed.bow is not None
    plain = replace(
        changed,
        kit=replace(changed.kit, etched=False, nests=False),
        bow=replace(changed.bow, cell=COARSE),
    )
    results = run(plain, ("kit", "filler", "bow"), memory=memory)
    if results.kit is None or not results.kit.parts:
        why = "no kit came of it" if results.kit is None else results.kit.rebuild.why
        return replace(row, why_not=why)
    return _filled(row, plain, metal, results.kit, results.bow, results.findings)


def _with_ratio(rates: Rates, metal: Material, sheet: Metre) -> tuple[Rates, tuple[str, ...]]:
    """Rates that price a metal the shop does not list by the usual ratio to one that it lists."""
    if any(one.material == metal.id and one.sheet is not None for one in rates.metals):
        return rates, ()
    for one in rates.metals:
        listed = find_material(one.material)
        if one.sheet is None or listed is None or listed.relative_cost is None or metal.relative_cost is None:
            continue
        price = one.sheet * metal.relative_cost.value / listed.relative_cost.value
        guess = MetalPrice(metal.id, sheet, price, True)
        note = f"{metal.id} is not in the stock list: priced by its usual ratio to {listed.id}"
        return replace(rates, metals=(*rates.metals, guess)), (note,)
    return rates, ()


def _filled(
    row: MaterialChoice,
    job: Job,
    metal: Material,
    kit: SheetKit,
    bow: BowResult | None,
    findings: tuple[Finding, ...],
) -> MaterialChoice:
    use = metal_in_use(metal.id)
    assert use is not None
    price = None
    notes: tuple[str, ...] = ()
    if job.kit.rates is not None:
        cut = tuple(part for part in kit.parts if part.material != RUBBER)
        known, guessed = _with_ratio(job.kit.rates, metal, row.sheet)
        rates, notes = with_stand_in_prices(known, cut)
        notes = (*guessed, *notes)
        price = price_of(job.kit, rates, cut, kit.joints, None)
    moves = None if bow is None or bow.trouble else bow.released
    said = [
        f for f in findings if f.code in ("WELD-50", "WELD-51", "WELD-52", "WELD-53", "WELD-54", "WELD-56")
    ]
    worst = max(said, key=lambda f: SEVERITY[f.verdict], default=None)
    return replace(
        row,
        price=price,
        notes=notes,
        mass=kit.mass,
        slip=max((hole.from_heat for hole in kit.flange_holes), default=0.0),
        dent=None if metal.yield_strength is None else dent_load(metal.yield_strength.value, row.sheet),
        tearing=tearing_work(use.tensile_strength.value, use.elongation.value, row.sheet),
        moves=moves,
        distortion="" if moves is None else distortion_class(moves[1]),
        welding=Verdict.CANNOT_SAY if worst is None else worst.verdict,
        welding_findings=tuple(f for f in said if f.verdict is not Verdict.HOLDS),
        refused=kit.rebuild.refused,
        fails=tuple(
            dict.fromkeys(
                f"{f.code} {f.where}"
                for f in findings
                if f.verdict is Verdict.FAILS and f.code.startswith(("BODY-", "KIT-"))
            )
        ),
    )
