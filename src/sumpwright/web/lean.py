"""The oil at rest while the sliders are moved: level, cover, what it touches. A few milliseconds each."""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass

import numpy as np

from sumpwright.body import PanBody
from sumpwright.findings import judge_at_least
from sumpwright.job.model import Job
from sumpwright.motion.cover import CUT_OFF, OpenTop
from sumpwright.motion.formulas import mouth_rise
from sumpwright.motion.slopes import lowest_heights
from sumpwright.motion.solve import USUAL_COVER
from sumpwright.oil.level import LevelCurve
from sumpwright.oil.model import OilResult
from sumpwright.oil.pools import levels_at
from sumpwright.outputs.words import UnitSystem, slope_words, write_length, write_number
from sumpwright.quantities import STANDARD_GRAVITY, Attitude, Load
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre
from sumpwright.web.messages import Verdict
from sumpwright.web.picture_messages import LeanAnswer, LeanRequest, OilSurface
from sumpwright.web.slicing import plane_loops
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import flat_list_mm, unit_vector


@dataclass(frozen=True, slots=True)
class _Pan:
    revision: str
    top: OpenTop
    body: PanBody


class Leaning:
    """Keeps the pan ready for many attitudes."""

    def __init__(self) -> None:
        """No pan yet."""
        self._lock = threading.Lock()
        self._pan: _Pan | None = None
        self._warming: threading.Thread | None = None
        self._is_warm = False

    def warm_up(self, now: Snapshot) -> None:
        """Load the compiled code in a thread of its own, once the motion stage has it compiled."""
        body, job = now.results().body, now.job
        if self._warming is not None or body is None or body.cavity is None or job is None:
            return
        if job.body.pickup is None:
            return
        top, mouth = OpenTop.of(body), job.body.pickup.mouth

        def load() -> None:
            _compiled_levels(top, mouth, np.array([0.0, 0.0, 1.0]), 1e-3)
            self._is_warm = True

        self._warming = threading.Thread(target=load, name="warming up", daemon=True)
        self._warming.start()

    def answer(self, now: Snapshot, revision: str, request: LeanRequest) -> LeanAnswer:
        """The oil under this pull."""
        body, job = now.results().body, now.job
        if body is None or body.cavity is None or job is None:
            return _nothing(revision, request, "There is no shape yet to pour oil into.")
        pan = self._ready(revision, body)
        volume = _volume(request, now.results().oil)
        if volume is None:
            return _nothing(
                revision, request, "Enter under [oil] how much is filled in, or choose the litres."
            )
        pull = _load(request).effective_gravity(job.placement)
        return _answer(pan, job, _wanted(now), pull, volume, request, self._is_warm)

    def _ready(self, revision: str, body: PanBody) -> _Pan:
        with self._lock:
            if self._pan is None or self._pan.revision != revision:
                self._pan = _Pan(revision, OpenTop.of(body), body)
            return self._pan


def _load(request: LeanRequest) -> Load:
    return Load(
        slope=Attitude(
            nose_up=math.radians(request.nose_up_deg), lean_right=math.radians(request.lean_right_deg)
        ),
        forward=-request.braking_g * STANDARD_GRAVITY,
        left=request.left_turn_g * STANDARD_GRAVITY,
    )


def _volume(request: LeanRequest, oil: OilResult | None) -> CubicMetre | None:
    """What was asked for; else the low mark with the most oil up in the engine, as the cover map takes it."""
    if request.litres is not None:
        return request.litres * 1e-3
    if oil is None or oil.volume_low is None:
        return None
    return max(0.0, oil.volume_low - (0.0 if oil.hold_up is None else oil.hold_up.hold_up_most))


def _wanted(now: Snapshot) -> Metre:
    motion = now.results().motion
    return USUAL_COVER if motion is None else motion.least_cover


def _answer(
    pan: _Pan,
    job: Job,
    wanted: Metre,
    pull: FloatArray,
    volume: CubicMetre,
    request: LeanRequest,
    is_warm: bool,
) -> LeanAnswer:
    strength = float(np.linalg.norm(pull))
    up = -pull / strength
    pickup = job.body.pickup
    shared, at_mouth = _levels(pan, None if pickup is None else pickup.mouth, up, volume, is_warm)
    surfaces = [_surface(pan, up, shared, is_shared=True)]
    cover = cover_shared = None
    if pickup is not None:
        standing = job.placement.up_in_engine()
        edge = float(up @ pickup.mouth) + mouth_rise(pickup.mouth_diameter, float(up @ standing))
        cover_shared = shared - edge
        cover = None if at_mouth is None else min(shared, at_mouth) - edge
        if at_mouth is not None and at_mouth < shared - CUT_OFF:
            surfaces.append(_surface(pan, up, at_mouth, is_shared=False))
    crank = job.oil.crank
    crank_gap = None if crank is None else float(lowest_heights(crank, up[None, :])[0]) - shared
    verdict = _verdict(pickup is not None, cover, wanted)
    return LeanAnswer(
        revision=pan.revision,
        trouble="",
        litres=round(volume * 1e3, 4),
        up=unit_vector(up),
        pull_g=round(strength / STANDARD_GRAVITY, 5),
        surfaces=surfaces,
        cover_mm=None if cover is None else round(cover * 1e3, 3),
        cover_shared_mm=None if cover_shared is None else round(cover_shared * 1e3, 3),
        wanted_mm=round(wanted * 1e3, 3),
        above_rail_mm=round((shared - float(np.min(pan.top.rail @ up))) * 1e3, 3),
        crank_gap_mm=None if crank_gap is None else round(crank_gap * 1e3, 3),
        verdict=verdict,
        words=_attitude_words(request),
        says=_says(pickup is not None, cover, wanted, job.units),
    )


def _levels(
    pan: _Pan, mouth: FloatArray | None, up: FloatArray, volume: CubicMetre, is_warm: bool
) -> tuple[Metre, Metre | None]:
    """One level for all oil, and the level at the mouth where every other pool keeps what it can."""
    space = pan.top.space
    if mouth is not None and is_warm:
        return _compiled_levels(pan.top, mouth, up, volume)
    # The same without compiled code: slower, for the first moments and for a pan without a pickup.
    shared = LevelCurve.prepare(space.surface, up).level_for(volume)
    if mouth is None:
        return shared, None
    both = levels_at(space.surface, space.neighbours, up, volume, mouth, shared, space.links)
    return shared, None if both is None else both.cut_off


def _compiled_levels(
    top: OpenTop, mouth: FloatArray, up: FloatArray, volume: CubicMetre
) -> tuple[Metre, Metre | None]:
    from sumpwright.oil.pools_compiled import levels_at_compiled

    space = top.space
    both = levels_at_compiled(
        np.ascontiguousarray(space.surface.vertices),
        np.ascontiguousarray(space.surface.triangles),
        space.neighbours.starts,
        space.neighbours.others,
        space.neighbours.part_of_triangle,
        space.neighbours.part_of_corner,
        np.ascontiguousarray(space.links),
        np.ascontiguousarray(up[None, :]),
        float(volume),
        np.ascontiguousarray(mouth),
    )
    at_mouth = float(both[0, 1])
    return float(both[0, 0]), None if math.isnan(at_mouth) else at_mouth


def _surface(pan: _Pan, up: FloatArray, level: Metre, is_shared: bool) -> OilSurface:
    space = pan.top.space
    loops = plane_loops(space.surface, up, level)
    return OilSurface(
        level_mm=round(level * 1e3, 4), loops_mm=[flat_list_mm(loop) for loop in loops], shared=is_shared
    )


def _verdict(has_pickup: bool, cover: Metre | None, wanted: Metre) -> Verdict:
    if not has_pickup:
        return "cannot say"
    found = judge_at_least(-math.inf if cover is None else cover, wanted, None).value
    words: dict[str, Verdict] = {"holds": "holds", "close": "close", "fails": "fails"}
    return words.get(found, "cannot say")


def _says(has_pickup: bool, cover: Metre | None, wanted: Metre, units: UnitSystem) -> str:
    """How the mouth stands, held for ever, in one sentence."""
    if not has_pickup:
        return "Enter under [pickup] where the mouth is, and its cover is told here."
    if cover is None:
        return "The mouth stands over nothing that holds oil: it draws air."
    least = write_length(wanted, units, 0)
    if cover < 0.0:
        return f"The mouth's edge is {write_length(-cover, units, 0)} out of the oil: it draws air."
    return f"The mouth is {write_length(cover, units, 0)} under the oil; {least} are wanted."


def _attitude_words(request: LeanRequest) -> str:
    words = [slope_words(math.radians(request.nose_up_deg), math.radians(request.lean_right_deg))]
    for value, positive, negative in (
        (request.braking_g, "braking", "accelerating"),
        (request.left_turn_g, "left turn", "right turn"),
    ):
        if abs(value) >= 0.005:
            words.append(f"{positive if value > 0.0 else negative} {write_number(abs(value), 2)} g")
    return ", ".join(words)


def _nothing(revision: str, request: LeanRequest, why: str) -> LeanAnswer:
    return LeanAnswer(
        revision=revision, trouble=why, litres=request.litres or 0.0, up=(0.0, 0.0, 1.0), pull_g=1.0,
        surfaces=[], cover_mm=None, cover_shared_mm=None, wanted_mm=round(USUAL_COVER * 1e3, 3),
        above_rail_mm=None, crank_gap_mm=None, verdict="cannot say", words=_attitude_words(request), says=why,
    )  # fmt: skip
