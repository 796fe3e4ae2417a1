"""The usual cautions, worded once, and the step each belongs to.

The tool advises and does not certify; each caution defers to local law, the makers'
data sheets and qualified people.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: key, heading, words, and the sections of the sheet it stands beside."""

    key: str
    heading: str
    words: str
    sections: tuple[str, ...] = ()


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "every sheet",
        "What this sheet is",
        "These are planning figures for a competent fabricator, not a certified design. Check the fit on the"
        " engine, that the pickup stays covered, and the oil pressure, before the engine is loaded."
        " Local law and codes, the makers' data sheets and qualified people come first.",
        ("first page",),
    ),
    Caution(
        "under the engine",
        "Measuring and trying on",
        "Support the engine from below on rated stands and blocks. Nobody works under an engine that hangs on"
        " a hoist, or under a vehicle that stands on a jack alone.",
        ("Rail",),
    ),
    Caution(
        "hot oil",
        "Oil and heat",
        "Drain the oil warm, not hot: it scalds. Keep used oil off the skin, and hand it in.",
        ("Oil",),
    ),
    Caution(
        "sharp edges",
        "Cut parts",
        "Edges fresh from the cutter are sharp and the skeleton springs: gloves and eye protection, deburr"
        " first.",
        ("Parts",),
    ),
    Caution(
        "welding fume",
        "Welding fume",
        "Extract at the source. The fume of stainless steel holds hexavalent chromium, which causes cancer;"
        " workplace limits for it are very low. Zinc coatings make fume fever: strip them well back from the"
        " joint or do not use coated sheet.",
        ("Parts", "Welding"),
    ),
    Caution(
        "arc light",
        "Arc, heat and fire",
        "Arc light burns eyes and skin, also bystanders': helmet, gloves, covered skin, screens. Metal stays"
        " hot long after it stops glowing: mark it. Clear the place of oil, rags and aerosols, keep an"
        " extinguisher at hand and look for fire half an hour after the last arc.",
        ("Welding",),
    ),
    Caution(
        "solvents",
        "Cleaning before welding",
        "Never weld near chlorinated solvents (some brake cleaners): arc light and heat turn the vapour into"
        " poison gas. Use a cleaner without chlorine and let it dry out completely.",
        ("Welding",),
    ),
    Caution(
        "closed volumes",
        "Used pans and closed volumes",
        "Oil vapour in a closed space can explode. Hot-wash used parts inside, and never weld on a volume"
        " that has no open vent. Purge gas pushes out the air one breathes: ventilate.",
        ("Welding",),
    ),
    Caution(
        "compressed-air",
        "Air under pressure",
        "Air under pressure stores energy, and a shop line holds enough to kill. Test only behind a fine"
        " regulator and a relief valve that passes the full supply, fill slowly, stand clear, protect the"
        " eyes, never leave it under pressure unattended.",
        ("Proof",),
    ),
    Caution(
        "fitting",
        "Fitting and first start",
        "Check the room to ground, axle, steering and cross-member with the suspension at its stop. Secure"
        " the drain plug. Start with a pressure gauge in view and stop at once without pressure.",
        ("Shape", "Proof"),
    ),
    Caution(
        "approval",
        "Road, race and water",
        "A changed pan may need approval for road, competition or marine use: ask the authority.",
        ("Shape",),
    ),
)

_BY_KEY = {entry.key: entry for entry in CAUTIONS}


def caution(key: str) -> str:
    """The words of a caution by its key; a text that is no key stands for itself."""
    return _BY_KEY[key].words if key in _BY_KEY else key


def cautions_beside(section: str) -> tuple[Caution, ...]:
    """The cautions that stand at a section of the sheet."""
    return tuple(entry for entry in CAUTIONS if section in entry.sections)
