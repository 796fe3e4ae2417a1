"""``results.json``: every number and finding, in the same words as the sheet."""

from __future__ import annotations

import hashlib
import json
import re
from typing import TYPE_CHECKING

from sumpwright.body import PanBody
from sumpwright.findings import Finding, worst
from sumpwright.job.model import Job, JobResults
from sumpwright.kit import SheetKit
from sumpwright.oil import OilResult
from sumpwright.oil.model import Drained
from sumpwright.outputs.cautions import caution
from sumpwright.outputs.cut_files import cut_file_names
from sumpwright.outputs.parts_list import part_mass, part_size
from sumpwright.outputs.plain_numbers import deg, litre_or_none, mm, mm_or_none, number, number_or_none, point
from sumpwright.outputs.plan import hole_off_by
from sumpwright.outputs.results_body import compartment_rows, opening_rows, room_part
from sumpwright.outputs.results_folds import fold_rows
from sumpwright.outputs.results_inside import alternative_rows, inside_part
from sumpwright.outputs.results_lands import lands_part
from sumpwright.outputs.results_motion import motion_part, suction_part
from sumpwright.outputs.results_nests import nest_rows, price_part
from sumpwright.outputs.results_old_pan import old_pan_part
from sumpwright.outputs.results_proof import proof_part
from sumpwright.outputs.results_seen import seen_rows
from sumpwright.outputs.results_weld import weld_part
from sumpwright.outputs.words import (
    UnitSystem,
    assumption_words,
    finding_words,
    printed_unit,
    proposal_words,
)
from sumpwright.quantities.measured import COVERAGE_95
from sumpwright.rail import RailResult
from sumpwright.tables.sources import sources

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows

SCHEMA = "sumpwright-results-1"
"""Name and version of the schema. A key that is added keeps it; a key that changes or goes raises it."""
_NUMBERS = re.compile(r"\[[-+.,\deE\s]*\]")  # a list of numbers stands on one line


def results_json(job: Job, results: JobResults) -> bytes:
    """The file's bytes: the same for the same results."""
    text = json.dumps(results_data(job, results), indent=1, ensure_ascii=False, allow_nan=False)
    one_line = _NUMBERS.sub(lambda match: " ".join(match.group(0).split()), text)
    return (one_line + "\n").encode()


def results_data(job: Job, results: JobResults) -> rows.Results:
    """Everything that stands in the file, as plain data."""
    findings = [_finding_row(finding, results, job.units) for finding in results.findings]
    named = [finding.source for finding in results.findings]
    named += [assumption.source for assumption in results.assumptions]
    return {
        "job": _job_part(job, results),
        "rail": None if results.rail is None else _rail_part(results.rail),
        "body": None if results.body is None else _body_part(results.body),
        "oil": None if results.oil is None else _oil_part(results.oil),
        "motion": None
        if results.motion is None
        else motion_part(results.motion, results.drive, results.free_surface),
        "suction": None if results.suction is None else suction_part(results.suction),
        "kit": None if results.kit is None else _kit_part(results.kit, job, results),
        "weld": None
        if results.weld is None
        else weld_part(results.weld, results.filler, results.bow, results.materials),
        "proof": None if results.proof is None else proof_part(job.proof, results.proof),
        "findings": findings,
        "sources": {
            name: {"title": sources()[name].title, "how": sources()[name].how}
            for name in sorted(set(named))
            if name in sources()
        },
        "versions": {"schema": SCHEMA, **dict(results.versions)},
    }


def has_cut_files(results: JobResults) -> bool:
    """A kit that its own rebuild refused, or that was never made, gives the cutter nothing."""
    return results.kit is not None and not results.kit.rebuild.refused


def _job_part(job: Job, results: JobResults) -> rows.JobPart:
    attitude = job.placement.attitude
    return {
        "name": job.name,
        "units": job.units,
        "paper": job.paper,
        "turned_left_deg": deg(attitude.turned_left),
        "nose_up_deg": deg(attitude.nose_up),
        "lean_right_deg": deg(attitude.lean_right),
        "datum_height_mm": mm_or_none(job.placement.datum_height),
        "shop": job.shop.name,
        "files": [
            {"file": name, "sha256": hashlib.sha256(content).hexdigest()} for name, content in job.texts
        ],
        "assumptions": [
            {
                "key": assumption.key,
                "says": assumption_words(assumption, job.units),
                "source": assumption.source,
            }
            for assumption in results.assumptions
        ],
        "verdict": worst([finding.verdict for finding in results.findings]).value,
        "cut_files": has_cut_files(results),
    }


def _rail_part(rail: RailResult) -> rows.RailPart:
    return {
        "holes": _hole_rows(rail),
        "covariance_mm2": []
        if rail.pattern is None
        else [[number(value * 1e6) for value in row] for row in rail.pattern.covariance],
        "readings": [
            {
                "line": check.reading.line,
                "kind": check.reading.kind,
                "a": check.reading.a,
                "b": check.reading.b,
                "with_hole": check.reading.with_hole,
                "value_mm": mm(check.reading.value),
                "u95_mm": mm(COVERAGE_95 * check.reading.u),
                "tool": check.reading.tool,
                "computed_mm": mm(check.computed),
                "residual_mm": mm(check.residual),
                "redundancy": number_or_none(check.redundancy),
                "normalised": number_or_none(check.normalised),
                "least_visible_error_mm": mm_or_none(check.least_visible_error),
                "set_aside": check.set_aside,
                "should_have_been_mm": mm_or_none(check.should_have_been),
                "should_have_been_u95_mm": None
                if check.should_have_been_u is None
                else mm_or_none(COVERAGE_95 * check.should_have_been_u),
            }
            for check in rail.checks
        ],
        "redundancy": rail.redundancy,
        "fit": number_or_none(rail.fit),
        "fit_range": None if rail.fit_range is None else [number(value) for value in rail.fit_range],
        "s0": number_or_none(rail.s0),
        "covariance_factor": number(rail.covariance_factor),
        "bolts": [
            {
                "hole": bolt.hole,
                "thread": bolt.thread,
                "is_stud": bolt.is_stud,
                "old_length_mm": mm_or_none(bolt.old_length),
                "old_engagement_mm": mm_or_none(bolt.old_engagement),
                "clamped_mm": mm(bolt.clamped),
                "needed_engagement_mm": mm(bolt.needed_engagement),
                "new_length_mm": mm_or_none(bolt.new_length),
                "new_engagement_mm": mm_or_none(bolt.new_engagement),
                "bottom_clearance_mm": mm_or_none(bolt.bottom_clearance),
            }
            for bolt in rail.bolts
        ],
        "cannot": [{"what": what, "cure": cure} for what, cure in rail.cannot],
        "seen": seen_rows(rail),
    }


def _hole_rows(rail: RailResult) -> list[rows.HoleRow]:
    pattern = rail.pattern
    if pattern is None:
        return []
    out: list[rows.HoleRow] = []
    for k, name in enumerate(pattern.names):
        floating, fixed = hole_off_by(pattern, k), hole_off_by(pattern, k, floating=False)
        edge, fastener = pattern.edge_diameters[k], pattern.fasteners[k]
        out.append(
            {
                "name": name,
                "kind": fastener.kind,
                "thread": fastener.thread,
                "land": pattern.land_of_hole[k],
                "x_mm": mm(pattern.xy[k, 0]),
                "y_mm": mm(pattern.xy[k, 1]),
                "off_by_long_mm": mm(floating.long),
                "off_by_short_mm": mm(floating.short),
                "off_by_turn_deg": deg(floating.turn),
                "off_from_datum_long_mm": mm(fixed.long),
                "edge_diameter_mm": None if edge is None else mm_or_none(edge.value),
                "edge_diameter_u95_mm": None if edge is None else mm_or_none(edge.u95),
            }
        )
    return out


def _body_part(body: PanBody) -> rows.BodyPart:
    cavity = body.cavity
    names = {} if cavity is None else {face.index: face.name for face in cavity.faces}
    return {
        "volume_l": None if cavity is None else number_or_none(cavity.volume * 1e3),
        "vertices_mm": [] if cavity is None else [point(vertex) for vertex in cavity.vertices],
        "faces": []
        if cavity is None
        else [
            {
                "name": face.name,
                "role": face.role,
                "lump": face.lump,
                "normal": [number(value) for value in face.plane.normal],
                "offset_mm": mm(face.plane.offset),
                "area_mm2": number(face.area * 1e6),
                "loops": [[int(vertex) for vertex in loop] for loop in face.loops],
            }
            for face in cavity.faces
        ],
        "edges": []
        if cavity is None
        else [
            {
                "face_a": names[edge.face_a],
                "face_b": names[edge.face_b],
                "start": int(edge.start),
                "end": int(edge.end),
                "length_mm": mm(edge.length),
                "corner_angle_deg": deg(edge.corner_angle),
                "is_inward": bool(edge.is_inward),
            }
            for edge in cavity.edges
        ],
        "lumps": []
        if cavity is None
        else [{"lump": name, "volume_l": number(volume * 1e3)} for name, volume in cavity.lump_volumes],
        "compartments": [] if body.division is None else compartment_rows(body.division),
        "openings": [] if body.division is None else opening_rows(body.division),
        "room": None if body.fit is None else room_part(body.fit),
        "too_small": [
            {
                "rule": breach.rule,
                "where": breach.where,
                "value": number(breach.value),
                "limit": number(breach.limit),
                "unit": breach.unit,
                "place_mm": point(breach.place),
                "cure": breach.cure,
            }
            for breach in body.gate
        ],
        "cannot": [{"what": what, "cure": cure} for what, cure in body.trouble],
    }


def _oil_part(oil: OilResult) -> rows.OilPart:
    return {
        "capacity_l": number(oil.capacity_to_rail * 1e3),
        "whole_volume_l": number(oil.whole_volume * 1e3),
        "level_full_mm": mm_or_none(oil.level_full),
        "level_low_mm": mm_or_none(oil.level_low),
        "level_running_mm": mm_or_none(oil.level_running),
        "level_poured_mm": mm_or_none(oil.level_poured),
        "level_rail_mm": mm_or_none(oil.level_rail),
        "level_deepest_mm": mm_or_none(oil.level_deepest),
        "volume_full_l": litre_or_none(oil.volume_full),
        "volume_low_l": litre_or_none(oil.volume_low),
        "hold_up_least_l": None if oil.hold_up is None else litre_or_none(oil.hold_up.hold_up_least),
        "hold_up_most_l": None if oil.hold_up is None else litre_or_none(oil.hold_up.hold_up_most),
        "mouth_cover_mm": mm_or_none(oil.mouth_cover),
        "balance_l": litre_or_none(oil.balance_gap),
        "old_pan": None if oil.old_pan is None else old_pan_part(oil.old_pan),
        "stick_mm_per_l": number_or_none(oil.stick_mm_per_litre),  # m per m3 is mm per litre
        "marks": [
            {
                "name": mark.name,
                "volume_l": number(mark.volume * 1e3),
                "from_stop_mm": mm_or_none(mark.from_stop),
                "from_tip_mm": mm_or_none(mark.from_tip),
                "trouble": mark.trouble,
            }
            for mark in oil.marks
        ],
        "slopes": [
            {
                "nose_up_deg": deg(row.nose_up),
                "lean_right_deg": deg(row.lean_right),
                "shift_mm": mm_or_none(row.shift),
            }
            for row in (() if oil.stick_truth is None else oil.stick_truth.slopes)
        ],
        "drained": [_drained_row(row) for row in oil.drained],
        "heights": [
            {
                "name": row.name,
                "kind": row.kind,
                "oil_volume_l": number(row.oil_volume * 1e3),
                "height_left_mm": mm(row.height_left),
                "place_mm": point(row.place),
            }
            for row in oil.heights
        ],
        "extractions": [
            {
                "name": row.name,
                "end_mm": point(row.end),
                "left_l": litre_or_none(row.left_behind),
                "off_floor_mm": mm_or_none(row.off_floor),
            }
            for row in oil.extractions
        ],
        "sensors": [
            {
                "name": row.name,
                "switches_at_l": number(row.switches_at * 1e3),
                "under_low_l": litre_or_none(row.under_low),
                "under_low_running_l": litre_or_none(row.under_low_running),
                "over_mouth_mm": mm_or_none(row.over_mouth),
            }
            for row in oil.sensors
        ],
        "table": [
            {
                "depth_mm": mm(row.depth_at_deepest),
                "below_rail_mm": mm(row.below_rail),
                "volume_l": number(row.volume * 1e3),
            }
            for row in oil.table
        ],
    }


def _drained_row(row: Drained) -> rows.DrainedRow:
    return {
        "words": row.words,
        "nose_up_deg": deg(row.nose_up),
        "lean_right_deg": deg(row.lean_right),
        "left_l": number(row.left_behind * 1e3),
        "pools": [
            {
                "face": pool.face,
                "runs_to": pool.runs_to,
                "depth_mm": mm(pool.pool_depth),
                "volume_l": number(pool.pool_volume * 1e3),
                "deepest_mm": point(pool.deepest),
                "crest_mm": point(pool.crest),
                "cure_fall_deg": None if pool.cure_fall is None else deg(pool.cure_fall),
            }
            for pool in row.pools
        ],
    }


def _kit_part(kit: SheetKit, job: Job, results: JobResults) -> rows.KitPart:
    inputs, rebuild = job.kit, kit.rebuild
    parts: list[rows.PartRow] = []
    for part, file in zip(kit.parts, cut_file_names(kit.parts), strict=True):
        length, width = part_size(part)
        parts.append(
            {
                "name": part.name,
                "file": None if rebuild.refused else f"cut/{file}",
                "material": part.material,
                "thickness_mm": mm(part.thickness),
                "quantity": part.quantity,
                "length_mm": mm(length),
                "width_mm": mm(width),
                "mass_kg": number(part_mass(part, inputs)),
                "holes": [
                    {
                        "name": hole.label,
                        "x_mm": mm(hole.x),
                        "y_mm": mm(hole.y),
                        "diameter_mm": mm(hole.diameter),
                    }
                    for hole in part.holes
                ],
                "origin_mm": point(part.frame.origin),
                "x_axis": [number(value) for value in part.frame.x_axis],
                "y_axis": [number(value) for value in part.frame.y_axis],
                "note": part.note,
                "folds": fold_rows(part),
            }
        )
    return {
        "parts": parts,
        "joints": [
            {
                "part_a": joint.part_a,
                "part_b": joint.part_b,
                "kind": joint.kind,
                "corner_angle_deg": deg(joint.corner_angle),
                "length_mm": mm(joint.length),
                "groove_angle_deg": None if joint.groove_angle is None else deg(joint.groove_angle),
                "fill_area_mm2": None if joint.fill_area is None else number(joint.fill_area * 1e6),
                "start_mm": point(joint.start),
                "end_mm": point(joint.end),
            }
            for joint in kit.joints
        ],
        "rebuild": {
            "worst_gap_mm": mm_or_none(rebuild.worst_gap),
            "overlap_mm3": number_or_none(rebuild.overlap * 1e9),
            "intrusion_mm3": number_or_none(rebuild.intrusion * 1e9),
            "rays": rebuild.rays,
            "escapes": rebuild.escapes,
            "refused": rebuild.refused,
            "why": rebuild.why,
            "gaps": [
                {
                    "kind": gap.kind,
                    "where": gap.where,
                    "size": number(gap.size * (1e9 if gap.kind in _VOLUMES else 1e3)),
                    "limit": number(gap.limit * (1e9 if gap.kind in _VOLUMES else 1e3)),
                    "unit": "mm3" if gap.kind in _VOLUMES else "mm",
                    "place_mm": point(gap.place),
                }
                for gap in rebuild.gaps
            ],
        },
        "flange_holes": [
            {
                "hole": hole.hole,
                "diameter_mm": mm(hole.diameter),
                "standard_clearance_mm": mm(hole.standard_clearance),
                "from_measuring_mm": mm(hole.from_measuring),
                "from_cutter_mm": mm(hole.from_cutter),
                "from_heat_mm": mm(hole.from_heat),
                "needed_mm": mm(hole.needed),
            }
            for hole in kit.flange_holes
        ],
        "anchor_mm": [mm(value) for value in kit.anchor],
        "mass_kg": number(kit.mass),
        "weld_length_mm": mm(kit.weld_length),
        "nests": nest_rows(kit),
        "not_nested": []
        if kit.nests is None
        else [{"part": one.part, "why": one.why} for one in kit.nests.left_over],
        "price": None if kit.price is None else price_part(kit.price),
        "inside": None if kit.internals is None else inside_part(kit.internals, job.units),
        "alternatives": alternative_rows(results.alternatives),
        "lands": None if kit.lands is None else lands_part(kit),
    }


_VOLUMES = ("overlap", "intrusion")


def _finding_row(finding: Finding, results: JobResults, units: UnitSystem) -> rows.FindingRow:
    said = finding_words(finding, units)
    unit = printed_unit(finding.kind, finding.unit, "mm")
    return {
        "code": finding.code,
        "verdict": finding.verdict.value,
        "where": finding.where,
        "says": said.says,
        "value": None if finding.value is None else number_or_none(unit.number(finding.value)),
        "limit": None if finding.limit is None else number_or_none(unit.number(finding.limit)),
        "unit": unit.label,
        "u95": None if finding.u95 is None else number_or_none(unit.spread(finding.u95)),
        "how_sure": said.how_sure,
        "do": said.do,
        "source": finding.source,
        "place_mm": None if finding.place is None else point(finding.place),
        "cautions": [caution(key) for key in finding.cautions],
        "proposals": [
            {
                "key": proposal.target,
                "value": proposal.value,
                "says": proposal_words(proposal, units),
            }
            for proposal in results.proposals
            if proposal.code == finding.code
        ],
    }
