"""The command: what a fabricator reads, what lies in the folder, and the pan that is taken."""

from __future__ import annotations

import csv
import io
import json

import pdfplumber
import pytest

from sumpwright.cli.door import main
from sumpwright.job import read_job
from sumpwright.outputs.explored_model import AnswerColumn, ExploredSheet, ShareRow, VariantRow
from sumpwright.outputs.explored_page import explored_pdf
from sumpwright.outputs.explored_terminal import print_explored
from tests.jobs.laid_out import laid_out

PLAN = """\
[plan]
way = "grid"
finalists = 1
[[vary]]
name = "depth"
keys = ["lumps.sump.depth", "lumps.kick-out.depth"]
least = "112 mm"
most = "124 mm"
step = "6 mm"
[[counts]]
answer = "capacity"
[[counts]]
answer = "ground"
at_least = "0 mm"
"""


def test_from_a_plan_to_the_job_that_is_taken(tmp_path, capsys):
    job = laid_out(tmp_path)
    (job / "plan.toml").write_text(PLAN, "utf-8")
    assert main(["explore", str(job), "--workers", "1"]) == 0
    first, _ = capsys.readouterr()
    assert "3 variants: every combination of the steps." in first
    assert "Nothing beats these 3" in first
    assert "checked in full against the job as it stands" in first
    assert all(len(line) <= 80 for line in first.splitlines()[:-2])
    shown = json.loads((job / "explored" / "explored.json").read_text("utf-8"))
    table = list(csv.DictReader((job / "explored" / "variants.csv").open(encoding="utf-8")))
    assert [row["depth"] for row in table] == ["112 mm", "118 mm", "124 mm"]
    for row, variant in zip(table, shown["worth_a_look"], strict=True):
        assert float(row["capacity_l"]) == variant["answers"]["capacity_l"]
        assert row["stands"] == "complete"
    # The second variant is the job as it stands.
    assert shown["worth_a_look"][1]["answers"] == shown["as_it_stands"]["answers"]
    pdf = (job / "explored" / "explored.pdf").read_bytes()
    with pdfplumber.open(io.BytesIO(pdf)) as pages:
        words = "\n".join(page.extract_text() for page in pages.pages)
    assert "Nothing beats these 3" in words
    assert "No 3" in words
    assert main(["explore", str(job), "--workers", "1"]) == 0
    again, _ = capsys.readouterr()
    assert "0 worked out now, 3 known before." in again
    assert main(["explore", str(job), "--take", "3"]) == 0
    assert "job-3.toml" in capsys.readouterr()[0]
    assert read_job(job / "job-3.toml").body.lumps[1].floor is not None
    assert main(["explore", str(job), "--take", "9"]) == 2
    assert "no variant of this plan has this number" in capsys.readouterr()[1]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--workers", "0"), "At least one process"),
        (("--workers", "2", "--scheduler", "tcp://127.0.0.1:9"), "keep one"),
        (("--take", "1"), "Nothing was explored yet"),
    ],
)
def test_a_slip_on_the_command_line(tmp_path, capsys, options, words):
    job = laid_out(tmp_path)
    (job / "plan.toml").write_text(PLAN, "utf-8")
    assert main(["explore", str(job), *options]) == 2
    out, err = capsys.readouterr()
    assert words in err
    assert out == ""
    assert not (job / "explored").exists()


def test_somebody_elses_file_in_the_place_of_the_store(tmp_path, capsys):
    job = laid_out(tmp_path)
    (job / "plan.toml").write_text(PLAN, "utf-8")
    (job / "explored").mkdir()
    (job / "explored" / "answers.sqlite").write_text("notes " * 500)
    assert main(["explore", str(job), "--workers", "1"]) == 2
    assert "answers.sqlite" in capsys.readouterr()[1]
    assert (job / "explored" / "answers.sqlite").read_text().startswith("notes")


def sheet(**changes) -> ExploredSheet:
    """A made-up exploration in inches, with everything that can be said."""
    columns = (
        AnswerColumn("cover margin", "length", "m", "more", at_least=0.0, is_hard=False),
        AnswerColumn("mass", "mass", "kg", "less"),
        AnswerColumn("price", "price", "USD", "less", at_most=400.0),
    )
    rows = (
        VariantRow(4, ("4 1/2 in", "14 ga"), (0.012, 4.1, 310.0), (0.0, 0.9, 60.0), (None, None, None), True),
        VariantRow(
            9,
            ("4 in", "16 ga"),
            (-0.003, 3.2, 250.0),
            (0.015, 0.0, 0.0),
            (0.003, None, None),
            True,
            ("OIL-12 tip",),
        ),
    )
    stands = VariantRow(None, (), (0.001, None, 380.0), (None,) * 3, (None,) * 3)
    given = {
        "job_name": "Trial pan", "plan_name": "plan.toml", "way": "spread", "units": "in", "paper": "Letter",
        "version": "0", "axes": ("depth", "sheet"), "columns": columns, "as_it_stands": stands, "rows": rows,
        "unbeaten": 31, "dots": tuple((0.0005 * k - 0.01, 3.0 + 0.03 * k, None) for k in range(50)),
        "asked": 2000, "different": 1990, "tried": 500, "complete": 1500, "refused": 100,
        "dropped": (("price", 390),), "cannot_say": (("mass", 10),), "broke": ((77, "ZeroDivisionError: x"),),
        "reasons": (("the lumps did not join", 100),),
        "shares": (
            ShareRow("mass", (0.6, 0.3), (0.65, 0.004), (0.6, 0.0), (0.7, float("nan")), 64, 2),
            ShareRow("price", (), (), (), (), 64, 40, "40 of 64 rounds hold a variant without an answer"),
        ),
        "taken": ("depth: the range has no step, so it is cut into a thousand",),
    }  # fmt: skip
    return ExploredSheet(**(given | changes))


def test_everything_that_can_be_said_is_said():
    stream = io.StringIO()
    print_explored(sheet(), stream)
    words = " ".join(stream.getvalue().split())
    for said in (
        "2,000 variants: evenly spread over the ranges. 500 worked out now, 1,500 known before.",
        "10 of them are the same pan as another",
        "100 make no pan; most often: 100 times: the lumps did not join",
        "390 dropped: price misses its limit",
        "10 not compared: mass cannot be said",
        "The program itself went wrong on 1, first on No 77",
        "Nothing beats these: 2 of 31, as different as can be",
        "No 4: depth 4 1/2 in, sheet 14 ga",
        "best in cover margin",
        "gives up 1.98 lb of mass, 60.00 USD of price",
        "misses a soft limit: cover margin by 0.118 in",
        "worse: OIL-12 tip",
        "nothing is worse",
        "mass cannot say",
        "mass: depth 65 % (60 to 70 %); sheet next to nothing",
        "price: cannot say: 40 of 64 rounds",
        "Taken, because the plan does not say: depth: the range has no step",
    ):
        assert said in words, said


def test_the_page_is_the_same_every_time_and_holds_the_same():
    assert explored_pdf(sheet()) == explored_pdf(sheet())
    with pdfplumber.open(io.BytesIO(explored_pdf(sheet()))) as pages:
        words = " ".join(" ".join(page.extract_text().split()) for page in pages.pages)
        sizes = {(round(float(page.width)), round(float(page.height))) for page in pages.pages}
    assert sizes == {(612, 792)}
    for said in ("Nothing beats these: 2 of 31", "cover margin, in", "What matters"):
        assert said in words, said


def test_nothing_left_is_said():
    stream = io.StringIO()
    print_explored(sheet(rows=(), unbeaten=0), stream)
    assert "Nothing is left that keeps every hard limit" in stream.getvalue()
    assert explored_pdf(sheet(rows=(), unbeaten=0, as_it_stands=None)).startswith(b"%PDF")
