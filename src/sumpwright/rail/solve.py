"""Readings in, hole pattern with its uncertainty out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from sumpwright.quantities import Measured
from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.rail.bolts import bolt_lines
from sumpwright.rail.faults import Cannot, cannot_start, joined, undetermined
from sumpwright.rail.formulas import agreement_range, least_visible_error, unit_weight
from sumpwright.rail.lands import land_joints, land_shapes, shaped_lands
from sumpwright.rail.model import (
    BoltLine,
    HolePattern,
    MirrorSide,
    RailInputs,
    RailResult,
    Reading,
    ReadingCheck,
)
from sumpwright.rail.network import GIVEN, Network, build_network
from sumpwright.rail.next_reading import next_readings
from sumpwright.rail.repeats import repeat_spreads, widened
from sumpwright.rail.scan_model import SeenRail
from sumpwright.rail.seen import caliper_inputs, known_holes, scaled_by, see_all, with_seen
from sumpwright.rail.shape import Datum, first_shape
from sumpwright.rail.slips import looks_like
from sumpwright.rail.suspects import LEAST_REDUNDANCY, Sifted, sift
from sumpwright.rail.two_shapes import second_shape
from sumpwright.rail.uncertainty import floating_covariance

_FLAT_ROW = 0.005
"""Width against length below which all holes count as lying in one line."""


def solve(inputs: RailInputs) -> RailResult:
    """Adjust the readings, sift out bad ones, place the pattern in the engine frame."""
    bolts = bolt_lines(inputs)
    seen = _seen(inputs)
    inputs = with_seen(inputs, seen)
    cannot = list(cannot_start(inputs))
    if cannot:
        return replace(_nothing(cannot, bolts), seen=seen)
    spreads = repeat_spreads(inputs.readings)
    shapes = land_shapes(inputs)
    as_used = replace(inputs, readings=widened(inputs.readings, spreads), lands=shaped_lands(inputs, shapes))
    result = _adjusted(as_used, bolts)
    return replace(
        result,
        repeats=spreads,
        land_shapes=shapes,
        land_joints=land_joints(as_used),
        seen=scaled_by(seen, result.pattern),
    )


def _seen(inputs: RailInputs) -> tuple[SeenRail, ...]:
    """Scans and pictures, read against the holes that the readings by hand place by themselves."""
    if not inputs.scans and not inputs.pictures:
        return ()
    by_hand = caliper_inputs(inputs)
    pattern = None
    if by_hand is not None and not cannot_start(by_hand):
        pattern = _adjusted(by_hand, ()).pattern
    return see_all(inputs, known_holes(inputs, pattern))


def _adjusted(inputs: RailInputs, bolts: tuple[BoltLine, ...]) -> RailResult:
    cannot: list[Cannot] = []
    names = tuple(hole.name for hole in inputs.holes)
    network = build_network(inputs)
    datum = Datum(names.index(inputs.datum), names.index(inputs.second))
    unknowns, is_wild = first_shape(network, datum)
    n = network.hole_count
    J = network.jacobian(unknowns)
    rank, loose = undetermined(network, J, unknowns, datum, names)
    if loose:
        return _nothing(loose, bolts)
    xy = unknowns[: 2 * n].reshape(n, 2)
    spread = np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False)
    if spread[1] < _FLAT_ROW * spread[0]:
        return _nothing(
            [
                (
                    "all holes that were read lie in one line, so nothing holds them sideways",
                    "readings from two of them to a hole well off the line",
                )
            ],
            bolts,
        )
    sifted = sift(network, unknowns, datum, is_wild=is_wild)
    if not sifted.fit.has_converged or not np.all(np.isfinite(sifted.unknowns)):
        return _nothing(
            [
                (
                    "the readings do not settle into one shape",
                    "read the longest distances again and write down which holes they join",
                )
            ],
            bolts,
        )
    other = second_shape(network, sifted.unknowns, datum, sifted)
    if other is not None:
        cannot.append(
            (
                f"the readings fit two shapes: {joined(tuple(names[k] for k in other.moved))} could lie in "
                "two places",
                f"a reading {names[other.a]} to {names[other.b]}, which tells the two apart",
            )
        )
    redundancy = int((network.read_rows() & ~sifted.dropped).sum()) - rank
    checks, groups = reading_checks(inputs, network, sifted)
    total = _weighted_sum(network, sifted)
    fit_range = agreement_range(redundancy) if redundancy > 0 else None
    factor = 1.0
    if fit_range is not None and total > fit_range[1]:
        factor = total / redundancy
    rows = check_rows(network, sifted)
    nexts = tuple(
        replace(tip, checks=tuple(rows.index(row) for row in tip.checks))
        for tip in next_readings(network, sifted, datum, factor, names)
    )
    placed = _placed(inputs, network, sifted, datum, factor, cannot)
    return RailResult(
        pattern=placed,
        cannot=tuple(cannot),
        checks=checks,
        redundancy=redundancy,
        fit=total if redundancy > 0 else None,
        fit_range=fit_range,
        s0=unit_weight(total, redundancy) if redundancy > 0 else None,
        covariance_factor=factor,
        bolts=bolts,
        not_told_apart=groups,
        next_readings=nexts,
    )


def _nothing(cannot: list[Cannot], bolts: tuple[BoltLine, ...]) -> RailResult:
    return RailResult(None, tuple(cannot), (), 0, None, None, None, 1.0, bolts)


def _weighted_sum(network: Network, sifted: Sifted) -> float:
    """Sum over the rows that tell something; loose diameters have no say."""
    w = np.where(network.read_rows(), sifted.weights, 0.0)
    return float(np.sum(w * sifted.fit.residual**2))


def check_rows(network: Network, sifted: Sifted) -> list[int]:
    """Rows in the order of the checks: the readings as filed, then given diameters under suspicion."""
    read = np.nonzero(network.source >= 0)[0]
    read = read[np.argsort(network.source[read], kind="stable")]
    suspects = (*(r.row for r in sifted.removed), *sifted.not_told_apart)
    return [*read.tolist(), *(row for row in suspects if network.source[row] == GIVEN)]


def reading_checks(
    inputs: RailInputs, network: Network, sifted: Sifted
) -> tuple[tuple[ReadingCheck, ...], tuple[tuple[int, ...], ...]]:
    """One check a reading, in the file's order, then any given diameter that was set aside."""
    names = [hole.name for hole in inputs.holes]
    removed = {r.row: r for r in sifted.removed}
    # Said as the tool would have shown it.
    computed = network.computed(sifted.unknowns) / network.scale
    read = network.value / network.scale
    rows = check_rows(network, sifted)
    diameters = _edge_diameters(network, sifted)
    xy = sifted.unknowns[: 2 * network.hole_count].reshape(-1, 2)
    checks = []
    for row in rows:
        source = int(network.source[row])
        reading = (
            inputs.readings[source]
            if source >= 0
            else Reading(
                0,
                "diameter",
                names[int(network.about_hole[row])],
                None,
                float(network.value[row]),
                "job file",
                float(network.u[row]),
                True,
            )
        )
        out = removed.get(row)
        share = out.redundancy if out else float(sifted.cofactors.redundancy[row])
        share = min(max(share, 0.0), 1.0)
        w = out.normalised if out else float(sifted.normalised[row])
        should_u = _predicted_u(network, sifted, row) if out else None
        slips: tuple[str, ...] = ()
        if should_u is not None:
            both = math.hypot(should_u, reading.u)
            slips = looks_like(reading, float(computed[row]), both, inputs.holes, xy, diameters)
        checks.append(
            ReadingCheck(
                reading=reading,
                computed=float(computed[row]),
                residual=float(computed[row] - read[row]),
                redundancy=share,
                normalised=None if math.isnan(w) else w,
                least_visible_error=(
                    least_visible_error(reading.u, share) if share >= LEAST_REDUNDANCY else None
                ),
                set_aside=out is not None,
                should_have_been=float(computed[row]) if out else None,
                should_have_been_u=should_u,
                rivals=tuple(rows.index(k) for k in out.rivals) if out else (),
                looks_like=slips,
            )
        )
    groups = (tuple(rows.index(k) for k in sifted.not_told_apart),) if sifted.not_told_apart else ()
    return tuple(checks), groups


def _edge_diameters(network: Network, sifted: Sifted) -> FloatArray:
    """Every hole's edge diameter as adjusted, or its first guess where no edge was read, (n,) [m]."""
    has = network.diameter_column >= 0
    out = network.diameter_start.copy()
    out[has] = sifted.unknowns[network.diameter_column[has]]
    return out


def _predicted_u(network: Network, sifted: Sifted, row: int) -> float:
    a = sifted.fit.jacobian[row]
    return math.sqrt(max(float(a @ sifted.cofactors.unknowns @ a), 0.0))


def _placed(
    inputs: RailInputs,
    network: Network,
    sifted: Sifted,
    datum: Datum,
    factor: float,
    cannot: list[Cannot],
) -> HolePattern | None:
    """The shape in the engine frame, or None with the missing key added to ``cannot``."""
    n = network.hole_count
    names = tuple(hole.name for hole in inputs.holes)
    free = datum.free(network)
    covariance = np.zeros((network.unknown_count, network.unknown_count))
    covariance[np.ix_(free, free)] = factor * sifted.cofactors.unknowns
    xy = sifted.unknowns[: 2 * n].reshape(n, 2)
    is_mirrored = _mirror(inputs.mirror, names, xy, covariance, datum, cannot)
    if inputs.bearing_left is None:
        cannot.append(
            (
                f"which way the line {inputs.datum} to {inputs.second} points is not given",
                "rail.bearing_left or rail.bearing_right, counted from the engine's front",
            )
        )
    if cannot or is_mirrored is None or inputs.bearing_left is None:
        return None
    c, s = math.cos(inputs.bearing_left), math.sin(inputs.bearing_left)
    turn = np.array([[c, -s], [s, c]]) @ np.diag([1.0, -1.0 if is_mirrored else 1.0])
    placed = xy @ turn.T
    spread = np.kron(np.eye(n), turn)
    fixed = spread @ covariance[: 2 * n, : 2 * n] @ spread.T
    return HolePattern(
        names=names,
        xy=frozen_array(placed),
        covariance=frozen_array(_even(fixed)),
        free_covariance=frozen_array(_even(floating_covariance(placed, fixed))),
        fasteners=tuple(hole.fastener for hole in inputs.holes),
        edge_diameters=_diameters(inputs, network, sifted, covariance),
        lands=inputs.lands,
        land_of_hole=tuple(hole.land for hole in inputs.holes),
    )


def _even(covariance: FloatArray) -> FloatArray:
    return np.asarray((covariance + covariance.T) / 2.0)


def _mirror(
    mirror: MirrorSide | None,
    names: tuple[str, ...],
    xy: FloatArray,
    covariance: FloatArray,
    datum: Datum,
    cannot: list[Cannot],
) -> bool | None:
    """Whether the shape must be turned over so that its named hole lies on its named side."""
    farthest = names[int(np.argmax(np.abs(xy[:, 1])))]
    if mirror is None:
        cannot.append(
            (
                "readings alone cannot tell the rail from its mirror image",
                f'rail.side_hole (say "{farthest}"), rail.side ("left" or "right" of the line '
                f"{names[datum.hole]} to {names[datum.second]}) and rail.seen_from",
            )
        )
        return None
    if mirror.hole not in names:
        cannot.append((f"the side is told by {mirror.hole}, which is no hole of the rail", "rail.side_hole"))
        return None
    k = names.index(mirror.hole)
    off = float(xy[k, 1])
    if abs(off) < max(0.001, 5.0 * math.sqrt(max(covariance[2 * k + 1, 2 * k + 1], 0.0))):
        cannot.append(
            (
                f"{mirror.hole} lies on the line {names[datum.hole]} to {names[datum.second]}",
                f'rail.side_hole: name a hole well off that line, say "{farthest}"',
            )
        )
        return None
    is_left = (mirror.side == "left") == (mirror.seen_from == "above")
    return (off > 0.0) != is_left


def _diameters(
    inputs: RailInputs, network: Network, sifted: Sifted, covariance: FloatArray
) -> tuple[Measured | None, ...]:
    out: list[Measured | None] = []
    for hole, column in zip(inputs.holes, network.diameter_column.tolist(), strict=True):
        if column < 0:
            given = hole.edge_diameter
            out.append(None if given is None else Measured(given, hole.edge_diameter_u, "m"))
            continue
        u = math.sqrt(max(float(covariance[column, column]), 0.0))
        # Looser than any hole can be: the readings do not tell this diameter.
        is_known = u < 0.5 * hole.fastener.diameter
        out.append(Measured(float(sifted.unknowns[column]), u, "m") if is_known else None)
    return tuple(out)
