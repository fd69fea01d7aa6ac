"""What the README shows is what happens: its examples are run, in order, on the invented marina."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

from tests.cli.conftest import databases, demo_log, fleetlog, marina, place  # noqa: F401  (fixtures)
from tests.exchange.paper_rows import HEADS

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")


def examples() -> list[str]:
    blocks = re.findall(r"^```console\n(.*?)^```", README, re.M | re.S)
    return [line[2:] for block in blocks for line in block.splitlines() if line.startswith("$ ")]


def own_spreadsheet() -> dict[str, str]:
    """The files that the README tells a user to begin with."""
    found = re.findall(r"^`(\w+\.csv)`\n\n((?:    .*\n)+)", README, re.M)
    return {name: "".join(line[4:] + "\n" for line in text.splitlines()) for name, text in found}


def test_the_readme_opens_with_the_job_and_the_two_commands_are_one_line_each():
    lines = README.splitlines()
    assert lines[0] == "# fleetlog"
    assert lines[2].startswith("A technician at a marina")
    commands = [line.strip() for line in lines if line.startswith("    python3 -m venv")]
    assert len(commands) == 2
    assert commands[0].endswith("fleetlog demo")
    assert commands[1].endswith("-m pytest")


def test_no_line_of_the_two_documents_is_wider_than_120():
    for name in ("README.md", "DEVELOPERS.md"):
        lines = (TOP / name).read_text(encoding="utf-8").splitlines()
        assert [(name, n) for n, line in enumerate(lines, start=1) if len(line) > 120] == []


def test_the_spreadsheet_of_the_readme_is_of_no_engine_of_the_demo():
    demo = TOP / "demo_fleet/engines.csv"
    shown = own_spreadsheet()["engines.csv"].splitlines()[1:]
    assert shown
    for row in shown:
        assert row.split(",")[0] + "," not in demo.read_text(encoding="utf-8")


def test_every_example_of_the_readme_runs(marina, tmp_path: Path):  # noqa: F811
    own = tmp_path / "my-marina"
    (own / "schedules").mkdir(parents=True)
    for name, text in own_spreadsheet().items():
        (own / name).write_text(text, encoding="utf-8")
    schedule = Path(__file__).parents[1] / "demo_fleet/schedules/V6 belt-cam.toml"
    shutil.copy(schedule, own / "schedules")
    (tmp_path / "gears.jpg").write_bytes(HEADS["image/jpeg"])
    (tmp_path / "bill.pdf").write_bytes(HEADS["application/pdf"])
    ran = 0
    for example in examples():
        words = shlex.split(example)
        assert words[0] == "fleetlog"
        said = marina(*words[1:])
        assert said.status == 0, f"{example}: {said.err}"
        ran += 1
    assert ran >= 7


def test_the_lines_of_the_due_list_are_those_of_the_list(marina):  # noqa: F811
    [sample] = re.findall(r"^```text\n(.*?)^```", README, re.M | re.S)
    listed = [line.split() for line in marina("due").out.splitlines()]
    assert sample.count("\n") == 4
    assert [line for line in sample.splitlines() if line.split() not in listed] == []


def test_the_spreadsheet_of_the_readme_makes_a_log_of_its_own(fleetlog, tmp_path: Path):  # noqa: F811
    own = tmp_path / "my-marina"
    (own / "schedules").mkdir(parents=True)
    files = own_spreadsheet()
    assert set(files) == {"boats.csv", "owners.csv", "engines.csv", "readings.csv", "entries.csv"}
    for name, text in files.items():
        (own / name).write_text(text, encoding="utf-8")
    shutil.copy(Path(__file__).parents[1] / "demo_fleet/schedules/V6 belt-cam.toml", own / "schedules")
    assert fleetlog("import", "my-marina").status == 0
    assert "Sea Spray" in fleetlog("due").out
    assert "Nothing new." in fleetlog("import", "my-marina").out
