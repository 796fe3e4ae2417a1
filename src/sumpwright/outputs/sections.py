"""The sections of the sheet in the order of the work, and which findings stand in each."""

from __future__ import annotations

from sumpwright.findings import SEVERITY, Finding, Verdict

SECTIONS: tuple[tuple[str, str], ...] = (
    ("RAIL", "Rail"),
    ("BODY", "Shape"),
    ("OIL", "Oil"),
    ("MOT", "Motion"),
    ("SUC", "Suction"),
    ("KIT", "Parts"),
    ("WELD", "Welding"),
    ("PROOF", "Proof"),
)
"""Code prefix and heading."""


def section_of(finding: Finding) -> str:
    """Heading of the section a finding stands in; an unknown prefix is its own heading."""
    prefix = finding.code.partition("-")[0]
    return dict(SECTIONS).get(prefix, prefix)


def by_section(findings: tuple[Finding, ...]) -> tuple[tuple[str, tuple[Finding, ...]], ...]:
    """Headings with their findings, in the order of the work; empty sections are left out."""
    headings = [heading for _, heading in SECTIONS]
    headings += [section_of(finding) for finding in findings if section_of(finding) not in headings]
    grouped = (
        (heading, tuple(finding for finding in findings if section_of(finding) == heading))
        for heading in dict.fromkeys(headings)
    )
    return tuple((heading, group) for heading, group in grouped if group)


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Fails, cannot say, close, holds; within a verdict the order of the work."""
    return tuple(sorted(findings, key=lambda finding: -SEVERITY[finding.verdict]))


def tally(findings: tuple[Finding, ...]) -> str:
    """How many of each verdict, worst first: "1 fails, 2 cannot be said, 3 are close, 20 hold"."""
    words = {
        Verdict.FAILS: ("fails", "fail"),
        Verdict.CANNOT_SAY: ("cannot be said", "cannot be said"),
        Verdict.CLOSE: ("is close", "are close"),
        Verdict.HOLDS: ("holds", "hold"),
    }
    counts = {verdict: sum(finding.verdict is verdict for finding in findings) for verdict in words}
    said = [f"{count} {words[verdict][count != 1]}" for verdict, count in counts.items() if count]
    return ", ".join(said) or "nothing was judged"
