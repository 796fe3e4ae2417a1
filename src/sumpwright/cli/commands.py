"""The commands, in shop words. Each reads, runs and shows; none calculates."""

from __future__ import annotations

import sys
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import App, CycloptsError, Parameter
from cyclopts.exceptions import (
    MissingArgumentError,
    UnknownCommandError,
    UnknownOptionError,
    UnusedCliTokensError,
)

from sumpwright.cli.progress import Display

if TYPE_CHECKING:
    from sumpwright.flow import StageName

COMMANDS = ("new", "rail", "check", "drive", "pack", "open", "explore", "record")

app = App(
    name="sumpwright",
    help="From caliper readings of an engine's pan rail to a kit of cut sheet parts for a one-off oil pan.",
    help_format="plaintext",
    help_formatter="plain",
    help_epilogue=(
        "Exit status: 0 all hold or are close; 1 something fails or cannot be said;"
        " 2 the job could not be read or the pack could not be written."
    ),
    version=lambda: metadata.version("sumpwright"),
    suppress_keyboard_interrupt=False,
)

JobPath = Annotated[Path, Parameter(help="The job folder, or its job.toml.")]


@app.command
def new(
    folder: Annotated[Path, Parameter(help="The folder to lay out; it must be new or empty.")],
    /,
    *,
    like: Annotated[str, Parameter(help="The example to start from.")] = "hillclimb-four",
    after: Annotated[
        Path | None, Parameter(help="Your own older job to start from instead, with what its record taught.")
    ] = None,
) -> int:
    """Lay out a new job: job file, readings file and shop file to write over.

    The files are those of the example, and pack as they stand. Change them to your pan bit
    by bit, and run 'check' after each change.
    """
    from sumpwright.job import lay_out, lay_out_after

    written = lay_out(folder, like) if after is None else lay_out_after(folder, after)
    print(f"Laid out {folder} like {like if after is None else after}:")
    for path in written:
        print(f"  {path.relative_to(folder)}")
    print(f"Next: sumpwright check {folder}")
    return 0


@app.command
def rail(job: JobPath, /) -> int:
    """Fit the caliper readings together, and nothing else.

    Says where the holes are and how sure that is, which reading is bad, and which reading
    to take next.
    """
    return _show(job, ("rail",))


@app.command
def check(job: JobPath, /) -> int:
    """Work out all that answers at once and print the findings. Writes nothing.

    'drive' and 'pack' also drive the pan through its manoeuvres, and 'pack' places the
    etched marks on the parts.
    """
    return _show(job, None)


@app.command
def drive(
    job: JobPath,
    /,
    *,
    free_surface: Annotated[
        bool,
        Parameter(
            negative="",
            help="Also work out the oil as it really moves, in three dimensions, in the three worst "
            "manoeuvres or those that the job names. Takes minutes; Ctrl-C keeps what is done.",
        ),
    ] = False,
    minutes: Annotated[
        float | None,
        Parameter(
            help="How long that may take on this machine: sets the cell size and writes it into the job file."
        ),
    ] = None,
    on: Annotated[
        Literal["processor", "card"],
        Parameter(help="What works the oil out: this machine's processor, or a graphics card."),
    ] = "processor",
) -> int:
    """Drive the pan through its manoeuvres and say how long the pickup draws air.

    Corners, braking, launches, hills and side slopes, or heel and roll, as hard as [loads]
    asks; every door of the inner walls failing in turn; and which change helps most.
    """
    if free_surface or minutes is not None or on != "processor":
        from sumpwright.cli.moving_oil import drive_free_surface

        return drive_free_surface(job, free_surface, minutes, on)
    return _show(job, ("drive",))


@app.command
def pack(
    job: JobPath,
    /,
    *,
    out: Annotated[
        Path | None, Parameter(help="Where the shop pack goes. Without it: 'pack' beside the job file.")
    ] = None,
) -> int:
    """Work the whole job out and write the shop pack.

    The pack is a folder: job sheet, 1:1 template, cut files, parts list, bolt list, solid
    pictures, and every number in results.json. It is written whole or not at all; an
    earlier pack of ours in the same place is replaced only once the new one is complete.
    """
    from dataclasses import replace

    from sumpwright.flow import ALL_STAGES, Memory, exit_status, run
    from sumpwright.flow.alternatives import alternatives
    from sumpwright.flow.beside import Beside
    from sumpwright.flow.free_surface import replays, with_kept
    from sumpwright.flow.material_page import material_choices
    from sumpwright.job import read_job

    with Display(more_steps=1) as display:
        display.says("reading the job")
        the_job, memory = read_job(job), Memory()
        with Beside(the_job) as beside:
            results = run(the_job, ALL_STAGES, on_progress=display.stage, memory=memory)
            display.last_step("Pack: trying other ways to make it")
            results = with_kept(the_job, results)
            if results.kit is not None and results.kit.parts:
                others = beside.answer(memory)
                results = replace(
                    results,
                    alternatives=alternatives(the_job, results, memory, others.alternatives),
                    materials=material_choices(the_job, results, memory, others.materials),
                )
        display.last_step("Pack: drawing and writing")
        from sumpwright.outputs import write_pack
        from sumpwright.outputs.earlier_pack import earlier_pack, since_earlier, told

        folder = out if out is not None else the_job.job_file.parent / "pack"
        earlier = earlier_pack(folder)
        write_pack(the_job, results, folder, replays(the_job, results))

    from sumpwright.outputs.terminal import print_findings

    print_findings(the_job, results, sys.stdout)
    written = earlier_pack(folder)
    if earlier is not None and written is not None:
        for line in told(since_earlier(earlier, written)):
            print(line)
    print(f"Shop pack: {folder}")
    return exit_status(results.findings)


@app.command
def explore(
    plan: Annotated[Path, Parameter(help="The plan file, or the folder with its plan.toml.")],
    /,
    *,
    workers: Annotated[
        int | None, Parameter(help="Processes on this machine. Without it: one for each core.")
    ] = None,
    scheduler: Annotated[
        str | None,
        Parameter(help="Address of a scheduler that runs already, whose workers do it: tcp://host:8786"),
    ] = None,
    take: Annotated[
        int | None, Parameter(help="Write the job file of the variant with this number, and do nothing else.")
    ] = None,
    out: Annotated[
        Path | None, Parameter(help="Where the answers go. Without it: 'explored' beside the plan.")
    ] = None,
) -> int:
    """Try many variants of a job and show those that nothing beats.

    The plan says what may vary and what counts. Whatever was found is kept and never worked
    out twice: stopped or killed, the same command goes on from there. The same plan gives the
    same answer with one process or many.
    """
    from sumpwright.cli.variants import explore_plan

    return explore_plan(plan, workers, scheduler, take, out)


@app.command(name="open")
def open_(
    job: Annotated[
        Path, Parameter(help="The job folder, or its job.toml; a new folder is asked about on the page.")
    ] = Path(),
    /,
    *,
    port: Annotated[int, Parameter(help="The port to listen on; 0 takes any free one.")] = 0,
    browser: Annotated[bool, Parameter(help="Show the page in the browser.")] = True,
) -> int:
    """Open the job sheet in the browser and work on the job there.

    The page is served on this machine only, until Ctrl-C. Every change goes to the job's
    files at once; comments and order stay, and what an editor outside changes is taken in.
    """
    from sumpwright.web.run_server import open_job

    open_job(job, port, browser, lambda words: print(words, flush=True))
    return 0


@app.command
def record(
    job: JobPath,
    readings: Annotated[
        Path | None, Parameter(help="The filled-in form. Without it: 'as-built.toml' in the job folder.")
    ] = None,
    /,
    *,
    to_shop: Annotated[
        bool,
        Parameter(negative="", help="Also write the measured bow into shop.toml, for the next pan."),
    ] = False,
) -> int:
    """Write down what was read of the finished pan, and say what it means.

    The first time it lays out the form 'as-built.toml', the bench sheet's fields in the same
    order. Filled in, each run keeps a copy under 'record', numbered, never written over.
    """
    from sumpwright.cli.record_keeping import keep

    return keep(job, readings, to_shop=to_shop)


def _show(path: Path, stages: tuple[StageName, ...] | None) -> int:
    """Run the stages and print the findings."""
    from sumpwright.flow import QUICK_STAGES, exit_status, run
    from sumpwright.job import read_job
    from sumpwright.job.model import without_pack_work
    from sumpwright.outputs.terminal import print_findings

    with Display() as display:
        display.says("reading the job")
        job = read_job(path)
        results = run(
            without_pack_work(job), QUICK_STAGES if stages is None else stages, on_progress=display.stage
        )
        if results.drive is not None:
            from sumpwright.flow.free_surface import with_kept

            results = with_kept(job, results)
    print_findings(job, results, sys.stdout)
    return exit_status(results.findings)


def command_line_words(error: CycloptsError) -> str:
    """What is wrong with the command line, and what would be right."""
    if isinstance(error, UnknownCommandError):
        asked = error.unused_tokens[0] if error.unused_tokens else ""
        return f"There is no command {asked!r}. The commands are: {', '.join(COMMANDS)}."
    if isinstance(error, MissingArgumentError):
        return f"Something is missing: {error} See: sumpwright --help"
    if isinstance(error, (UnknownOptionError, UnusedCliTokensError)):
        return f"Something is too much: {error} See: sumpwright --help"
    return f"{error} See: sumpwright --help"
