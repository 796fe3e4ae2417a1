"""What the nests and the price say: does all of it fit the sheets at hand, and what does it cost."""

from __future__ import annotations

from collections.abc import Sequence

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.kit.model import FlatPart
from sumpwright.kit.nest_model import Nest, NestPlan, NotNested, Price, PriceLine
from sumpwright.kit.nesting import breaches
from sumpwright.kit.rule_cases import length_figure

MEASURED = "Measured on the true outlines as they lie; sheets are taken at their nominal size."


def nest_findings(plan: NestPlan, parts: Sequence[FlatPart]) -> tuple[Finding, ...]:
    """Pieces that found no sheet, nests that break their own rules, and how many sheets it takes."""
    found = [_not_nested(each) for each in plan.left_over]
    gaps = dict(plan.gap)
    broken = [
        (nest, breach)
        for nest in plan.nests
        for breach in breaches(nest, parts, gaps[round(nest.blank.thickness, 6)], plan.margin)
    ]
    found += [_broken(nest, breach) for nest, breach in broken]
    if plan.nests and not broken:
        found.append(_sheets(plan))
    return tuple(found)


def _not_nested(left: NotNested) -> Finding:
    if left.why == "no such metal in the stock list":
        return Finding(
            "KIT-72",
            Verdict.CANNOT_SAY,
            left.part,
            "Nests are asked for, but the stock list has no sheet of this part's metal and thickness.",
            how_sure="By the shop file.",
            do="Enter the sheet size under [[stock]], or an offcut under [[offcuts]].",
            source="shop-file",
        )
    if left.why == "no whole outline" or left.largest is None:
        return Finding(
            "KIT-70",
            Verdict.FAILS,
            left.part,
            "The part lies on no sheet or offcut at hand.",
            how_sure=MEASURED,
            do="Get a sheet that takes it, or have it made in two with a seam.",
            source="shop-file",
        )
    return Finding(
        "KIT-70",
        Verdict.FAILS,
        left.part,
        "The part needs {length} by {width}; the largest sheet of this metal has {free} by {across} free.",
        (
            length_figure("length", left.needs[0], 0),
            length_figure("width", left.needs[1], 0),
            length_figure("free", left.largest[0], 0),
            length_figure("across", left.largest[1], 0),
        ),
        value=max(left.needs),
        limit=max(left.largest),
        unit="m",
        kind="length",
        how_sure="The sheet's nominal size less its margin; bent parts keep their grain along the sheet.",
        do="Get a larger sheet, or have the part made in two with a seam.",
        source="shop-file",
    )


def _broken(nest: Nest, breach: str) -> Finding:
    return Finding(
        "KIT-71",
        Verdict.FAILS,
        f"nest {nest.number}",
        f"This nest breaks its own rules: {breach}. Do not cut from it.",
        how_sure=MEASURED,
        do="Cut the parts from their own files, and send us the job.",
        source="derived",
    )


def _sheets(plan: NestPlan) -> Finding:
    offcuts = sum(nest.blank.is_offcut for nest in plan.nests)
    pieces = sum(len(nest.placements) for nest in plan.nests)
    worst = min(nest.used_share for nest in plan.nests)
    whole = not plan.left_over
    return Finding(
        "KIT-71",
        Verdict.HOLDS,
        "nests",
        ("All {pieces} pieces lie" if whole else "{pieces} pieces lie")
        + " on {sheets} sheets and {offcuts} offcuts, {gap} or more apart and {margin} from the edge; the "
        "emptiest stretch that is cut off is {share} parts.",
        (
            Figure("pieces", float(pieces), "1", "count"),
            Figure("sheets", float(len(plan.nests) - offcuts), "1", "count"),
            Figure("offcuts", float(offcuts), "1", "count"),
            length_figure("gap", min(gap for _, gap in plan.gap), 1),
            length_figure("margin", plan.margin, 0),
            Figure("share", worst, "1", "percent", 0),
        ),
        how_sure=MEASURED,
        do="Measure the sheet before cutting: delivered sizes run short or out of square now and then.",
        source="common practice, no source",
    )


def _missing_words(line: PriceLine) -> str:
    """The missing key, and for which metal where it is one metal's own."""
    if not line.metal or line.thickness is None or not line.key.startswith("stock."):
        return line.key
    return f"{line.key} of {line.metal} {1e3 * line.thickness:.3g} mm".replace("{", "(").replace("}", ")")


def price_findings(price: Price) -> tuple[Finding, ...]:
    """The price in one sentence; a missing rate is named, a shipped figure is called a placeholder."""
    missing = sorted({_missing_words(line) for line in price.lines if line.cost is None})
    by = "the lengths cut off the sheets" if price.by == "nests" else "the box round each part"
    if missing or price.total is None:
        return (
            Finding(
                "KIT-74",
                Verdict.CANNOT_SAY,
                "price",
                f"The price cannot be added up: {', '.join(missing)} not given in the shop file.",
                how_sure="By the shop file.",
                do="Enter what is missing, your own figure; the rest is in the parts list.",
                source="shop-file",
            ),
        )
    sure = f"The shop's own rates, sheet counted by {by}; setting up, facing and bought parts are not in it."
    if price.has_placeholders:
        keys = sorted({line.key for line in price.lines if line.is_placeholder and line.amount > 0.0})
        sure = (
            f"Placeholder prices stand in it ({', '.join(keys)}): it compares one way of making the pan with "
            f"another and is no offer. Sheet is counted by {by}; setting up, facing and bought parts are not "
            "in it."
        )
    return (
        Finding(
            "KIT-74",
            Verdict.HOLDS,
            "price",
            ("With placeholder prices, sheet" if price.has_placeholders else "Sheet")
            + ", cutting, bending and welding come to {total}.",
            (Figure("total", price.total, price.currency, "price", 0),),
            value=price.total,
            unit=price.currency,
            kind="price",
            how_sure=sure,
            do="Put your own figures in the shop file." if price.has_placeholders else "",
            source="shop-file",
        ),
    )
