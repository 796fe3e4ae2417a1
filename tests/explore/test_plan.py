"""A plan as a fabricator writes it, and every slip in it told at once."""

from __future__ import annotations

from fractions import Fraction

import pytest

from sumpwright.cli.door import main
from sumpwright.explore.plan import read_plan
from sumpwright.job import JobError
from sumpwright.job.plan_file import Range
from tests.jobs.laid_out import everything_below, laid_out

FAULTY = """\
[plan]
way = "grit"
varients = 12
[[vary]]
name = "depth"
key = "lumps.sump.dept"
least = "100 mm"
most = "120 mm"
step = "5 mm"
[[vary]]
name = "sheet"
key = "pan.sheet"
choices = ["2 mm", "2 kg"]
[[vary]]
name = "fall"
key = "lumps.sumpp.depth"
least = "120 mm"
most = "100 mm"
[[vary]]
name = "bore"
key = "suction.bore"
least = "20 mm"
most = "1 in"
[[vary]]
name = "deep"
key = "lumps.tray.depth"
least = "60 mm"
most = "9000 mm"
step = "10 mm"
[[tie]]
key = "pickup.mouth.3"
follows = "height"
[[counts]]
answer = "cover"
[[counts]]
answer = "mass"
at_most = "4 L"
[[counts]]
answer = "price"
at_most = "300 USD"
"""


def faults_of(tmp_path, text: str) -> str:
    job = laid_out(tmp_path)
    (job / "plan.toml").write_text(text, "utf-8")
    with pytest.raises(JobError) as refusal:
        read_plan(job)
    return str(refusal.value)


def test_every_slip_is_told_at_once(tmp_path, capsys):
    job = laid_out(tmp_path)
    (job / "plan.toml").write_text(FAULTY, "utf-8")
    before = everything_below(job)
    assert main(["explore", str(job)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert everything_below(job) == before
    for words in (
        "did you mean 'grid'",
        "'varients'",
        "did you mean 'depth'",  # lumps.sump.dept
        '"2 kg" cannot stand',
        "'most' must be more than 'least'",
        "'in' here and 'mm' at 'least'",
        '"9000 mm" cannot stand',
        "nothing that varies has this name",
        "no answer is called so",
        "a mass is wanted here",
        "prices are in EUR here",
    ):
        assert words in err, words
    assert err.count("trouble:") == 11
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("found", "instead", "words"),
    [
        ('step = "5 mm"\n', "", "a grid wants a step"),
        ('way = "grid"', 'way = "spread"', "and a spread wants it"),
        ('way = "grid"', 'way = "matters"\nvariants = 5', "64 rounds"),
        ('step = "5 mm"', 'step = "50 mm"', "holds no step"),
        ('step = "5 mm"', 'step = "-5 mm"', "more than nothing"),
        ('key = "lumps.sump.depth"', "", "what varies is not said"),
        ('least = "100 mm"\n', "", "'least' is missing"),
        ('answer = "mass"', 'answer = "mass"\nwant = "only the limit"', "none is given"),
        ('answer = "mass"', 'answer = "mass"\nwant = "only the limit"\nat_most = "9 kg"', "one answer"),
        ('least = "100 mm"', "least = nan", "not a number"),
        ('name = "depth"', 'name = "depth"\nchoices = ["1 mm", "2 mm"]', "keep one of them"),
        ("[plan]", '[plan]\njob = "../job.toml"', "only its name is wanted"),
        ("[[counts]]", "[[count]]", "did you mean 'counts'"),
    ],
)
def test_one_slip(tmp_path, found, instead, words):
    good = (
        '[plan]\nway = "grid"\n[[vary]]\nname = "depth"\nkey = "lumps.sump.depth"\nleast = "100 mm"\n'
        'most = "120 mm"\nstep = "5 mm"\n[[counts]]\nanswer = "mass"\n'
    )
    assert found in good
    assert words in faults_of(tmp_path, good.replace(found, instead, 1))


def test_files_that_are_none(tmp_path, capsys):
    job = laid_out(tmp_path)
    for content in (b"", b"\xff\xfe\x00", b"[plan\n", bytes(range(256)) * 9, b"a = " + b"[" * 3000):
        (job / "plan.toml").write_bytes(content)
        assert main(["explore", str(job)]) == 2
        assert "plan.toml" in capsys.readouterr().err
    (job / "plan.toml").unlink()
    assert main(["explore", str(job)]) == 2
    assert "the plan file is not there" in capsys.readouterr().err
    assert not (job / "explored").exists()


@pytest.mark.expected_from("closed form", "decimal and binary fractions written out")
def test_steps_are_written_as_a_fabricator_would():
    tenths = Range(Fraction("100"), Fraction("0.1"), 5, "mm", True)
    assert [tenths.text(k) for k in range(5)] == ["100 mm", "100.1 mm", "100.2 mm", "100.3 mm", "100.4 mm"]
    eighths = Range(Fraction(1), Fraction(1, 8), 4, "in", True)
    assert [eighths.text(k) for k in range(4)] == ["1 in", "1.125 in", "1.25 in", "1.375 in"]
    assert tenths.text(1, Fraction(-1), Fraction(11)) == "-89.1 mm"
    assert Range(Fraction(16), Fraction(4), 3, "", True).text(2) == "24"
