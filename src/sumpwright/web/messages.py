"""What page and server say to each other: one schema for both sides.

``page/src/messages.ts`` is written from these models (and from ``picture_messages``) by
``python -m tests.web.write_messages``; do not edit it by hand.

Every path below wants the header ``Sumpwright-Key`` with the key that stands behind ``#key=``
in the address the page was opened with; only ``GET /`` and ``GET /assets/...`` go without.
Bodies are JSON unless it says otherwise. A key that carries a unit ends on it, as in
results.json: lengths in mm, angles in degrees, volumes in litres, the engine's axes.

| path | asks | answers |
|---|---|---|
| GET /sheet | | ``SheetState`` |
| POST /edit | ``EditRequest`` | ``EditAnswer`` |
| POST /undo, /redo | ``StepRequest`` | ``EditAnswer`` |
| GET /events | | server-sent events by ``fetch``, each ``data:`` line one ``ServerEvent`` |
| GET /pan, /parts, /rail-plan, /cover, /traces, /suction, /replay | | see ``picture_messages`` |
| GET /build, /explored | | the same |
| POST /lean | ``LeanRequest`` | ``LeanAnswer`` |
| POST /try | ``TryRequest`` | ``TryAnswer``: what a change would do, nothing is written |
| POST /drive, /weld, /pack, /cancel | ``StepRequest`` | ``StartAnswer``; progress comes as events |
| POST /free-surface | ``FreeSurfaceRequest`` | ``StartAnswer`` |
| GET /replay-part?run=...&at=0&size=1000 | | bytes of a replay file, as ``ReplayPicture`` places its frames |
| POST /take | ``TakeRequest`` | ``TakeAnswer`` |
| GET /questions | | ``Questions`` |
| POST /new | ``NewRequest`` | ``NewAnswer`` |
| POST /upload?name=...&kind=scan | the file's bytes | ``UploadAnswer`` |
| GET /pack-file?name=job-sheet.pdf | | the file, once a pack is written |

Anything refused answers with a status of 400 or more and a ``Refusal``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

MESSAGES: Literal[1] = 1
"""Version of this schema; raised when a key changes or goes."""

Verdict = Literal["holds", "close", "fails", "cannot say"]

SectionKey = Literal["job", "rail", "body", "oil", "motion", "suction", "kit", "weld", "proof"]
"""Sections of the sheet in the order of the work; 'job' is its head."""

SlowWork = Literal["", "drive", "free surface", "weld", "pack"]
"""Work that takes longer than one waits for; one at a time. "" = none."""

FileKind = Literal["job", "shop", "readings"]

HoldsWhat = Literal["quantity", "word", "flag", "name", "list", "pairs", "text"]
"""What stands in a field: a number with its unit; one word of a list; true or false; a name; a list as
the file writes it; pairs in curly brackets; anything else."""


class Message(BaseModel):
    """Nothing unknown gets in, nothing is guessed from another type."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


# ---------------------------------------------------------------- the sheet


class FieldRow(Message):
    """One key of a file, as it stands there."""

    file: FileKind
    key: str  # target of an edit: "lumps.sump.depth", 'walls."rear baffle".start'
    label: str  # "depth"
    text: str  # as typed, without the quotes; "" where nothing stands
    given: bool  # the key stands in the file
    needed: bool
    holds: HoldsWhat
    kind: str  # of a quantity: "length", "volume"; else ""
    words: list[str]  # that may stand here; empty where it is no choice
    help: str
    allowed: str  # "between 5 mm and 800 mm", in the job's units; "" where nothing bounds it
    example: str
    value: float | None  # of a readable quantity, in ``unit``
    least: float | None  # in ``unit``
    most: float | None
    unit: str  # "mm", "in", "°"; "" where there is none
    taken: str  # what stands in because nothing is given, a sentence; "" where nothing does
    faults: list[str]  # what is wrong with it now


class FieldGroup(Message):
    """One section of a file, or one member of a list of sections."""

    file: FileKind
    key: str  # "pan"; "lumps.sump"
    list_key: str  # "lumps" for a member of a list; "" for a single section
    title: str  # "Pan"; "Lump: sump"
    help: str
    given: bool  # stands in the file
    fields: list[FieldRow]


class ListOffer(Message):
    """A list of sections to which a member can be added."""

    file: FileKind
    list_key: str
    title: str  # "a lump"
    help: str
    members: list[str]  # keys of the members, in the order of the file
    new_member: str  # TOML text of a member to begin with: '{ name = "lump 2", ... }'


class KeyNumber(Message):
    """One key figure."""

    label: str
    text: str  # with its unit
    note: str


class TableRow(Message):
    """A marked row wants to be seen first."""

    cells: list[str]
    marked: bool


class TableBlock(Message):
    """A table under a caption, as the printed sheet has it."""

    caption: str
    columns: list[str]
    right: list[bool]  # column stands flush right
    rows: list[TableRow]
    words: list[str]  # sentences that stand above it
    stale: bool  # of slow work on an earlier state of the files


class ProposalRow(Message):
    """A change that would help."""

    file: FileKind
    key: str
    value: str
    says: str


class CautionRow(Message):
    """The usual caution beside a step."""

    heading: str
    says: str


class FindingRow(Message):
    """One thing that is said."""

    id: str  # code and place: stays the same from run to run
    stale: bool  # of slow work on an earlier state of the files
    code: str
    verdict: Verdict
    where: str
    says: str
    how_sure: str
    do: str
    source: str
    value: float | None  # in ``unit``
    limit: float | None
    u95: float | None
    unit: str
    place_mm: tuple[float, float, float] | None  # engine axes, as in the pan's picture
    proposals: list[ProposalRow]
    cautions: list[CautionRow]


class SectionSays(Message):
    """What one section of the sheet says; sent again whenever it was worked out anew."""

    section: SectionKey
    heading: str  # "Rail"
    verdict: Verdict | None  # worst; None where nothing was judged
    tally: str  # "1 fails, 3 are close, 20 hold"
    stale: bool  # worked out from an earlier state of the files
    findings: list[FindingRow]  # worst first
    numbers: list[KeyNumber]
    tables: list[TableBlock]


class SectionAsks(Message):
    """What one section of the sheet asks for."""

    section: SectionKey
    heading: str
    groups: list[FieldGroup]
    offers: list[ListOffer]


class ReadingRow(Message):
    """One line of the readings file."""

    line: int  # of the file, counted from one
    kind: str
    a: str
    b: str
    reading: str
    tool: str  # column ``with``
    u: str
    note: str
    remark: bool  # a line that begins with #; ``note`` holds it
    adjusted: str  # what it should have been, with its unit; "" where not known
    off_by: str  # reading less that
    checked: str  # "cannot be checked", "" where it can
    set_aside: bool
    faults: list[str]


class ReadingsTable(Message):
    """The readings file as rows."""

    file: str
    kinds: dict[str, str]  # word -> what was read
    tools: list[str]
    columns: dict[str, str]  # kind, a, b, reading, with, u, note -> what it holds
    rows: list[ReadingRow]


class FaultRow(Message):
    """One thing in the files that cannot be read."""

    file: str
    line: int | None
    key: str
    read: str
    rule: str
    allowed: str
    good: str


class ChangeRow(Message):
    """One change since the job was opened."""

    number: int
    file: FileKind
    key: str
    before: str
    after: str
    by: Literal["page", "outside", "proposal", "drag"]


class StepRow(Message):
    """How one finding moved with the last change."""

    code: str
    where: str
    step: Literal["better", "worse", "new", "gone"]
    says: str


class LastChange(Message):
    """What the last change did."""

    key: str
    after: str
    steps: list[StepRow]
    seconds: float  # from the edit to the last figure of the quick stages


class RunState(Message):
    """Where the work stands."""

    generation: int  # counts up with every change of the files
    working: SectionKey | None
    doing: str
    done: int
    of: int
    stale: list[SectionKey]
    slow: list[SlowState]
    slow_running: SlowWork
    slow_doing: str
    slow_done: int
    slow_of: int


class SlowState(Message):
    """Work that is only done when it is asked for, and how its figures stand."""

    work: SlowWork
    done: bool
    stale: bool  # its figures are of an earlier state of the files


class VerdictLine(Message):
    """The line that stays in view."""

    headline: str
    tally: str
    sections: list[SectionVerdict]


class SectionVerdict(Message):
    """One section in that line."""

    section: SectionKey
    heading: str
    verdict: Verdict | None
    stale: bool


class PictureRevisions(Message):
    """Which state each picture was drawn from; fetch again what differs from yours."""

    pan: str
    parts: str
    build: str
    rail_plan: str
    cover: str
    traces: str
    suction: str
    replay: str
    explored: str  # "" = nothing was explored in this folder


class PackState(Message):
    """The shop pack on the disk."""

    written: bool
    stale: bool  # the files have changed since
    files: list[str]  # names for GET /pack-file
    folder: str  # its name beside the job file


class JobHead(Message):
    """Which job this is."""

    name: str
    folder: str  # its last name only
    job_file: str
    shop_file: str  # "" = none
    units: Literal["mm", "in"]
    paper: Literal["A4", "Letter"]


class SheetState(Message):
    """Everything that stands on the sheet but its pictures."""

    messages: Literal[1]
    has_job: bool  # False: the folder is new; show the questions
    job: JobHead | None
    version: str  # of the files: an edit names the one it was made on
    asks: list[SectionAsks]
    says: list[SectionSays]
    readings: ReadingsTable | None
    verdict: VerdictLine
    run: RunState
    faults: list[FaultRow]  # while there are any, nothing is worked out anew
    assumptions: list[AssumptionRow]
    cautions: list[CautionRow]
    changes: list[ChangeRow]
    undo: str  # what undo would take back; "" = nothing
    redo: str
    last_change: LastChange | None
    pictures: PictureRevisions
    pack: PackState
    also_open: int  # job sheets on the same folder beside this one


class AssumptionRow(Message):
    """A figure that was taken because the job does not say."""

    key: str
    says: str
    source: str


# ---------------------------------------------------------------- edits


class SetKey(Message):
    """Write a key; ``text`` as a fabricator would, lists as the file has them."""

    do: Literal["set"]
    file: Literal["job", "shop"]
    key: str = Field(max_length=400)
    text: str = Field(max_length=20_000)
    was: str | None = Field(max_length=20_000)  # what the page showed; None = ask nobody


class ClearKey(Message):
    """Take a key out of the file."""

    do: Literal["clear"]
    file: Literal["job", "shop"]
    key: str = Field(max_length=400)
    was: str | None = Field(max_length=20_000)


class AddMember(Message):
    """Put a member at the end of a list of sections."""

    do: Literal["add"]
    file: Literal["job", "shop"]
    list_key: str = Field(max_length=100)
    member: str = Field(max_length=20_000)  # TOML: '{ name = "notch", does = "cuts" }'


class RemoveMember(Message):
    """Take a member of a list of sections out, or a whole section."""

    do: Literal["remove"]
    file: Literal["job", "shop"]
    key: str = Field(max_length=400)


class SetCell(Message):
    """Write one cell of the readings file."""

    do: Literal["cell"]
    line: int
    column: Literal["kind", "a", "b", "reading", "with", "u", "note"]
    text: str = Field(max_length=300)
    was: str | None = Field(max_length=300)


class AddReading(Message):
    """Put a line into the readings file; 0 = at the end."""

    do: Literal["add reading"]
    after_line: int
    kind: str = Field(max_length=60)
    a: str = Field(max_length=60)
    b: str = Field(max_length=200)
    reading: str = Field(max_length=60)
    tool: str = Field(max_length=60)
    u: str = Field(max_length=60)
    note: str = Field(max_length=200)


class RemoveReading(Message):
    """Take a line out of the readings file."""

    do: Literal["remove reading"]
    line: int
    was: str = Field(max_length=300)  # its cell ``reading``


class DragTo(Message):
    """Write what was dragged in the pan's picture: all its keys at once."""

    do: Literal["drag"]
    name: str = Field(max_length=100)  # of the drag
    to_mm: float = Field(ge=-10_000.0, le=10_000.0)


Edit = Annotated[
    SetKey | ClearKey | AddMember | RemoveMember | SetCell | AddReading | RemoveReading | DragTo,
    Field(discriminator="do"),
]


class EditRequest(Message):
    """One step of undo: all of it is taken or none."""

    version: str = Field(max_length=80)  # ``SheetState.version`` the page shows
    edits: list[Edit] = Field(min_length=1, max_length=50)
    by: Literal["page", "proposal", "drag"] = "page"
    draft: bool = False  # typed or dragged further at once: joins the step before it if that was one too


class StepRequest(Message):
    """Undo, redo, drive, pack, cancel."""

    version: str = Field(max_length=80)


class Asked(Message):
    """The same place was changed by somebody else meanwhile: which shall stand?"""

    file: FileKind
    key: str
    was: str
    theirs: str
    yours: str


class EditAnswer(Message):
    """What became of an edit.

    taken: written, and worked out anew (events follow). kept: written although it cannot be
    read as a whole job; ``faults`` say why, nothing is worked out until they are put right.
    refused: nothing was written. asks: nothing was written; send the edit again with ``was``
    as ``theirs`` to write over it.
    """

    outcome: Literal["taken", "kept", "refused", "asks"]
    version: str
    generation: int
    faults: list[FaultRow]
    asks: list[Asked]
    fields: list[FieldRow]  # those whose text changed
    reshaped: bool  # sections or lines came or went: get the sheet again
    undo: str
    redo: str


class TryRequest(Message):
    """What would this change do?"""

    key: str = Field(max_length=400)
    value: str = Field(max_length=20_000)


class TryAnswer(Message):
    """Before and after, nothing written."""

    faults: list[FaultRow]
    steps: list[StepRow]


class FreeSurfaceRequest(Message):
    """Work out how the oil really moves."""

    version: str = Field(max_length=80)
    minutes: float | None = Field(ge=0.1, le=1440.0)  # cells are chosen for it; None = those of the job file


class TakeRequest(Message):
    """Write the job file of a variant that was explored."""

    number: int = Field(ge=1, le=10_000_000)


class TakeAnswer(Message):
    """Where it stands beside the job file, or why not."""

    file: str
    why_not: str


class StartAnswer(Message):
    """Whether the work has begun."""

    started: bool
    why_not: str


# ---------------------------------------------------------------- events


class StaleEvent(Message):
    """The files changed; these sections are old until 'said' comes for them."""

    event: Literal["stale"]
    run: RunState
    version: str


class WorkingEvent(Message):
    """What is being done now."""

    event: Literal["working"]
    run: RunState


class SaidEvent(Message):
    """One section, fresh."""

    event: Literal["said"]
    generation: int
    says: SectionSays
    verdict: VerdictLine
    pictures: PictureRevisions


class SettledEvent(Message):
    """Everything asked for is fresh."""

    event: Literal["settled"]
    run: RunState
    verdict: VerdictLine
    pictures: PictureRevisions
    last_change: LastChange | None
    assumptions: list[AssumptionRow]
    readings: ReadingsTable | None
    pack: PackState


class FilesEvent(Message):
    """The files are others than before: by this page, another tab, or an editor outside."""

    event: Literal["files"]
    version: str
    by: Literal["page", "outside"]
    fields: list[FieldRow]  # those whose text changed
    reshaped: bool
    faults: list[FaultRow]
    changes: list[ChangeRow]
    undo: str
    redo: str


class SlowEvent(Message):
    """How far slow work is."""

    event: Literal["slow"]
    work: SlowWork
    trouble: str  # why it could not be done; "" = nothing
    run: RunState  # without ``slow_running`` once it has ended
    pack: PackState


class TroubleEvent(Message):
    """The program itself went wrong while working; the files are as they were."""

    event: Literal["trouble"]
    says: str


class OthersEvent(Message):
    """Another job sheet was opened on the same folder, or closed."""

    event: Literal["others"]
    also_open: int


class HereEvent(Message):
    """Sent when nothing happens, so that a page knows that the server is there."""

    event: Literal["here"]


ServerEvent = Annotated[
    StaleEvent
    | WorkingEvent
    | SaidEvent
    | SettledEvent
    | FilesEvent
    | SlowEvent
    | TroubleEvent
    | OthersEvent
    | HereEvent,
    Field(discriminator="event"),
]


# ---------------------------------------------------------------- a new job


class Question(Message):
    """One question before a job is laid out."""

    key: str
    asks: str
    why: str
    holds: Literal["choices", "choice", "quantity", "tilt", "name"]
    # tilt: level, or one of two sides and by how much
    words: list[str]
    example: str
    needed: bool


class Questions(Message):
    """What is asked, in order."""

    questions: list[Question]


class Answer(Message):
    """The answer to one question; several words where it allows them."""

    key: str = Field(max_length=60)
    words: list[str] = Field(max_length=30)


class NewRequest(Message):
    """Lay out a job."""

    answers: list[Answer] = Field(max_length=60)


class NewAnswer(Message):
    """The job lies there, or what is still wrong with the answers."""

    laid_out: bool
    faults: list[FaultRow]  # ``key`` is the question's
    notes: list[str]  # what has to be put in next, and what cannot move into a sheet pan


class UploadAnswer(Message):
    """Where a file went."""

    file: str
    size: int
    says: str


class Refusal(Message):
    """Why a request was not taken."""

    says: str


VerdictLine.model_rebuild()
RunState.model_rebuild()
SheetState.model_rebuild()
EditRequest.model_rebuild()
