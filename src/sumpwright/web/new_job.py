"""A new job by a few questions: an example's files with the answers written into them.

The rail's holes, the lumps and all that was not asked stay the example's until they are
written over; the notes say so, section by section.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from sumpwright.job import Fault, JobError, lay_out, read_job
from sumpwright.job.read import JOB_FILE
from sumpwright.job.sections import ATTACHED, PRESSURE, STRUCTURAL
from sumpwright.tables.uses import uses
from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.job_folder import write_whole
from sumpwright.web.messages import NewAnswer, NewRequest, Question, Questions
from sumpwright.web.said import fault_rows
from sumpwright.web.toml_edits import clear_key, set_key, toml_text
from sumpwright.web.workbench import Workbench

_AFLOAT = ("marine", "marine emergency", "sailing hull", "planing hull")
_CLEARS = ("ground", "axle", "steering", "cross-member", "engine bearers", "bilge")
_LEVEL = "level"
_TILTS = {
    "along": {"front raised": "nose_up", "front lowered": "nose_down"},
    "across": {"top over to the left": "lean_left", "top over to the right": "lean_right"},
}
_SITS = tuple(word for sides in _TILTS.values() for word in sides.values())
_EXAMPLES = {"marine": "motor-sailer", "in": "slope-chipper-adapter", "mm": "hillclimb-four"}


def questions() -> Questions:
    """What is asked, in order."""
    asked = [
        _question("name", "What is this pan called?", "It heads every page.", "name", (), "Hill-climb four",
                  True),
        _question("units", "Millimetres or inches?", "What the sheet prints; both may be typed.", "choice",
                  ("mm", "in"), "mm", True),
        _question("carries", "What did the old pan carry, besides holding oil?",
                  "Oil under pressure and load do not move into a plain sheet pan.", "choices",
                  (*ATTACHED, *PRESSURE, *STRUCTURAL), "pickup", False),
        _question("along", "How does the engine sit along its length, and by how much?",
                  "Its front raised or lowered against level ground.", "tilt", (_LEVEL, *_TILTS["along"]),
                  "7 deg", False),
        _question("across", "And across, seen from behind?", "Its top over to one side.", "tilt",
                  (_LEVEL, *_TILTS["across"]), "15 deg", False),
        _question("clears", "What must it clear?", "Each of these wants a place under Shape.", "choices",
                  _CLEARS, "ground", False),
        _question("ground_clearance", "How far above level ground must it stay?",
                  "Its lowest part at ride height; leave it empty in a boat.", "quantity", (), "90 mm",
                  False),
        _question("datum_height", "How high does the first hole of the rail stand above level ground?",
                  "Without it nothing is said of the ground.", "quantity", (), "262 mm", False),
        _question("fill", "How much oil is poured in?", "The whole fill of the dry engine.", "quantity", (),
                  "4.8 L", True),
        _question("use", "What is it for?",
                  "It says how hard the oil is thrown about, until you say it better.",
                  "choice", tuple(use.use for use in uses()), "road", True),
    ]  # fmt: skip
    return Questions(questions=asked)


def lay_out_job(bench: Workbench, request: NewRequest) -> NewAnswer:
    """Lay the job out in the open folder, or say what is wrong with the answers; then open it."""
    with bench.lock:
        if bench.has_job:
            return _refused("", "a job lies in this folder already; it is never written over")
        given = {
            answer.key: [word.strip() for word in answer.words if word.strip()] for answer in request.answers
        }
        faults = _missing(given)
        if faults:
            return NewAnswer(laid_out=False, faults=fault_rows(faults), notes=[])
        example = _example(given)
        try:
            with tempfile.TemporaryDirectory() as name:
                trial = Path(name) / "job"
                lay_out(trial, example)
                text = _answered((trial / JOB_FILE).read_text("utf-8"), given)
                (trial / JOB_FILE).write_text(text, "utf-8")
                read_job(trial)
            lay_out(bench.folder.folder, example)
            write_whole(bench.folder.folder / JOB_FILE, text.encode("utf-8"))
        except EditRefusedError as refused:
            return NewAnswer(laid_out=False, faults=fault_rows([_as_answer(refused.fault)]), notes=[])
        except JobError as trouble:
            return NewAnswer(laid_out=False, faults=fault_rows(map(_as_answer, trouble.faults)), notes=[])
        except OSError as trouble:
            return _refused("", f"the folder cannot be written: {(trouble.strerror or str(trouble)).lower()}")
        bench.open_files()
    return NewAnswer(laid_out=True, faults=[], notes=_notes(given, example))


def _question(
    key: str, asks: str, why: str, holds: str, words: tuple[str, ...], example: str, needed: bool
) -> Question:
    return Question.model_validate(
        {
            "key": key, "asks": asks, "why": why, "holds": holds, "words": list(words), "example": example,
            "needed": needed,
        }
    )  # fmt: skip


def _missing(given: Mapping[str, list[str]]) -> list[Fault]:
    faults = []
    for question in questions().questions:
        answer = given.get(question.key, [])
        if question.needed and not answer:
            faults.append(Fault("", None, question.key, "", "this has to be answered", "", question.example))
        if question.holds == "tilt":
            faults += _tilt_faults(question, answer)
            continue
        if question.holds != "choices" and len(answer) > 1:
            faults.append(Fault("", None, question.key, "", "one answer is wanted"))
        for word in answer:
            if question.words and word not in question.words:
                allowed = ", ".join(question.words)
                faults.append(
                    Fault("", None, question.key, word[:40], "this word is not known here", allowed)
                )
    return faults


def _tilt_faults(question: Question, answer: list[str]) -> list[Fault]:
    """Level, or one side and by how much."""
    if not answer or answer == [_LEVEL]:
        return []
    if answer[0] not in question.words:
        allowed = ", ".join(question.words)
        return [Fault("", None, question.key, answer[0][:40], "this word is not known here", allowed)]
    if answer[0] == _LEVEL:
        return [Fault("", None, question.key, "", "level takes no angle")]
    if len(answer) != 2:
        return [Fault("", None, question.key, "", f"{answer[0]}: by how much?", "", question.example)]
    return []


def _example(given: Mapping[str, list[str]]) -> str:
    if given["use"][0] in _AFLOAT:
        return _EXAMPLES["marine"]
    return _EXAMPLES[given["units"][0]]


def _answered(text: str, given: Mapping[str, list[str]]) -> str:
    """The example's job file with the answers in it."""
    text = clear_key(text, "old_pan.moved")
    for word in ("turned_left", "turned_right", *_SITS):
        text = clear_key(text, f"engine.{word}")
    for target in ("oil.old_capacity", "engine.datum_height", "vehicle.ground_clearance"):
        text = clear_key(text, target)
    if not given.get("ground_clearance"):
        # Slopes are looked at with the ground, and there is none without its clearance.
        for word in ("crest", "approach", "departure"):
            text = clear_key(text, f"vehicle.{word}")
    for word in ("left_turn", "right_turn", "braking", "accelerating", *_SITS):
        text = clear_key(text, f"loads.{word}")
    answers = {
        "job.name": given["name"][0],
        "job.units": given["units"][0],
        "old_pan.carries": toml_text(given.get("carries", [])),
        "oil.fill": given["fill"][0],
        "loads.use": given["use"][0],
    }
    for key, sides in _TILTS.items():
        if len(given.get(key, [])) == 2:
            side, angle = given[key]
            answers[f"engine.{sides[side]}"] = angle
    for key, target in (
        ("ground_clearance", "vehicle.ground_clearance"),
        ("datum_height", "engine.datum_height"),
    ):
        if given.get(key):
            answers[target] = given[key][0]
    for target, answer in answers.items():
        text = set_key(text, target, answer, False)
    return text


def _as_answer(fault: Fault) -> Fault:
    """A fault of the job file by the question that wrote it."""
    key = fault.key.rpartition(".")[2]
    key = next((tilt for tilt, sides in _TILTS.items() if key in sides.values()), key)
    known = {question.key for question in questions().questions}
    return Fault("", None, key if key in known else "", fault.read, fault.rule, fault.allowed, fault.good)


def _refused(key: str, rule: str) -> NewAnswer:
    return NewAnswer(laid_out=False, faults=fault_rows([Fault("", None, key, "", rule)]), notes=[])


def _notes(given: Mapping[str, list[str]], example: str) -> list[str]:
    notes = [
        f"Laid out like {example}. Rail, lumps, pickup, dipstick and crank are still that example's: write"
        " over them from the top, section by section, with what you measured.",
        "Begin with Rail: the holes in the order you meet them, then the readings.",
    ]
    carries = given.get("carries", [])
    for duty in carries:
        if duty in PRESSURE:
            notes.append(
                f"The {duty} held oil under pressure. That does not move into a plain sheet pan: keep the"
                " casting as an adapter, or use a remote filter or cooler, and say under old pan, moved,"
                " where it went."
            )
        elif duty in STRUCTURAL:
            notes.append(
                f"The {duty} carried load. A plain sheet pan does not: keep the casting as an adapter or make"
                " a separate brace, and say under old pan, moved, where it went."
            )
    clears = [word for word in given.get("clears", []) if word != "ground"]
    if clears:
        notes.append(f"Give each of these its place under Shape, keep-outs: {', '.join(clears)}.")
    if not given.get("datum_height"):
        notes.append(
            "Measure how high the datum hole stands above level ground; until then the ground is not judged."
        )
    return notes
