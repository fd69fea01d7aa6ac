"""The diary's commands on the invented marina: a spring planned, booked, moved, done, written out."""

from __future__ import annotations

import csv
import io
import json
from email import message_from_bytes
from email.policy import default
from pathlib import Path

from tests.cli.conftest import Fleetlog

QUICK = ("--work-limit", "quick")


def test_pages_are_signed_by_the_marina_of_the_shop_unless_another_is_said(
    marina: Fleetlog, tmp_path: Path
) -> None:
    signed = {
        "by the shop": ["extract", "20417"],
        "as said": ["extract", "20417", "--marina", "Another Quay"],
        "of no shop": ["--log", "bare.db", "extract", "AB-1"],
    }
    marina("--log", "bare.db", "engine", "add", "AB-1")
    for name, words in signed.items():
        assert marina(*words, "--out", f"{name}.html").status == 0
    shown = {name: (tmp_path / f"{name}.html").read_text(encoding="utf-8") for name in signed}
    assert "Tern Cove Marina (invented)" in shown["by the shop"]
    assert "Another Quay" in shown["as said"]
    assert "Tern Cove" not in shown["as said"]
    assert "The marina" in shown["of no shop"]
    assert "marina: Tern Cove Marina (invented)" in marina("diary", "shop").out


def test_a_spring_is_planned_booked_and_written_out(marina: Fleetlog, tmp_path: Path):
    plan = json.loads(marina("diary", "plan", *QUICK, "--format", "json").out)
    assert plan["points"] >= plan["bound_points"] > 0
    assert plan["plan_id"]
    assert not plan["cut_short"]
    planned = {row["boat"]: row for row in plan["visits"] if row["on"]}
    assert planned["Lady Garstone"]["on"] >= "2026-04-27", "she is abroad until then"
    assert all(not "2026-05-13" <= r["on"] <= "2026-05-17" for b, r in planned.items() if "Tidewren" in b)
    assert all(row["on"] != "2026-05-01" for row in planned.values()), "the shop is closed"
    assert any(line["why"].startswith("was put back used") for line in plan["waiting"])

    said = marina("diary", "book", "Byssus")
    assert said.out.startswith("Booked b")
    booking = said.out.split()[1].rstrip(":")
    assert "is in booking" in marina("diary", "book", "Byssus").err
    assert marina("diary", "move", booking, "--on", "2026-05-06", "--reason", "owner asked").out.startswith(
        "Moved"
    )
    rows = list(csv.DictReader(io.StringIO(marina("diary", "show", "--format", "csv").out)))
    assert [r["on"] for r in rows if r["boat"] == "Byssus"] == ["2026-05-06"]
    assert {"booked", "planned"} <= {row["state"] for row in rows}
    assert "anyway" in marina("diary", "show", "--jobs").out

    assert "1 visit in shop.ics" in marina("diary", "calendar", "--for", "shop", "--out", "shop.ics").out
    assert "SEQUENCE:1" in (tmp_path / "shop.ics").read_text(encoding="utf-8")
    pages = marina("diary", "pages", "--out", "pages")
    assert pages.out.endswith(f"open {Path('pages/index.html')}\n")
    sheets = list((tmp_path / "pages/boats").iterdir())
    assert len(sheets) >= 50

    listed = json.loads(marina("remind", "--format", "json").out)
    assert any(row["why_not"] == "wants no reminders" for row in listed)
    assert marina("remind", "--send").out.rstrip().endswith("--send --no-dry-run sends them.")
    assert "no password for service" in marina("remind", "--send", "--no-dry-run").err
    marina("remind", "--out", "mails", "--mark-sent")
    mails = [message_from_bytes(p.read_bytes(), policy=default) for p in (tmp_path / "mails").glob("*.eml")]
    assert len(mails) == sum(row["why_not"] is None for row in listed)
    assert marina("remind", "--out", "again").out.startswith("0 mails")

    assert "--reason" in marina("diary", "done", booking, "--not-done", "oil").err
    assert marina("diary", "done", booking, "--reason", "no oil").status == 2
    assert marina("diary", "done", booking, "--engine", "408").status == 2
    said = (
        "--not-done",
        "impeller",
        "--reason",
        "none in stock",
        "--engine",
        "0408:433.5",
        "--lot",
        "oil=L-1",
    )
    done = marina("diary", "done", "Byssus", "--on", "2026-04-15", "--visit", "J-77", *said)
    assert done.out.startswith("Visit J-77 of 2026-04-15: ")
    assert "fitted, NV-0610 at 433.5 h on the meter" in done.out
    assert "not recorded (none in stock); stays due" in done.out
    assert "fleetlog card print" in done.out
    assert "J-77" in marina("visit", "list", "--open").out
    assert marina("diary", "release", booking).status == 1
    assert "no booking 'Byssus'" in marina("diary", "release", "Byssus").err


def test_what_is_odd_about_the_figure_of_a_visit_is_told_once_as_of_any_work(marina: Fleetlog):
    marina("diary", "plan", *QUICK)
    marina("diary", "book", "Byssus")
    done = marina("diary", "done", "Byssus", "--on", "2026-04-15", "--engine", "0408:3500")
    assert done.out.count("at 3500.0 h on the meter") > 1
    assert done.err.count("times the hours a day that ML4-0408 usually runs") == 1


def test_what_if_keeps_nothing(marina: Fleetlog):
    said = marina(
        "diary", "plan", *QUICK, "--to", "2026-04-30", "--try", "technician +1", "--try", "lifts -1"
    )
    assert said.out.startswith("With technician +1, lifts -1 (nothing was kept):")
    assert "there is no plan yet" in marina("diary", "book", "--all").err
    assert marina("diary", "plan", *QUICK, "--try", "cake +1").status == 1


def test_the_outlook_is_listed_in_every_format(marina: Fleetlog):
    load = json.loads(marina("diary", "load", "--format", "json").out)
    assert [row["month"] for row in load][:2] == ["2026-04", "2026-05"]
    parts = json.loads(marina("diary", "parts", "list", "--format", "json").out)
    assert {row["source"] for row in parts} == {"on the shelf", "on order", "to order"}
    table = marina("diary", "parts", "list").out
    assert "LATE" in table
    assert table.split()[:3] == ["Visit", "Boat", "Part"]
    assert "W-001" in marina("diary", "wish", "list").out
    assert marina("diary", "wish", "withdraw", "W-001", "--reason", "back early").status == 0
    assert "W-001" not in marina("diary", "wish", "list").out
    assert "about" in marina("diary", "estimate", "Byssus").out
    assert "  13 x NV-0610: " in marina("diary", "estimate", "Lady Garstone").out
    assert "launch" in marina("diary", "fit-out").out.casefold()
    assert "Femke Aldous" in marina("diary", "shop").out


def test_mails_need_an_address_to_come_from_and_nothing_of_the_diary(twins: Fleetlog, tmp_path: Path):
    twins("owner", "change", "Quill Marsh", "--email", "quill@example.org")
    (row,) = (r for r in json.loads(twins("remind", "--format", "json").out) if r["email"])
    assert row["owner"] == "Quill Marsh"
    refused = twins("remind", "--out", "mails")
    assert (refused.status, refused.err.count("\n")) == (1, 1)
    assert 'this is enough of one: name = "…", revision = 1, [mail], from = "…"' in refused.err
    shop = tmp_path / "small" / "shop"
    shop.mkdir(parents=True)
    text = 'name = "Quay"\nrevision = 1\n[mail]\nfrom = "quay@example.org"\n'
    (shop / "shop.toml").write_text(text, encoding="utf-8")
    assert twins("import", "small").status == 0
    written = twins("remind", "--out", "mails")
    assert written.out == "1 mail in mails.\n"
    assert "1 owner is not mailed: fleetlog remind says of each why" in written.err
    twins("owner", "change", "Quill Marsh", "--remind-by", "post")
    none = twins("remind", "--out", "others")
    assert none.out == "0 mails in others.\n"
    assert "2 owners are not mailed" in none.err
    refused = twins("diary", "calendar", "--out", "x.ics")
    assert (refused.status, refused.err.count("\n")) == (1, 1)
    assert "the shop has no time_zone" in refused.err
    assert not (tmp_path / "x.ics").exists()


def test_wrong_words_get_one_line(twins: Fleetlog):
    for words in (
        ("diary", "plan"),
        ("diary", "load"),
        ("diary", "calendar", "--out", "x.ics"),
        ("diary", "pages"),
        ("diary", "shop"),
    ):
        said = twins(*words)
        assert (said.status, said.err.count("\n")) == (1, 1), words
        assert "shop/shop.toml" in said.err
    for words in (
        ("diary", "book"),
        ("diary", "wish", "add"),
        ("diary", "wish", "add", "Plain Twins"),
        ("diary", "wish", "add", "Plain Twins", "--not-in", "2026-05-09..2026-05-01"),
        ("diary", "wish", "add", "Plain Twins", "--weekdays", "someday"),
        ("diary", "book", "Plain Twins", "--at", "25:00"),
        ("diary", "parts", "order", "P-1", "0"),
        ("diary", "parts", "order", "P-1", "-2"),
        ("diary", "calendar", "--for", "owner", "--out", "x.ics"),
        ("remind", "--out", "x", "--send"),
    ):
        assert twins(*words).status == 2, words


def test_the_template_of_a_shop_can_be_taken_in(twins: Fleetlog, tmp_path: Path):
    text = twins("diary", "shop", "--template").out
    (tmp_path / "mine/shop").mkdir(parents=True)
    (tmp_path / "mine/shop/shop.toml").write_text(text, encoding="utf-8")
    assert "1 shop" in twins("import", "mine").out
    assert "visits from 2026-04-15" in twins("diary", "plan", *QUICK).out


def test_days_without_visits_say_how_there_come_to_be_some(marina):
    said = marina("diary", "show", "--from", "2026-01-01", "--to", "2026-01-02")
    assert said.out == ("Nothing is booked or planned on these days; fleetlog diary plan proposes visits.\n")
    assert marina("diary", "show", "--to", "2026-01-02", "--format", "json").out == "[]\n"


def test_a_plan_ends_with_the_years_that_are_recorded(marina: Fleetlog, tmp_path: Path) -> None:
    said = marina("--today", "2199-12-20", "diary", "plan")
    assert (said.status, said.out) == (1, "")
    assert said.err == (
        "fleetlog: a plan from 2199-12-20 to 2200-02-17 goes beyond the year 2199, the last that is recorded;"
        " say --to 2199-12-31\n"
    )
    assert marina("--today", "2199-12-20", "diary", "plan", "--to", "2199-12-31").status == 0
    assert marina("export", "out").status == 0
    assert marina("--log", str(tmp_path / "second.db"), "import", "out").status == 0
