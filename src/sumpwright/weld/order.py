"""The order of the build, found backwards: the finished pan is taken apart.

What a torch cannot reach it cannot reach either when more stands. So, from the finished
pan: every seam that is reached now may be welded last; a part whose seams are all reached,
that leaves the rest in one piece and can be drawn out, may come last and is taken away.
When no seam is left, the way back is an order in which everything is reached. Taking away
more never does harm, so if this finds no order with these units, there is none.

Where it gets stuck, two parts with such a seam are welded together on the bench first and
come as one, or a side of an inner wall stays bare that is held well enough by its others;
then it is tried again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.weld.access import SeamAccess
from sumpwright.weld.entry import Ways
from sumpwright.weld.obstacles import STRONGBACK, Obstacles

Unit = frozenset[str]

MOST_CHOICES = 16
"""Rounds in which something is changed about what is stuck."""

MOST_SHELLS_ON_BENCH = 4
"""Panels that are welded to each other on the bench, where no plate holds them flat."""


LEAST_HELD = 1.0 / 3.0
"""Share of an inner wall's sides that has to be welded, on two sides at least: common practice."""


@dataclass(frozen=True, slots=True)
class Stage:
    """What is set up together and then welded: units in order, then seams."""

    units: tuple[Unit, ...]
    seams: tuple[int, ...]  # numbers


@dataclass(frozen=True, slots=True)
class Build:
    """An order for a set of units round a base."""

    base: Unit
    stages: tuple[Stage, ...]  # the last one's seams are welded when everything stands
    stuck: tuple[int, ...]  # seams that are not reached in this order


@dataclass(frozen=True, slots=True)
class Choice:
    """Seams that are welded on the bench although they are the pan's, and sides that stay bare."""

    bench: frozenset[int]
    bare: frozenset[int]


@dataclass(frozen=True, slots=True)
class Order:
    """Bench work by unit, then the pan on its plate."""

    choice: Choice
    units: tuple[Unit, ...]  # what comes to the plate as one
    bench: tuple[Build, ...]
    plate: Build

    @property
    def stuck(self) -> tuple[int, ...]:
        """Seams that no order reaches."""
        return tuple(sorted({*self.plate.stuck, *(n for build in self.bench for n in build.stuck)}))


@dataclass(frozen=True, slots=True, eq=False)
class Puzzle:
    """What the search works on."""

    seams: Mapping[int, SeamAccess]
    obstacles: Obstacles
    ways: Ways
    flange: frozenset[str]  # part names
    inner: frozenset[str]  # inner walls: they come early
    shells: frozenset[str]  # panels of the pan itself


def find_order(puzzle: Puzzle) -> Order:
    """The order with the fewest seams out of reach, then the fewest bare sides and bench welds."""
    best = _order_with(Choice(frozenset(), frozenset()), puzzle)
    for _ in range(MOST_CHOICES):
        if not best.stuck:
            break
        step = min(
            (_order_with(choice, puzzle) for choice in _choices(best, puzzle)),
            key=lambda order: _cost(order, puzzle),
            default=None,
        )
        if step is None or _cost(step, puzzle) >= _cost(best, puzzle):
            break
        best = step
    return _order_with(_pruned(best, puzzle).choice, puzzle, minimal=True)


def _pruned(best: Order, puzzle: Puzzle) -> Order:
    """Whatever was chosen on the way and is not needed in the end is taken back."""
    for number in sorted(best.choice.bench | best.choice.bare):
        tried = _order_with(Choice(best.choice.bench - {number}, best.choice.bare - {number}), puzzle)
        if _cost(tried, puzzle) < _cost(best, puzzle):
            best = tried
    return best


def _cost(order: Order, puzzle: Puzzle) -> float:
    """What is wrong with an order, in made-up marks: the worst first.

    A tight seam out of reach is no pan at all; a wall out of reach needs another way to
    hold it; a bare side is a nuisance; panels joined on the bench come out less square.
    """
    tight = sum(puzzle.seams[n].seam.is_oil_tight for n in order.stuck)
    loose = len(order.stuck) - tight
    shells = [len(unit & puzzle.shells) for unit in order.units]
    inner = [bool(unit & puzzle.inner and unit & puzzle.shells) for unit in order.units]
    together = sum(max(0, count - 1) for count in shells)
    return 100.0 * tight + 10.0 * loose + 3.0 * len(order.choice.bare) + 2.0 * together + 1.0 * sum(inner)


def _choices(best: Order, puzzle: Puzzle) -> list[Choice]:
    """What may be done about seams that are stuck: weld on the bench first, or leave a side bare."""
    found: list[Choice] = []
    bench, bare = best.choice.bench, best.choice.bare
    for number in best.plate.stuck:
        seam = puzzle.seams[number].seam
        if not {seam.part_a, seam.part_b} & puzzle.flange:
            merged = _merge(best.units, seam.part_a, seam.part_b)
            together = next(unit for unit in merged if seam.part_a in unit)
            is_small = len(together & puzzle.shells) <= MOST_SHELLS_ON_BENCH
            if is_small and puzzle.seams[number].is_reached(puzzle.obstacles.mask(together)):
                found.append(Choice(bench | {number}, bare))
        if seam.kind == "inner wall" and _is_held_without(number, bare, puzzle):
            found.append(Choice(bench, bare | {number}))
    return found


def _is_held_without(number: int, bare: frozenset[int], puzzle: Puzzle) -> bool:
    """Whether an inner wall keeps two welded sides and a good share of the length of all of them."""
    wall = puzzle.seams[number].seam.part_a
    sides = {
        n: a.seam.length
        for n, a in puzzle.seams.items()
        if a.seam.kind == "inner wall" and a.seam.part_a == wall
    }
    kept = [length for n, length in sides.items() if n != number and n not in bare]
    return len(kept) >= 2 and sum(kept) >= LEAST_HELD * sum(sides.values())


def _joined_by(numbers: Sequence[int], puzzle: Puzzle) -> list[Unit]:
    """Every part that has a seam, joined to units by these seams."""
    parts = {name for access in puzzle.seams.values() for name in (access.seam.part_a, access.seam.part_b)}
    units = [frozenset((name,)) for name in sorted(parts)]
    for number in numbers:
        seam = puzzle.seams[number].seam
        units = _merge(units, seam.part_a, seam.part_b)
    return sorted(units, key=sorted)


def _merge(units: Sequence[Unit], part_a: str, part_b: str) -> list[Unit]:
    together = frozenset().union(*(unit for unit in units if part_a in unit or part_b in unit))
    return [unit for unit in units if not unit & together] + [together]


def _order_with(choice: Choice, puzzle: Puzzle, minimal: bool = False) -> Order:
    """Every unit by itself on the bench, then all of them on the plate."""
    make = _minimal if minimal else _plain
    wanted = [n for n in puzzle.seams if n not in choice.bare]
    on_bench = [n for n in wanted if puzzle.seams[n].seam.place == "bench" or n in choice.bench]
    units = _joined_by(on_bench, puzzle)
    bench = []
    for unit in units:
        inside = [n for n in wanted if _within(puzzle.seams[n], unit)]
        if inside:
            single = [frozenset((name,)) for name in sorted(unit)]
            base = max(single, key=lambda one: (_degree(one, inside, puzzle), sorted(one)))
            bench.append(make(single, inside, base, 0, puzzle))
    base = next((unit for unit in units if unit & puzzle.flange), frozenset())
    across = [n for n in wanted if not any(_within(puzzle.seams[n], u) for u in units)]
    plate = make(units, across, base, puzzle.obstacles.mask((STRONGBACK,)), puzzle)
    return Order(choice, tuple(units), tuple(bench), plate)


def _plain(units: Sequence[Unit], numbers: Sequence[int], base: Unit, plate: int, puzzle: Puzzle) -> Build:
    return _apart(units, numbers, base, plate, frozenset(), puzzle)


def _within(access: SeamAccess, unit: Unit) -> bool:
    return access.seam.part_a in unit and access.seam.part_b in unit


def _degree(unit: Unit, numbers: Sequence[int], puzzle: Puzzle) -> int:
    return sum(bool({puzzle.seams[n].seam.part_a, puzzle.seams[n].seam.part_b} & unit) for n in numbers)


def _minimal(units: Sequence[Unit], numbers: Sequence[int], base: Unit, plate: int, puzzle: Puzzle) -> Build:
    """A build in which no unit comes later than it has to."""
    kept: frozenset[Unit] = frozenset()
    build = _apart(units, numbers, base, plate, kept, puzzle)
    late = [unit for stage in build.stages[1:] for unit in stage.units]
    for unit in late:
        tried = _apart(units, numbers, base, plate, kept | {unit}, puzzle)
        if len(tried.stuck) <= len(build.stuck):
            kept, build = kept | {unit}, tried
    return build


def _apart(
    units: Sequence[Unit],
    numbers: Sequence[int],
    base: Unit,
    plate: int,
    kept: frozenset[Unit],
    puzzle: Puzzle,
) -> Build:
    """The pan taken apart; units in ``kept`` stay where they are."""
    present = list(units)
    pending = set(numbers)
    backwards: list[Stage] = []
    while True:
        standing = puzzle.obstacles.mask(name for unit in present for name in unit) | plate
        reached = tuple(n for n in sorted(pending) if puzzle.seams[n].is_reached(standing))
        pending -= set(reached)
        backwards.append(Stage((), reached))
        if not pending:
            break
        unit = _next_out(present, pending, base, kept, standing, puzzle)
        if unit is None:
            break
        present.remove(unit)
        backwards.append(Stage((unit,), ()))
    stages = _forwards(present, backwards, base, numbers, puzzle)
    return Build(base, stages, tuple(sorted(pending)))


def _next_out(
    present: Sequence[Unit],
    pending: set[int],
    base: Unit,
    kept: frozenset[Unit],
    standing: int,
    puzzle: Puzzle,
) -> Unit | None:
    """The unit to take away next: the one that stands most in the way of what is not reached yet."""
    held = {name for n in pending for name in (puzzle.seams[n].seam.part_a, puzzle.seams[n].seam.part_b)}
    blame: dict[str, int] = {}
    for number in pending:
        for blocked in puzzle.seams[number].blocked(puzzle.obstacles, standing):
            for name in blocked.by:
                blame[name] = blame.get(name, 0) + 1
    names = frozenset(name for unit in present for name in unit)
    ranked = sorted(
        (unit for unit in present if unit != base and unit not in kept and not unit & held),
        key=lambda unit: (
            bool(unit & puzzle.inner),
            -sum(blame.get(name, 0) for name in unit),
            sorted(unit),
        ),
    )
    for unit in ranked:
        rest = [other for other in present if other != unit]
        if _is_one_piece(rest, puzzle) and puzzle.ways.is_free(unit, names | {STRONGBACK}):
            return unit
    return None


def _is_one_piece(units: Sequence[Unit], puzzle: Puzzle) -> bool:
    """Whether every unit hangs on every other through seams."""
    beside: list[list[int]] = [[] for _ in units]
    for one, other in _links(units, puzzle):
        beside[one].append(other)
        beside[other].append(one)
    reached, waiting = {0}, [0]
    while waiting:
        for other in beside[waiting.pop()] if beside else ():
            if other not in reached:
                reached.add(other)
                waiting.append(other)
    return len(reached) >= len(units)


def _links(units: Sequence[Unit], puzzle: Puzzle) -> Iterator[tuple[int, int]]:
    """Which two units each seam between units joins, by their places in the list."""
    at = {name: place for place, unit in enumerate(units) for name in unit}
    for access in puzzle.seams.values():
        one, other = at.get(access.seam.part_a), at.get(access.seam.part_b)
        if one is not None and other is not None and one != other:
            yield one, other


def _hung_up(units: Sequence[Unit], base: Unit, puzzle: Puzzle) -> list[Unit]:
    """The units in an order in which each touches one before it; inner walls as soon as they do."""
    if not units:
        return []
    joined = np.zeros((len(units), len(units)), dtype=np.int64)  # seams between two units
    for one, other in _links(units, puzzle):
        joined[one, other] += 1
        joined[other, one] += 1
    on_base = _units_on(base, units, puzzle)
    first = units.index(base if base in units else min(units, key=sorted))
    found, waiting = [first], [place for place in range(len(units)) if place != first]
    while waiting:
        held = {place: int(joined[place, found].sum()) for place in waiting}
        near = [place for place in waiting if held[place]]
        if not near:
            break
        # Walls that hang on the base come first, then whatever is held best.
        place = min(
            near,
            key=lambda at: (
                at not in on_base,
                bool(units[at] & puzzle.inner) and held[at] < 2,
                -held[at],
                sorted(units[at]),
            ),
        )
        found.append(place)
        waiting.remove(place)
    return [units[place] for place in found]


def _units_on(base: Unit, units: Sequence[Unit], puzzle: Puzzle) -> set[int]:
    """Places in the list of the units that have a seam on the base, whether it stands or not."""
    at = {name: place for place, unit in enumerate(units) for name in unit}
    ends = [(access.seam.part_a, access.seam.part_b) for access in puzzle.seams.values()]
    return {at[name] for a, b in ends for name, far in ((a, b), (b, a)) if name in at and far in base}


def _forwards(
    present: Sequence[Unit],
    backwards: Sequence[Stage],
    base: Unit,
    numbers: Sequence[int],
    puzzle: Puzzle,
) -> tuple[Stage, ...]:
    """The way back: what was left is set up first, then one thing after the other."""
    hung = _hung_up(present, base, puzzle)
    first = [*hung, *(unit for unit in present if unit not in hung)]
    stages = [Stage(tuple(first), ())]
    for stage in reversed(backwards):
        if stage.seams and not stages[-1].seams:
            stages[-1] = replace(stages[-1], seams=stage.seams)
        elif stage.seams:
            stages.append(stage)
        elif stage.units and not stages[-1].seams:
            stages[-1] = replace(stages[-1], units=(*stages[-1].units, *stage.units))
        elif stage.units:
            stages.append(stage)
    return tuple(stages)
