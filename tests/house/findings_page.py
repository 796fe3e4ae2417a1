"""The list of finding codes, read from the source."""

from __future__ import annotations

from tests.house.finding_codes import SECTIONS, sentences_by_code
from tests.house.repository import DOCS

PAGE = DOCS / "findings.md"

HEAD = """\
# Findings: every code and what it says

Written by `make docs` from the source; do not edit. A code keeps its meaning for ever; its
sentence may improve. `{name}` is a number filled in with the user's units, `...` a name from
the job. Verdicts: *holds*, *close* (the uncertainty covers the gap to the limit), *fails*,
*cannot say* (something was not measured or not given; it never counts as holding).

Number 00 of every stage: *cannot say*; the stage could not run, and the finding names what it
lacks. All others:
"""


def findings_page() -> str:
    """The whole page."""
    said = sentences_by_code()
    lines = [HEAD]
    for prefix, (_, section) in SECTIONS.items():
        if any(code.partition("-")[0] == prefix for code in said):
            lines.append(f"## {section}\n")
        for code, sentences in said.items():
            if code.partition("-")[0] == prefix:
                lines.append(f"**{code}**\n")
                lines.extend(f"- {sentence}" for sentence in sentences)
                lines.append("")
    return "\n".join(lines).rstrip() + "\n"
