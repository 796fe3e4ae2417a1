"""The command record and starting from an older job, as a fabricator runs them."""

from __future__ import annotations

from pathlib import Path

import pytest

from sumpwright.cli import main
from tests.jobs.laid_out import everything_below, laid_out

LIKE = "slope-chipper-adapter"


def filled(job: Path) -> str:
    name = next(
        line for line in (job / "job.toml").read_text("utf-8").splitlines() if line.startswith("name")
    )
    return (
        f'[record]\njob = {name.partition("=")[2].strip()}\ndate = "2026-03-14"\nnote = "first try"\n'
        '[pan]\nweighed = "7.0 kg"\nbow = "0.4 mm"\n'
        '[[bubbles]]\nseam = "7  sump floor to sump left wall"\ngrowing = 1\n'
    )


def test_a_record_is_laid_out_kept_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = laid_out(tmp_path, LIKE)
    shop_file = laid_out(tmp_path / "other", "motor-sailer") / "shop.toml"
    (job / "shop.toml").write_bytes(shop_file.read_bytes())
    assert main(["record", str(job)]) == 0
    form = job / "as-built.toml"
    blank = form.read_bytes()
    assert main(["record", str(job)]) == 2  # nothing filled in
    assert "nothing is filled in" in capsys.readouterr().err
    assert form.read_bytes() == blank
    assert not (job / "record").exists()

    form.write_text(filled(job), "utf-8")
    before = everything_below(job)
    assert main(["record", str(job)]) == 1  # a bubble grew
    said = capsys.readouterr().out
    assert "PROOF-10" in said
    assert "record/0001.toml" in said
    after = everything_below(job)
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == {"record/0001.toml"}

    shop = (job / "shop.toml").read_bytes()
    assert "--to-shop" in said
    assert main(["record", str(job), "--to-shop"]) == 1
    taught = (job / "shop.toml").read_bytes()
    assert taught.startswith(shop)
    assert b'measured = "0.400 mm"' in taught
    assert b', 2026-03-14"' in taught
    assert sorted(path.name for path in (job / "record").iterdir()) == ["0001.toml"]
    capsys.readouterr()
    assert main(["record", str(job), "--to-shop"]) == 2
    assert "there already" in capsys.readouterr().err
    assert (job / "shop.toml").read_bytes() == taught

    unknown = job / "unknown.toml"
    unknown.write_text(filled(job).replace("7  sump floor to sump left wall", "sump flor to sump left wall"))
    assert main(["record", str(job), str(unknown)]) == 2
    assert "did you mean" in capsys.readouterr().err
    unknown.unlink()

    spoiled = job / "spoiled.toml"
    spoiled.write_text(filled(job).replace('"7.0 kg"', '"7.0 mm"') + '[[straight_edge]]\nspan = "1 mm"\n')
    assert main(["record", str(job), str(spoiled)]) == 2
    told = capsys.readouterr().err
    assert "weighed" in told
    assert "place" in told
    assert sorted(path.name for path in (job / "record").iterdir()) == ["0001.toml"]

    new = tmp_path / "next-pan"
    assert main(["new", str(new), "--after", str(job)]) == 0
    assert "earlier-record/0001.toml" in capsys.readouterr().out
    assert (new / "earlier-record" / "0001.toml").read_bytes() == after["record/0001.toml"]
    assert (new / "job.toml").read_bytes() == (job / "job.toml").read_bytes()
    assert not (new / "record").exists()
    assert not (new / "as-built.toml").exists()


HEIGHT = '[[heights]]\nx = "{x} mm"\ny = "0 mm"\nheight = "0.1 mm"\nstate = "free"\n'
LEAK = (
    '[leak_test]\nstart = "{start}"\nend = "{end}"\ntime = "{time}"\n'
    'start_temperature = "68 degF"\nend_temperature = "{warm}"\n'
)


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        ("".join(HEIGHT.format(x=x) for x in (0, 100, 200)), "one line"),
        ('[[straight_edge]]\nspan = "400 mm"\nfeeler = "0.1 mm"\nstate = "free"\n', "place"),
        (LEAK.format(start="9 kPa", end="12 kPa", time="5 min", warm="68 degF"), "pressure rises"),
        (LEAK.format(start="9 kPa", end="8.9 kPa", time="-5 min", warm="68 degF"), "time"),
        (LEAK.format(start="9 kPa", end="8.9 kPa", time="5 min", warm="680 degF"), "end_temperature"),
        ('[[logs]]\nfile = "run.csv"\n', "not in the job's folder"),
        ('[[pours]]\npoured = "-1 L"\nstick = "400 mm"\n', "poured"),
    ],
)
def test_bad_readings_are_refused_and_nothing_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], readings: str, says: str
) -> None:
    job = laid_out(tmp_path, LIKE)
    form = job / "as-built.toml"
    form.write_text(filled(job) + readings, "utf-8")
    before = everything_below(job)
    assert main(["record", str(job)]) == 2
    assert says in capsys.readouterr().err
    assert everything_below(job) == before


def test_a_record_of_another_job_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = laid_out(tmp_path, LIKE)
    form = job / "as-built.toml"
    form.write_text(filled(job).replace("job = ", 'job = "Other pan" # '), "utf-8")
    assert main(["record", str(job)]) == 2
    assert "another job" in capsys.readouterr().err
    assert not (job / "record").exists()


def test_all_faults_are_told_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = laid_out(tmp_path, LIKE)
    form = job / "as-built.toml"
    lines = "".join(HEIGHT.format(x=x) for x in (0, 100, 200))
    leak = LEAK.format(start="9 kPa", end="12 kPa", time="5 min", warm="68 degF")
    form.write_text(filled(job) + lines + leak, "utf-8")
    assert main(["record", str(job)]) == 2
    said = capsys.readouterr().err
    assert "one line" in said
    assert "pressure rises" in said
