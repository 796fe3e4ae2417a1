"""What each metal of a pan brings with it under the arc: a caution for it, and a word for its strips."""

from __future__ import annotations

from collections.abc import Iterable

from sumpwright.outputs.cautions import Caution

STAINLESS = Caution(
    "stainless",
    "Stainless under the arc",
    "Its fume holds hexavalent chromium, which causes cancer; workplace limits for it are very low: extract"
    " at the source, outdoors too, and ask what breathing protection the local rules want. Argon behind the"
    " seam pushes out the air one breathes: never purge a space that somebody leans into. Pickling paste"
    " burns skin and eyes: follow its maker's sheet.",
)
ALUMINIUM = Caution(
    "aluminium",
    "Aluminium under the arc",
    "It throws the arc's light back and makes ozone: cover all skin, a darker glass, extraction at the"
    " source. It does not glow before it melts, and a hot part looks like a cold one: mark it. Wipe with a"
    " cleaner without chlorine and let it dry, then brush with a stainless brush kept for aluminium.",
)
MILD = Caution(
    "mild steel",
    "Mild steel under the arc",
    "Its fume holds iron and manganese: extract at the source. Sparks of grinding and welding light oil"
    " and rags some way off. Take scale, oil and primer off before the arc reaches them.",
)
COATED = Caution(
    "coated sheet",
    "Coated sheet",
    "Zinc gives white fume and fever, cadmium and chromate kill. If sheet, bolt or bung is coated or plated"
    " or its coating is not known, strip it 50 mm back from the joint, outdoors or under extraction, or"
    " do not weld it.",
)

_OF_FAMILY = {"stainless": STAINLESS, "aluminium": ALUMINIUM, "steel": MILD}
_ON_STRIP = {
    "stainless": "extract the fume; purge the oil side",
    "aluminium": "brush first; hot and cold look alike",
    "steel": "bare metal, no coating",
}


def cautions_of_metals(families: Iterable[str]) -> tuple[Caution, ...]:
    """The cautions of the metals that are welded here; coated sheet is warned of beside any steel."""
    found = [family for family in _OF_FAMILY if family in set(families)]
    told = [_OF_FAMILY[family] for family in found]
    if "steel" in found or "stainless" in found:
        told.append(COATED)
    return tuple(told)


def strip_words(families: Iterable[str]) -> str:
    """What stands on the strip of a seam between these metals; "" where nothing is known of them."""
    return "; ".join(words for family, words in _ON_STRIP.items() if family in set(families))
