"""What the kit says of a flange that follows the lands: saddles, risers, dabs, and what it could not do."""

from __future__ import annotations

import numpy as np

from sumpwright.body.rail_shape_model import ArchSeat, LandTrouble
from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.kit.metal import CHORD_SAGITTA
from sumpwright.kit.model import FlatPart, KitInputs, SheetKit


def land_findings(inputs: KitInputs, kit: SheetKit) -> tuple[Finding, ...]:
    """Everything to say of lands that are not in the datum plane."""
    lands, uneven = kit.lands, kit.body.uneven
    if lands is None or uneven is None:
        return ()
    found = [_trouble(each) for each in lands.trouble]
    strips = {part.name: part for part in kit.parts if part.roll is not None}
    for arch in uneven.arches:
        strip = strips.get(f"saddle plate {arch.name}")
        if strip is not None:
            found.append(_saddle(arch, strip))
    risers = tuple(part for part in kit.parts if part.name.startswith("flange riser "))
    if risers:
        found.append(_risers(risers))
    if lands.spots:
        found.append(_spots(kit))
    if inputs.flange_in_segments:
        found.append(_not_split())
    return tuple(found)


def _trouble(each: LandTrouble) -> Finding:
    return Finding(
        "KIT-53",
        Verdict.CANNOT_SAY,
        _plain(f"land {each.land}"),
        f"No parts were made for the land '{_plain(each.land)}': it {_plain(each.what)}. "
        "The flange is drawn flat there and will not seal.",
        how_sure="From the flats themselves.",
        do=_plain(each.cure),
        source="common practice, no source",
    )


def _saddle(arch: ArchSeat, strip: FlatPart) -> Finding:
    assert strip.roll is not None
    length, width = np.ptp(np.asarray(strip.outline.points), axis=0)
    ends = (
        "Cut it a little long, tack it, and dress its ends flush with the flange's face."
        if arch.hangs
        else "Its ends stay square and meet the flange's edges at the face."
    )
    return Finding(
        "KIT-54",
        Verdict.HOLDS,
        _plain(strip.name),
        "A flat strip {length} long and {width} wide, rolled to an inside radius of {radius}, closes between "
        f"wall, flange and the block's round. {ends}",
        (
            Figure("length", float(length), "m", "length", 1),
            Figure("width", float(width), "m", "length", 1),
            Figure("radius", strip.roll.radius, "m", "length", 1),
            Figure("chord", CHORD_SAGITTA, "m", "length", 2),
        ),
        how_sure="Its neutral line is taken in the middle of the sheet; in the rebuild the round stands as "
        "chords, nowhere more than {chord} off.",
        do="Try the rolled strip on the block with the seal in place before it is welded.",
        source="sheet-metal-bends",
        place=(0.5 * (arch.inner_x + arch.outer_x), arch.centre[0], arch.crown),
    )


def _risers(risers: tuple[FlatPart, ...]) -> Finding:
    heights = [float(np.ptp(np.asarray(part.outline.points)[:, 1])) for part in risers]
    return Finding(
        "KIT-55",
        Verdict.HOLDS,
        ", ".join(_plain(part.name) for part in risers),
        "{count} risers, {height} high, stand on the lower plates and join them to the upper one; "
        "they take the seal of the block's upright faces.",
        (
            Figure("count", float(len(risers)), "1", "count"),
            Figure("height", max(heights), "m", "length", 2),
        ),
        how_sure="From the lands' heights and seals.",
        do="Bolt both plates down, to the block or a plate with the same step, before tacking the risers.",
        source="common practice, no source",
    )


def _spots(kit: SheetKit) -> Finding:
    assert kit.lands is not None
    spots = kit.lands.spots
    return Finding(
        "KIT-56",
        Verdict.HOLDS,
        ", ".join(dict.fromkeys(_plain(f"land {spot.land}") for spot in spots)),
        "At {count} places two seals meet on the pan; they are marked in the results by their place.",
        (Figure("count", float(len(spots)), "1", "count"),),
        how_sure="From the flats themselves.",
        do="Lay a dab of liquid sealant on each just before the pan goes on, and dress the weld there flush.",
        source="common practice, no source",
        place=spots[0].place,
    )


def _not_split() -> Finding:
    return Finding(
        "KIT-57",
        Verdict.CANNOT_SAY,
        "flange",
        "Segments of the flange are asked for, but a flange that follows steps or arches is only cut where "
        "these part it.",
        how_sure="A rule of this program.",
        do="Take 'flange_in_segments' out, or have the plates cut from a longer sheet.",
        source="common practice, no source",
    )


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
