"""Nothing beats these: the variants to which no other is at least as good in all that counts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sumpwright.explore.model import Count, Found
from sumpwright.quantities.units import FloatArray


@dataclass(frozen=True, slots=True)
class Candidate:
    """A variant with all its answers."""

    number: int
    says: tuple[str, ...]
    values: tuple[float, ...]  # in the order of the counts


def costs(found: Found, counts: Sequence[Count]) -> tuple[float, ...] | None:
    """What is compared: less is better, differences that do not count rounded away; None where one lacks."""
    out = []
    for count in counts:
        answer = found.get(count.answer)
        if answer is None or answer.value is None:
            return None
        cost = answer.value if count.want == "less" else -answer.value
        out.append(round(cost / count.alike) * count.alike if count.alike else cost)
    return tuple(out)


class Front:
    """The unbeaten so far; one variant after the other is held against it."""

    def __init__(self, objectives: int) -> None:
        self._costs = np.empty((0, objectives))
        self.members: list[Candidate] = []

    def offer(self, candidate: Candidate, cost: tuple[float, ...]) -> bool:
        """Take it in if nothing beats it, and let go of what it beats.

        Of several with the same costs the first stays.
        """
        mine = np.array(cost)
        if len(self.members):
            no_worse = np.all(self._costs <= mine, axis=1)
            if bool(no_worse.any()):
                return False
            stays = ~np.all(mine <= self._costs, axis=1)
            if not bool(stays.all()):
                self._costs = self._costs[stays]
                self.members = [one for one, kept in zip(self.members, stays, strict=True) if kept]
        self._costs = np.concatenate([self._costs, mine[None]])
        self.members.append(candidate)
        return True

    @property
    def costs(self) -> FloatArray:
        """(n, objectives), in the members' order."""
        return self._costs


def worth_a_look(front: Front, most: int) -> list[Candidate]:
    """At most so many of the front: the best in each answer, then those with most room round them."""
    count = len(front.members)
    if count <= most:
        return sorted(front.members, key=lambda one: one.number)
    costs = front.costs
    low, high = costs.min(axis=0), costs.max(axis=0)
    spread = np.where(high > low, high - low, 1.0)
    scaled = (costs - low) / spread
    picked = list(dict.fromkeys(int(k) for k in np.argmin(costs, axis=0)))[:most]
    nearest = np.full(count, math.inf)
    for k in picked:
        nearest = np.minimum(nearest, np.linalg.norm(scaled - scaled[k], axis=1))
    while len(picked) < most:
        k = int(np.argmax(nearest))
        picked.append(k)
        nearest = np.minimum(nearest, np.linalg.norm(scaled - scaled[k], axis=1))
    return sorted((front.members[k] for k in picked), key=lambda one: one.number)
