"""Where the work stops until somebody has looked and put a tick."""

from __future__ import annotations

from collections.abc import Sequence

from sumpwright.kit import SheetKit
from sumpwright.weld.model import HoldPoint, Step


def hold_points(kit: SheetKit, steps: Sequence[Step], pockets: Sequence[str]) -> tuple[HoldPoint, ...]:
    """The stops of one pan, in the order of the work."""
    all_set = max((step.number for step in steps if step.action == "set"), default=0)
    last = max((step.number for step in steps), default=0)
    first_plate = min((step.number for step in steps if step.place == "plate"), default=1)
    in_segments = any(joint.kind == "flange joint" for joint in kit.joints)
    stops: list[tuple[str, int, tuple[str, ...], tuple[str, ...]]] = [
        (
            "Parts on arrival",
            0,
            (
                "thickness of every part, at three places",
                "five lengths of the flange and the largest wall against the drawing",
                "a drill shank as hole gauge in every flange hole",
                "metal by magnet, spark or stamp: no part of another grade",
            ),
            ("sharp edges",),
        ),
        (
            "Dry fit",
            max(0, first_plate - 1),
            (
                "every part stands at its place without force, match marks meet",
                "no gap wider than a quarter of the sheet, no step higher than a fifth",
                "flange lies on the plate all round, dowels in",
            ),
            (),
        ),
        (
            "Tacked trial on the engine",
            all_set,
            (
                "every bolt starts by hand, the flange lies on the rail all round",
                "crank turned twice by hand through the whole turn: nothing touches",
                "room to axle, steering, ground and starter with the suspension at its stop",
                "every bolt and the drain plug take their tool",
            ),
            ("under the engine",),
        ),
        (
            "Cold on the plate",
            last,
            (
                "hand-warm before the first bolt is loosened",
                "bolts loosened from the ends to the middle, half a turn at a time",
                "spring-back of the flange measured at every bolt and written down",
            ),
            (),
        ),
        (
            "Holes opened" if in_segments else "Holes checked",
            last,
            (
                "pilot holes opened to size from the blanking plate, swarf caught"
                if in_segments
                else "every hole takes its gauge; tight ones opened from the blanking plate",
            ),
            (),
        ),
        (
            "Faced",
            last,
            (
                "flange faced or dressed without being forced flat: shims where it stands off",
                "flatness by feeler and straight edge, all round and across",
                "least thickness left at every bolt",
            ),
            (),
        ),
        (
            "Cleaned inside",
            last,
            (
                "oxide and spatter off by brush, or pickled after the maker's sheet, then rinsed",
                "hot wash, flushed until the water is clear, dried",
                "a magnet or a white cloth through every corner: nothing on it",
                *(f"cannot be flushed: {pocket}" for pocket in pockets),
            ),
            ("solvents",),
        ),
        (
            "Leak test",
            last,
            ("no bubble that grows anywhere, as the Proof section says",),
            ("compressed-air",),
        ),
        ("Paint", last, ("sealing land, threads and inside masked and left bare",), ()),
    ]
    stops.sort(key=lambda stop: stop[1])
    return tuple(
        HoldPoint(number, name, after, checks, cautions)
        for number, (name, after, checks, cautions) in enumerate(stops, start=1)
    )
