"""One variant of the pan, and no more of it worked out than is asked.

Every number comes from the same functions as in a full run; what is left out are the findings,
the searches for a cure, and the tables that only a sheet shows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, cast

from sumpwright.body import PanBody, Pickup
from sumpwright.body.model import OldPan
from sumpwright.body.surroundings import Surroundings
from sumpwright.explore.model import Answer
from sumpwright.flow import Memory
from sumpwright.flow.alternatives import price_by_boxes
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.job import Job
from sumpwright.kit import SheetKit
from sumpwright.motion.model import CoverMap, MotionResult
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.rail import HolePattern


class NoPanError(Exception):
    """No pan comes of this variant; the text says why."""


@dataclass(frozen=True, slots=True, eq=False)
class _Covers:
    accelerations: CoverMap | None
    slopes: CoverMap | None
    why: str = ""  # no maps


class Pan:
    """The answers of one variant; a part whose inputs the memory has seen is not worked out again."""

    def __init__(self, job: Job, memory: Memory) -> None:
        self.job = job
        self._memory = memory
        self._names: dict[str, str] = {}
        self._pattern: HolePattern | None = None
        self._body: PanBody | None = None

    def answer(self, name: str) -> Answer:
        """One answer. Raises NoPanError where there is no pan to answer for."""
        made = getattr(self, "_" + name.replace(" ", "_"))
        return cast(Answer, made())

    # ---- what is worked out once --------------------------------------------------

    def _once(self, what: str, work: Callable[[], Any], *inputs: Any, after: tuple[str, ...] = ()) -> Any:
        """The result of some work, known by its own inputs and the names of what it builds on."""
        if what not in self._names:
            self._names[what] = fingerprint(what, *inputs, *(self._names[name] for name in after))
        return self._memory.recall_as(self._names[what], work)[0]

    def pattern(self) -> HolePattern:
        """The rail's holes."""
        if self._pattern is not None:
            return self._pattern
        from sumpwright.rail.solve import solve

        result = self._once("rail", lambda: solve(self.job.rail), self.job.rail)
        if result.pattern is None:
            raise NoPanError("the holes of the rail could not be placed")
        # What leaves the pattern as it was leaves the shape as it was.
        self._names["pattern"] = self._once(
            "name of pattern", lambda: fingerprint(result.pattern), after=("rail",)
        )
        self._pattern = cast(HolePattern, result.pattern)
        return self._pattern

    def body(self) -> PanBody:
        """Shape with its compartments, surroundings not asked."""
        if self._body is not None:
            return self._body
        from sumpwright.body.solve import shape

        pattern, inputs = self.pattern(), self.job.body
        pickup = inputs.pickup
        mouth = None if pickup is None else Pickup(pickup.mouth, pickup.mouth_diameter)
        # What the shape does not depend on is put back behind it: another screen leaves it as it was.
        bare = replace(
            inputs, dipstick=None, drain=None, pickup=mouth, old_pan=OldPan(), surroundings=Surroundings()
        )
        found = self._once("shape", lambda: shape(bare, pattern), bare, after=("pattern",))
        body = replace(found, inputs=inputs)
        # The oil's side of it: other sheet leaves that as it was.
        self._names["space"] = fingerprint(
            "space", bare.lumps, bare.walls, mouth, bare.snap_distance, bare.snap_angle
        )
        if body.cavity is None or body.trouble:
            raise NoPanError(
                body.trouble[0][0] if body.trouble else "the lumps did not join to one closed shape"
            )
        if body.gate:
            first = body.gate[0]
            raise NoPanError(f"too fine for this sheet: {first.where} ({first.rule})")
        self._body = body
        return self._body

    @property
    def _up(self) -> FloatArray:
        import numpy as np

        return cast(FloatArray, self.job.oil.up / np.linalg.norm(self.job.oil.up))

    def _covers(self) -> _Covers:
        from sumpwright.motion.loads import envelope_of
        from sumpwright.motion.solve import maps_alone
        from sumpwright.oil.dipstick import is_inside
        from sumpwright.oil.solve import volumes

        body, motion, lowest = self.body(), self.job.motion, volumes(self.job.oil).lowest
        pickup, cavity = body.inputs.pickup, body.cavity
        if not envelope_of(motion.loads).moves:
            return _Covers(None, None, "no loads are asked for: enter loads.use")
        if pickup is None or cavity is None:
            return _Covers(None, None, "no pickup is given: enter pickup.mouth")
        if lowest is None:
            return _Covers(
                None, None, "how much oil is in the pan is not known: enter oil.fill and oil.between_marks"
            )
        if not is_inside(cavity.surface(), pickup.mouth):
            raise NoPanError("the pickup's mouth lies outside the pan")
        volume = max(0.0, lowest)
        maps = self._once(
            "covers", lambda: maps_alone(motion, body, volume), motion, volume, after=("space",)
        )
        return _Covers(*maps)

    def _lowest_level(self) -> Metre | None:
        from sumpwright.oil.level import LevelCurve
        from sumpwright.oil.solve import level_of, open_surface, volumes

        cavity, lowest = self.body().cavity, volumes(self.job.oil).lowest
        assert cavity is not None
        return cast(
            "Metre | None",
            self._once(
                "lowest level",
                lambda: level_of(
                    LevelCurve.prepare(open_surface(cavity, self._up), self._up),
                    lowest,
                ),
                lowest,
                self._up,
                after=("space",),
            ),
        )

    def _kit(self) -> SheetKit:
        from sumpwright.kit.solve import solve

        body = self.body()
        # Marks and nests change no answer that is asked here.
        inputs = replace(self.job.kit, etched=False, nests=False)
        kit = self._once("kit", lambda: solve(inputs, body), inputs, self.job.body, after=("pattern",))
        if kit.rebuild.refused or not kit.parts:
            raise NoPanError(f"the flat parts do not go together: {kit.rebuild.why or 'no part came of it'}")
        return cast(SheetKit, kit)

    # ---- the answers ----------------------------------------------------------------

    def _capacity(self) -> Answer:
        from sumpwright.oil.level import LevelCurve, rail_lowest_level

        cavity, up = self.body().cavity, self._up
        assert cavity is not None
        volume = self._once(
            "capacity",
            lambda: LevelCurve.prepare(cavity, up).volume_below(rail_lowest_level(cavity, up)),
            up,
            after=("space",),
        )
        return Answer(float(volume))

    def _drain_residue(self) -> Answer:
        from sumpwright.oil.drain import left_level

        body, up = self.body(), self._up
        left = self._once(
            "drain residue", lambda: left_level(body, up), body.inputs.drain, up, after=("space",)
        )
        return Answer(None, "no floor lies under the drain plug") if left is None else Answer(float(left))

    def _ground(self) -> Answer:
        from sumpwright.body.ground import ground_clearance

        body, ground = self.body(), self.job.body.surroundings.ground
        assert body.cavity is not None
        found = ground_clearance(body, body.cavity)
        if ground is None or found is None or found.lowest is None:
            return Answer(
                None, "the height above the ground is not known: enter vehicle and engine.datum_height"
            )
        return Answer(found.lowest - ground.wanted)

    def _cover_margin(self) -> Answer:
        from sumpwright.motion.solve import USUAL_COVER

        covers = self._covers()
        drawn = [one for one in (covers.accelerations, covers.slopes) if one is not None]
        if not drawn:
            return Answer(None, covers.why)
        wanted = USUAL_COVER if self.job.motion.least_cover is None else self.job.motion.least_cover
        least = min(float(one.cover.min()) for one in drawn)
        if least == -float("inf"):
            raise NoPanError("under some load the pickup's mouth stands over no floor that holds oil")
        return Answer(least - wanted)

    def _suction_margin(self) -> Answer:
        from sumpwright.motion.loads import envelope_of
        from sumpwright.suction.solve import fed_line

        job, covers = self.job, self._covers()
        if job.suction is None:
            return Answer(None, "the pump's line is not given: enter [suction]")
        held = MotionResult(
            envelope=envelope_of(job.motion.loads),
            volume=None,
            least_cover=0.0,
            accelerations=covers.accelerations,
            slopes=covers.slopes,
            tightest_acceleration=None,
            tightest_slope=None,
        )
        line = fed_line(job.suction, job.oil.up, self._lowest_level(), held)
        if line is None:
            return Answer(None, "the pump's line, its oil or its level is not known: see 'check'")
        return Answer(float(line.least_margin()))

    def _clearance(self) -> Answer:
        from sumpwright.body.clearance import least_spare

        body, around = self.body(), self.job.body.surroundings
        assert body.cavity is not None
        if around.unreadable:
            return Answer(None, f"the surface of {around.unreadable[0][0]} could not be read")
        least, swallowed = least_spare(body, body.cavity)
        if least is None:
            return Answer(None, "nothing is named to keep clear of: enter [[keep_outs]]")
        if swallowed:
            raise NoPanError(f"{swallowed[0]} lies inside the pan, or the pan inside it")
        return Answer(float(least))

    def _weld_length(self) -> Answer:
        return Answer(float(self._kit().weld_length))

    def _mass(self) -> Answer:
        return Answer(float(self._kit().mass))

    def _price(self) -> Answer:
        price, _ = price_by_boxes(self.job, self._kit())
        if price is None:
            return Answer(None, "the shop file has no rates")
        if price.total is None:
            missing = sorted({line.key for line in price.lines if line.cost is None})
            return Answer(None, f"a price is missing in the shop file: enter {', '.join(missing)}")
        return Answer(float(price.total))

    def _reserve(self) -> Answer:
        from sumpwright.motion.drives import DriveInputs, runs_alone
        from sumpwright.oil.solve import solve

        job, body = self.job, self.body()
        runs = runs_alone(DriveInputs(job.motion, job.oil, job.logs), body, solve(job.oil, body))
        if not runs:
            return Answer(None, "there is nothing to drive, or something is missing for it: see 'drive'")
        return Answer(float(min(run.least_reserve for run in runs)))

    def _bow(self) -> Answer:
        from sumpwright.weld.bow import solve_bow

        kit, inputs = self._kit(), self.job.bow
        if inputs is None:
            return Answer(None, "how the shop welds is not known: enter [welding] in the shop file")
        moved = self._once("bow", lambda: solve_bow(inputs, kit), inputs, after=("kit",))
        if moved.trouble:
            return Answer(None, moved.trouble)
        return Answer(float(moved.released[1]))
