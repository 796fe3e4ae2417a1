"""The findings on the screen: verdict words first, the same sentences as on the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, TextIO

from sumpwright.findings import Verdict
from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.sections import by_section, tally
from sumpwright.outputs.words import FindingWords, finding_words, proposal_words

if TYPE_CHECKING:
    from rich.text import Text

WIDTH = 80
"""Columns where the output is no terminal."""

_STYLE = {
    Verdict.HOLDS: "",
    Verdict.CLOSE: "bold",
    Verdict.CANNOT_SAY: "bold underline",
    Verdict.FAILS: "bold reverse",
}


def print_findings(job: Job, results: JobResults, stream: TextIO) -> None:
    """The findings table, section by section; plain text where the stream is no terminal."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    is_screen = stream.isatty()
    console = Console(
        file=stream,
        width=None if is_screen else WIDTH,
        highlight=False,
        markup=False,
        emoji=False,
        no_color=None if is_screen else True,
        force_terminal=None if is_screen else False,
        soft_wrap=False,
    )
    console.print(Text(job.name, style="bold"))
    for heading, findings in by_section(results.findings):
        console.print()
        console.print(Text(heading, style="bold underline" if is_screen else ""))
        table = Table.grid(padding=(0, 2, 0, 0))
        table.add_column(min_width=10, no_wrap=True)
        table.add_column(min_width=8, no_wrap=True)
        table.add_column(ratio=1)
        for finding in findings:
            said = finding_words(finding, job.units)
            changes = [
                proposal_words(proposal, job.units)
                for proposal in results.proposals
                if proposal.code == finding.code
            ]
            table.add_row(
                Text(said.verdict.value, style=_STYLE[said.verdict]), Text(said.code), _words(said, changes)
            )
        console.print(table)
    console.print()
    console.print(Text(f"Altogether: {tally(results.findings)}.", style="bold"))
    count = len(results.assumptions)
    if count:
        console.print(
            Text(
                f"{count} {'figure was' if count == 1 else 'figures were'} taken because the job does not"
                " say; the job sheet lists them."
            )
        )


def _words(said: FindingWords, changes: list[str]) -> Text:
    """Where and what, how sure, what to do."""
    from rich.text import Text

    text = Text(f"{said.where}: ", style="bold")
    text.append(said.says, style="not bold")
    if said.how_sure:
        text.append(f" {said.how_sure}", style="not bold")
    for todo in (said.do, *changes):
        if todo:
            text.append(f"\n> {todo}", style="not bold")
    return text
