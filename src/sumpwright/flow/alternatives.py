"""The same pan made another way, side by side: flange in segments, other sheet, another metal.

Every alternative is a change of the job file's text in memory, read again with all its rules
and built up again by the kit stage. Parts are neither etched nor nested for it: sheet is
counted by the box round each part, in the job's own row as well, so that rows compare.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sumpwright.findings import Verdict
from sumpwright.flow.changes import Change, changed_text
from sumpwright.flow.memory import Memory
from sumpwright.flow.sequence import run
from sumpwright.job.faults import JobError
from sumpwright.job.model import Alternative, Job, JobResults
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.internals_model import RUBBER
from sumpwright.kit.nest_model import MetalPrice, Price, Rates
from sumpwright.kit.price import price_of
from sumpwright.quantities.units import Metre

THICKNESSES: tuple[Metre, ...] = (0.002, 0.003)
"""Tried beside the job's own: what most pans are made of."""

MOST = 4
"""So many alternatives are worked out for a pack."""


@dataclass(frozen=True, slots=True)
class _Way:
    name: str
    changes: tuple[Change, ...]
    without_folder: bool = False  # a choice of the shop's machines, not of the job file


def alternatives(
    job: Job,
    results: JobResults,
    memory: Memory | None = None,
    others: tuple[Alternative, ...] | None = None,
) -> tuple[Alternative, ...]:
    """The job as it stands, then each other way; nothing where there is no kit to compare with.

    ``others`` are the other ways where they are worked out already.
    """
    if results.kit is None or not results.kit.parts:
        return ()
    itself = _row("as the job says", (), job, results.kit, results)
    return (itself, *(other_ways(job, memory) if others is None else others))


def other_ways(job: Job, memory: Memory | None = None) -> tuple[Alternative, ...]:
    """Each other way to make the pan of this job, without the job itself."""
    memory = Memory() if memory is None else memory
    return tuple(_tried(job, way, memory) for way in _ways(job)[:MOST])


def _ways(job: Job) -> list[_Way]:
    """What to try for this job, the most asked first."""
    in_segments = job.kit.flange_in_segments
    ways = [
        _Way(
            "flange whole" if in_segments else "flange in segments",
            (Change("cutting.flange_in_segments", "false" if in_segments else "true"),),
        )
    ]
    if job.kit.folder is not None:
        ways.append(_Way("nothing bent, all welded", (), True))
    for thickness in THICKNESSES:
        if abs(thickness - job.body.sheet) > 2e-4:
            ways.append(_Way(f"{_mm(thickness)} sheet", (Change("pan.sheet", _mm(thickness)),)))
    ways += [_metal_way(material, thickness) for material, thickness in _other_metals(job)]
    return ways


def _other_metals(job: Job) -> list[tuple[str, Metre]]:
    """Other metals of the shop's stock, each in the thickness nearest to the job's own."""
    listed: dict[str, Metre] = {}
    for line in job.shop.stock:
        if line.material == job.kit.material or line.thickness > 2.0 * job.body.sheet:
            continue
        best = listed.get(line.material)
        if best is None or abs(line.thickness - job.body.sheet) < abs(best - job.body.sheet):
            listed[line.material] = line.thickness
    return list(listed.items())


def _metal_way(material: str, thickness: Metre) -> _Way:
    return _Way(
        f"{material}, {_mm(thickness)} sheet",
        (
            Change("pan.material", material),
            Change("pan.flange_material", material),
            Change("pan.sheet", _mm(thickness)),
        ),
    )


def _tried(job: Job, way: _Way, memory: Memory) -> Alternative:
    """One way worked out; what the job's rules refuse is said in its row."""
    from sumpwright.job import reread_job

    text = next(raw.decode("utf-8-sig") for name, raw in job.texts if name == job.job_file.name)
    for change in way.changes:
        text = changed_text(text, change)
    told = tuple((change.target, change.value) for change in way.changes)
    if way.without_folder:
        told = (*told, ("folder", "not used"))
    try:
        changed = reread_job(job, text)
    except JobError as trouble:
        return Alternative(way.name, told, why_not=trouble.faults[0].rule)
    kit = replace(changed.kit, etched=False, nests=False)
    plain = replace(changed, kit=replace(kit, folder=None) if way.without_folder else kit)
    results = run(plain, ("kit",), memory=memory)
    if results.kit is None or not results.kit.parts:
        why = "no kit came of it" if results.kit is None else results.kit.rebuild.why
        return Alternative(way.name, told, why_not=why)
    return _row(way.name, told, plain, results.kit, results)


def _row(
    name: str, told: tuple[tuple[str, str], ...], job: Job, kit: SheetKit, results: JobResults
) -> Alternative:
    price, notes = price_by_boxes(job, kit)
    return Alternative(
        name=name,
        changes=told,
        price=price,
        mass=kit.mass,
        weld_length=kit.weld_length,
        parts=sum(part.quantity for part in kit.parts),
        bends=sum(joint.kind == "bend" for joint in kit.joints),
        refused=kit.rebuild.refused,
        notes=notes,
        fails=tuple(
            dict.fromkeys(
                f"{finding.code} {finding.where}"
                for finding in results.findings
                if finding.verdict is Verdict.FAILS and finding.code.startswith(("BODY-", "KIT-"))
            )
        ),
    )


def price_by_boxes(job: Job, kit: SheetKit) -> tuple[Price | None, tuple[str, ...]]:
    """Price with sheet counted by the box round each part, so that kits compare; notes on what stands in.

    None where the shop file has no rates.
    """
    if job.kit.rates is None:
        return None, ()
    metal = tuple(part for part in kit.parts if part.material != RUBBER)
    rates, notes = with_stand_in_prices(job.kit.rates, metal)
    return price_of(job.kit, rates, metal, kit.joints, None), notes


def with_stand_in_prices(rates: Rates, parts: tuple[FlatPart, ...]) -> tuple[Rates, tuple[str, ...]]:
    """Rates that price sheet the shop does not list by the kilogram of the same metal, and a note of each."""
    more: list[MetalPrice] = []
    notes: list[str] = []
    for material, thickness in dict.fromkeys((part.material, round(part.thickness, 6)) for part in parts):
        same = [metal for metal in rates.metals if metal.material == material and metal.sheet is not None]
        if not same or any(abs(metal.thickness - thickness) < 5e-5 for metal in same):
            continue
        nearest = min(same, key=lambda metal: (abs(metal.thickness - thickness), metal.thickness))
        more.append(replace(nearest, thickness=thickness, cut=None, pierce=None))
        notes.append(f"sheet of {material} priced by the kilogram of another thickness")
    return replace(rates, metals=(*rates.metals, *more)), tuple(dict.fromkeys(notes))


def _mm(length: Metre) -> str:
    """A length as it stands in a job file."""
    return f"{length * 1e3:g} mm"
