"""What the patch plates say: is there room for each, and what each costs."""

from __future__ import annotations

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.kit.model import SheetKit
from sumpwright.kit.patch_model import PlacedPatch
from sumpwright.kit.patches import apart_of

DO = {
    "lapped": "Weld what the opening is for first and look at it. Then clean the lap, clamp the plate down "
    "flat, weld it all round; its bead is one more seam to watch at the leak test.",
    "let in": "Weld what the opening is for first and look at it. Then dress the plate until it drops in "
    "without force, tack it flush, weld it through all round; its bead is one more seam to watch at "
    "the leak test.",
}

MEANS = {
    "lapped": "laid on outside, {over} over the edge of its opening all round: it needs no fitting and does "
    "not burn through; between plate and panel a slot stays open to the oil",
    "let in": "let in flush: no slot stays inside, but its edges have to fit and the weld has to go through",
}


def patch_findings(kit: SheetKit) -> tuple[Finding, ...]:
    """Everything to say of the patch plates, trouble first."""
    if kit.patches is None:
        return ()
    found = [
        Finding(
            "KIT-95",
            Verdict.FAILS,
            _plain(trouble.where),
            f"This patch plate is not drawn: {_plain(trouble.what)}.",
            how_sure="By the panel's own outline, its bends, bosses and the walls that stand on it.",
            do=_plain(f"{trouble.cure[:1].upper()}{trouble.cure[1:]}."),
            source="common practice, no source",
            place=trouble.place,
        )
        for trouble in kit.patches.trouble
    ]
    return (*found, *(_drawn(kit, patch) for patch in kit.patches.placed))


def _drawn(kit: SheetKit, patch: PlacedPatch) -> Finding:
    plate = patch.plate
    x, y, z = (float(value) for value in plate.at)
    return Finding(
        "KIT-96",
        Verdict.HOLDS,
        f"{_plain(plate.name)} on {_plain(patch.panel)}",
        "An opening of {width} x {height} lets the torch in; its plate is " + MEANS[plate.fit] + ". It adds "
        "{seam} of seam and keeps {apart} off every other seam, bend and boss.",
        (
            Figure("width", plate.width, "m", "length", 0),
            Figure("height", plate.height, "m", "length", 0),
            Figure("over", patch.overlap, "m", "length", 0),
            Figure("seam", patch.length, "m", "length", 0),
            Figure("apart", apart_of(kit.body.inputs.sheet), "m", "length", 0),
        ),
        how_sure="Drawn, and built up again with the rest of the kit; whether the torch then gets there "
        "is said under Welding.",
        do=DO[plate.fit],
        source="common practice, no source",
        place=(x, y, z),
    )


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
