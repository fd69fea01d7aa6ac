"""Owners, boats, engines, visits, files and upkeep from the command line."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from fleetlog.cli.main import COMMANDS, SECTIONS
from fleetlog.cli.pages import lines_that_set
from tests.cli.conftest import Fleetlog


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("due",),
        ("history", "x"),
        ("report",),
        ("export", "out"),
        ("refresh",),
        ("owner", "list"),
        ("backup",),
        ("extract", "x", "--out", "out.html"),
        ("diary", "plan"),
        ("hours", "x", "12"),
        ("fit", "x", "timing belt"),
        ("import", "nowhere"),
        ("import-sheet", "nowhere.ods", "--mapping", "m.toml"),
    ],
)
def test_where_no_log_is_no_command_but_one_that_begins_it_makes_it(
    fleetlog: Fleetlog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.setenv("FLEETLOG_LOG", str(tmp_path / "lost" / "log.db"))
    said = fleetlog(*words)
    assert (said.status, said.out) == (1, "")
    assert len(said.err.splitlines()) == 1
    assert "nowhere" in said.err or "m.toml" in said.err or "there is no log at" in said.err
    assert list(tmp_path.iterdir()) == []


def test_an_import_that_is_refused_leaves_no_log_but_in_a_database_empty_tables_and_says_so(
    fleetlog: Fleetlog, store: str, place: str, tmp_path: Path
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in/owners.csv").write_text("owner_id,name\nO-1,One\nO-1,Two\n", encoding="utf-8")
    refused = fleetlog("import", "in")
    assert refused.status == 1
    assert ("A new log was made" in refused.err) == (store == "postgresql")
    assert fleetlog("due").status == (0 if store == "postgresql" else 1)
    assert [path.name for path in tmp_path.iterdir()] == ["in"]


def test_a_marina_is_entered_by_hand_from_nothing(fleetlog):
    assert fleetlog("owner", "add", "Mika Sandell", "--id", "O1", "--remind-by", "email").status == 0
    assert (
        fleetlog("boat", "add", "Sea Spray", "--id", "B1", "--owner", "sandell", "--use", "private").status
        == 0
    )
    added = fleetlog(
        "engine",
        "add",
        "AB-100",
        "--boat",
        "sea spray",
        "--in-service",
        "2025-05-01",
        "--from-new",
        "--position",
        "port",
    )
    assert added.status == 0
    boats = json.loads(fleetlog("boat", "list", "--format", "json").out)
    assert boats[0]["owner"] == "Mika Sandell"
    assert boats[0]["engines"] == "AB-100"
    assert fleetlog("engine", "add", "ab-100").status == 1
    assert fleetlog("due").out.startswith("Nothing is due")


def test_a_change_of_an_owner_says_what_it_was(marina):
    owner = json.loads(marina("owner", "list", "--format", "json").out)[0]
    said = marina("owner", "change", owner["owner_id"], "--phone", "555-0199")
    assert f"phone 555-0199, was {owner['phone'] or 'not known'}." in said.out
    assert marina("owner", "change", owner["owner_id"], "--phone", "555-0199").status == 1
    assert (
        "phone not known, was 555-0199." in marina("owner", "change", owner["owner_id"], "--phone", " ").out
    )
    assert marina("owner", "change", owner["owner_id"], "--phone", "").status == 1


def test_a_sold_boat_goes_to_its_new_owner_with_its_lines(twins):
    unknown = twins("boat", "sell", "Plain Twins", "--to", "Nils Berg")
    assert (unknown.status, "fleetlog owner add adds a new one" in unknown.err) == (1, True)
    assert twins("boat", "sell", "Plain Twins", "--to", "O-T2", "--on", "2026-04-15").status == 0
    lines = json.loads(twins("due", "--boat", "Plain Twins", "--format", "json").out)
    assert {li["owner_id"] for li in lines} == {"O-T2"}
    before = json.loads(
        twins("--today", "2026-04-14", "due", "--all", "--boat", "Plain Twins", "--format", "json").out
    )
    assert {li["owner_id"] for li in before} != {"O-T2"}


def test_an_owner_shows_their_boats_as_the_list_of_boats_does(twins):
    twins("boat", "sell", "Plain Twins", "--to", "O-T2", "--on", "2026-04-15")
    twins("engine", "move", "TT-0125", "--to", "Plain Twins")
    boats = json.loads(twins("boat", "list", "--format", "json").out)
    owner = next(b["owner"] for b in boats if b["name"] == "Plain Twins")
    theirs = [b for b in boats if b["owner"] == owner]
    assert "TT-0125" in next(b["engines"] for b in theirs if b["name"] == "Plain Twins")
    shown = json.loads(twins("owner", "show", "O-T2", "--format", "json").out)
    assert (shown["owner_id"], shown["boats"]) == ("O-T2", theirs)


def test_a_boat_shows_whose_it_is_and_only_its_engines(twins):
    twins("boat", "sell", "Plain Twins", "--to", "O-T2", "--on", "2026-04-15")
    buyer = next(
        o for o in json.loads(twins("owner", "list", "--format", "json").out) if o["owner_id"] == "O-T2"
    )
    shown = twins("boat", "show", "Plain Twins").out
    assert f"owner: {buyer['name']}\n" in shown
    assert "TT-0017" in shown
    assert "TT-0125" not in shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("boat", "sell", "Plain Twins", "--to", "O-T2"), "Plain Twins got an owner on 2026-04-15 already"),
        (
            ("engine", "move", "TT-0017", "--to", "Other Boat"),
            "TT-0017 was put on a boat on 2026-04-15 already",
        ),
        (("meter", "TT-0017", "--on", "2026-04-15"), "TT-0017 has a change of meter on 2026-04-15 already"),
    ],
)
def test_a_second_row_of_one_day_is_refused_in_words(twins, words, told):
    assert twins(*words).status == 0
    again = twins(*words)
    assert again.status == 1
    assert told in again.err


def test_a_launch_of_a_boat_afloat_and_a_lay_up_that_ends_first_are_refused_in_words(twins):
    assert "Other Boat is not laid up on 2026-04-15" in twins("boat", "launch", "Other Boat").err
    said = twins("boat", "lay-up", "Other Boat", "--from", "2026-05-01", "--to", "2026-04-01")
    assert "cannot end on 2026-04-01" in said.err


def test_an_engine_moves_with_its_history(twins):
    count = len(json.loads(twins("history", "TT-0017", "--format", "json").out)["entries"])
    moved = twins("engine", "move", "TT-0017", "--to", "other b", "--position", "centre")
    assert moved.out == "TT-0017 is on Other Boat from 2026-04-15.\n"
    history = json.loads(twins("history", "TT-0017", "--format", "json").out)
    assert (history["boat"], history["position"]) == ("Other Boat", "centre")
    assert len(history["entries"]) == count
    earlier = json.loads(twins("--today", "2026-04-14", "history", "TT-0017", "--format", "json").out)
    assert earlier["boat"] == "Plain Twins"


@pytest.mark.parametrize("state", ["sold", "scrapped"])
def test_an_engine_sold_or_scrapped_has_no_due_lines(twins, state):
    assert twins("engine", "change", "TT-0017", "--state", state).status == 0
    assert json.loads(twins("due", "--all", "--engine", "TT-0017", "--format", "json").out) == []


def test_a_boat_is_laid_up_and_launched(twins):
    assert twins("boat", "lay-up", "Other Boat", "--from", "2026-04-14").status == 0
    assert twins("boat", "launch", "Other Boat", "--on", "2026-04-15").status == 0
    assert twins("boat", "launch", "Other Boat", "--on", "2026-04-15").status == 1


def test_a_visit_is_opened_worked_on_and_closed_once(twins):
    visit = (
        twins("visit", "open", "Other Boat", "--reason", "breakdown", "--complaint", "no water")
        .out.split()[2]
        .rstrip(";")
    )
    assert twins("fit", "TT-0125", "water pump impeller", "--visit", visit, "--reason", "failed").status == 0
    assert visit in twins("visit", "list", "--open").out
    assert f"{visit}, Other Boat: opened" in twins("visit", "show", "other b").out
    closed = twins("visit", "close", "Other Boat")
    assert (closed.status, closed.out, closed.err) == (0, f"Closed visit {visit}.\n", "")
    assert twins("visit", "close", visit).status == 1
    assert "no visit 'Other Boat'" in twins("visit", "close", "Other Boat").err
    assert visit not in twins("visit", "list", "--open").out


@pytest.mark.parametrize("kind", ["owner", "boat"])
def test_a_second_one_of_a_name_is_told_with_its_id(twins, kind):
    first = twins(kind, "add", "Zed Polk")
    assert first.err == ""
    one = first.out.split()[2].rstrip(":")
    second = twins(kind, "add", "zed polk", "--id", "Z-2")
    assert second.status == 0
    assert f"{one} has that name too; the {kind} added is known by its id alone: Z-2" in second.err
    assert twins(kind, "change", "Z-2", "--name", "Zed Polk, added twice").status == 0
    assert twins(kind, "show", one).status == 0


@pytest.mark.parametrize("spelt", ["Quill  Marsh", "Quíll Marsh", "QUILL-MARSH", "Quill Marsch"])
def test_an_owner_spelt_nearly_like_another_is_told_and_stays_two(twins, spelt):
    said = twins("owner", "add", spelt, "--id", "Z-2")
    assert said.status == 0
    assert (
        f"so like {spelt!r} that it may be the same owner is Quill Marsh (O-T1); if it is, go on" in said.err
    )
    assert "fleetlog owner change Z-2 --name NAME" in said.err
    assert len(json.loads(twins("owner", "list", "--format", "json").out)) == 3


def test_boats_are_called_much_alike_and_only_one_letter_for_letter_the_same_is_told(twins):
    assert twins("boat", "add", "Plain Twins II").err == ""
    assert "the same boat is Plain Twins (B-T1)" in twins("boat", "add", "plaintwins").err


def test_owners_of_a_folder_spelt_alike_are_told_once_and_stay_two(twins, tmp_path):
    folder = tmp_path / "more"
    folder.mkdir()
    rows = ["N-1,Zoë Polk", "N-2,zoe polk", "N-3,quill marsh", "N-4,Forgotten owner", "N-5,Forgotten owner"]
    (folder / "owners.csv").write_text("\n".join(["owner_id,name", *rows, ""]), encoding="utf-8")
    said = twins("import", "more")
    assert said.status == 0
    told = (
        "owners.csv, line 3: the name of owner N-2, 'zoe polk', is that of N-1, 'Zoë Polk', or nearly so; so"
        " is that of 1 other owner; they stay two: if they are one, write one owner_id for both"
    )
    assert told in said.err
    assert said.err.count("nearly so") == 1
    assert len(json.loads(twins("owner", "list", "--format", "json").out)) == 7
    assert "nearly so" not in twins("import", "more").err


SHARED = "TT-0021 and TT-0125 stand at one place, starboard of Plain Twins, so nothing can be said of either"


def test_two_engines_at_one_place_are_told_and_hours_of_that_place_are_of_neither(twins):
    moved = twins("engine", "move", "TT-0125", "--to", "Plain Twins", "--position", "Starboard")
    assert (moved.status, moved.err.count(SHARED)) == (0, 1)
    refused = twins("hours", "Plain Twins", "port=350", "starboard=351")
    assert refused.status == 1
    assert "no engine of Plain Twins at 'starboard'; nearest: " in refused.err
    assert SHARED in twins("check").out
    done = twins("done", "Plain Twins", "gear oil", "--hours", "TT-0125=300")
    assert re.findall(r"Recorded \S+: (\S+), gear oil", done.out) == ["TT-0017", "TT-0021", "TT-0125"]
    assert "at one place" not in twins("engine", "move", "TT-0021").err
    assert twins("hours", "Plain Twins", "port=350", "starboard=301").status == 0
    assert "at one place" not in twins("check").out


def test_an_engine_that_was_scrapped_stands_at_no_place(twins):
    assert twins("engine", "change", "TT-0021", "--state", "scrapped").status == 0
    added = twins("engine", "add", "TT-0300", "--boat", "Plain Twins", "--position", "starboard")
    assert "at one place" not in added.err
    said = twins("hours", "Plain Twins", "starboard=1.5")
    assert said.out == "TT-0300: 1.5 h on 2026-04-15 recorded.\n"


def test_where_a_move_put_an_engine_counts_and_another_place_is_a_move(twins):
    assert twins("engine", "change", "TT-0125", "--position", "centre").status == 0
    assert twins("hours", "Other Boat", "centre=280").status == 0
    assert twins("engine", "move", "TT-0125", "--to", "Plain Twins", "--on", "2026-04-10").status == 0
    refused = twins("engine", "change", "TT-0125", "--position", "centre")
    assert refused.err == (
        "fleetlog: TT-0125 stands where its move of 2026-04-10 to Plain Twins said; to say where it stands"
        " now: fleetlog engine move TT-0125 --to 'Plain Twins' --position centre\n"
    )
    assert twins("engine", "move", "TT-0125", "--to", "Plain Twins", "--position", "centre").status == 0
    assert twins("hours", "Plain Twins", "centre=281").status == 0
    again = twins("engine", "change", "TT-0125", "--position", "middle").err
    assert (
        "now: fleetlog engine not-moved TT-0125 --on 2026-04-15 --reason WHY, then fleetlog engine mov"
        in again
    )


def test_a_boat_without_an_open_visit_is_told_as_such(twins):
    said = twins("visit", "close", "other b").err
    assert "Other Boat has no open one; fleetlog visit list --boat " in said


def test_a_visit_that_is_closed_with_nothing_in_it_is_told_and_of_two_one_is_named(twins):
    for visit in ("J-1", "J-2"):
        twins("visit", "open", "Other Boat", "--id", visit)
    said = twins("visit", "close", "Other Boat")
    assert (said.status, said.out) == (1, "")
    assert "which visit? 'Other Boat' fits J-1 of 2026-04-15, J-2 of 2026-04-15; say which" in said.err
    said = twins("visit", "close", "J-1").err
    assert "no work is recorded in J-1; what was done can still be, with --visit J-1" in said
    assert twins("service", "TT-0125", "steering linkage", "--visit", "J-1").status == 0


def test_export_then_import_elsewhere_gives_the_same_due_lines(marina, tmp_path: Path):
    lines = marina("due", "--all", "--format", "json").out
    assert marina("export", "out").status == 0
    assert marina("--log", "other.db", "import", "out").status == 0
    assert marina("--log", "other.db", "due", "--all", "--format", "json").out == lines
    again = marina("--log", "other.db", "import", "out")
    assert "Nothing new." in again.out


def test_an_import_can_be_tried_before_and_where_there_is_no_log_leaves_none(marina, tmp_path: Path):
    marina("export", "out")
    before = sorted(tmp_path.iterdir())
    tried = marina("--log", "other.db", "import", "out", "--dry-run")
    assert tried.status == 0
    assert "new: 3 schedules" in tried.out
    assert "owners, as they would be recorded:\n  owner_id O-" in tried.out
    assert tried.out.endswith("Nothing was written, as --dry-run asks.\n")
    assert sorted(tmp_path.iterdir()) == before
    owners = tmp_path / "out" / "owners.csv"
    owners.write_text(owners.read_text(encoding="utf-8") + "O-999,New One,,,,\n", encoding="utf-8")
    assert "new: 1 owner" in marina("import", "out", "--dry-run").out
    assert "New One" not in marina("owner", "list").out


def test_an_import_with_a_wrong_row_changes_nothing_and_says_where(twins, tmp_path: Path):
    before = twins("due", "--all", "--format", "json").out
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "readings.csv").write_text(
        "serial,on,meter\nTT-0017,2026-04-15,350.0\nTT-0017,2026-04-31,351.0\nTT-0017,2026-04-15,x\n"
    )
    said = twins("import", "in")
    assert said.status == 1
    for part in ("readings.csv", "line 3", "2026-04-31", "line 4", 'found "x"'):
        assert part in said.err, part
    assert twins("due", "--all", "--format", "json").out == before


def test_check_is_clean_on_the_invented_marina_and_lists_what_waits(marina):
    said = marina("check")
    assert said.status == 0
    assert "nothing wrong" in said.out
    assert "is held" in said.out


def test_check_names_what_came_off_without_a_successor(twins):
    twins("fit", "TT-0017", "timing belt", "--on", "2026-04-12", "--hours", "345.5")
    twins("remove", "TT-0017", "timing belt", "--on", "2026-04-13", "--reason", "failed")
    said = twins("check")
    assert said.status == 0
    assert "TT-0017: timing belt came off on 2026-04-13 and nothing put on since is on record" in said.out
    twins("fit", "TT-0017", "timing belt", "--on", "2026-04-14")
    assert "came off" not in twins("check").out


def test_a_record_with_a_gap_is_taken_in_and_what_came_off_twice_is_told(twins, tmp_path: Path):
    folder = tmp_path / "old"
    folder.mkdir()
    rows = [
        f"old-{n},TT-0017,{on},removed,impeller,scheduled" for n, on in ((1, "2024-05-01"), (2, "2025-05-01"))
    ]
    columns = "entry_id,serial,on,action,item,reason"
    (folder / "entries.csv").write_text("\n".join([columns, *rows, ""]), encoding="utf-8")
    said = twins("import", str(folder))
    assert said.status == 0
    odd = "expected something fitted to remove: entry old-1 took the impeller off on 2024-05-01"
    assert "entries.csv, line 3, column action: " in said.err
    assert odd in said.err
    checked = twins("check")
    assert checked.status == 0
    assert odd in checked.out


def test_a_fitting_between_two_removals_can_be_voided(twins):
    for day, act in (("2026-04-12", "remove"), ("2026-04-13", "fit"), ("2026-04-14", "remove")):
        assert twins(act, "TT-0017", "timing belt", "--on", day).status == 0
    told = json.loads(twins("history", "TT-0017", "--format", "json").out)
    [wrong] = [entry for entry in told["entries"] if entry["on"] == "2026-04-13"]
    assert twins("void", wrong["entry_id"], "--reason", "it was another engine's").status == 0
    assert "expected something fitted to remove" in twins("check").out


def test_the_demo_makes_pages_and_says_how_to_go_on(fleetlog, monkeypatch, tmp_path: Path):
    monkeypatch.delenv("FLEETLOG_LOG")
    said = fleetlog("demo", "--out", "pages")
    assert said.status == 0
    assert (tmp_path / "pages/index.html").exists()
    assert "FLEETLOG_TODAY=2026-04-15" in said.out
    assert f"FLEETLOG_LOG={tmp_path / 'data/fleetlog/demo.db'}\n" in said.out
    assert fleetlog("demo", "--out", "pages").status == 0


def test_the_demo_goes_into_a_database_and_does_not_print_its_address(
    fleetlog, monkeypatch, tmp_path: Path, place: str, store: str
):
    secret = os.environ.get("PGPASSWORD") or "sesame"  # a server that asks for none takes any
    address = place.replace("@", f":{secret}@") if store == "postgresql" else place
    monkeypatch.setenv("FLEETLOG_LOG", address)
    said = fleetlog("demo", "--out", "pages")
    assert said.status == 0, said.err
    assert "FLEETLOG_TODAY=2026-04-15" in said.out
    assert "FLEETLOG_LOG" not in said.out
    assert secret not in said.out + said.err
    assert (f"FLEETLOG_PAPERS={tmp_path / 'log-papers'}\n" in said.out) == (store == "postgresql")


def test_an_earlier_demo_that_cannot_be_removed_is_told(fleetlog, monkeypatch, tmp_path: Path):
    monkeypatch.delenv("FLEETLOG_LOG")
    (tmp_path / "data/fleetlog/demo.db").mkdir(parents=True)
    said = fleetlog("demo", "--out", "pages")
    assert said.status == 1
    assert "the log of an earlier demo" in said.err
    assert "give another place with --log" in said.err


def test_what_to_type_to_go_on_with_the_demo_is_a_word_of_the_shell_there_is():
    settings = {"FLEETLOG_LOG": "/home/Tess O'Hare/demo.db"}
    assert lines_that_set(settings, on_windows=False) == [
        "export FLEETLOG_LOG='/home/Tess O'\"'\"'Hare/demo.db'"
    ]
    settings = {"FLEETLOG_LOG": r"C:\Users\Tess O'Hare\demo.db"}
    assert lines_that_set(settings, on_windows=True) == [
        r"set FLEETLOG_LOG=C:\Users\Tess O'Hare\demo.db",
        "or, in PowerShell:",
        r"$env:FLEETLOG_LOG = 'C:\Users\Tess O''Hare\demo.db'",
    ]


def test_the_demo_does_not_go_into_a_log_in_use(marina):
    said = marina("demo", "--out", "pages")
    assert said.status == 1
    assert "log of its own" in said.err


def test_the_help_lists_every_command_once_under_its_heading(fleetlog):
    printed = fleetlog("--help").out
    headings = [printed.index(f"\n{heading}:\n") for heading in SECTIONS]
    assert headings == sorted(headings)
    listed = re.findall(r"^  ([a-z][a-z-]*)  ", printed, re.M)
    assert listed == list(COMMANDS)


def test_every_command_has_help_with_an_example(fleetlog):
    for command in COMMANDS:
        said = fleetlog(command, "--help")
        assert said.status == 0
        group = "Commands:" in said.out
        assert group or "Examples:" in said.out, command
        for line in said.out.splitlines() if group else ():
            words = line.split()
            if (
                group
                and line.startswith("  ")
                and words
                and words[0].isidentifier()
                and not line.startswith("   ")
            ):
                inner = fleetlog(command, words[0], "--help")
                if inner.status == 0:
                    assert "Examples:" in inner.out or words[0] == "launch", (command, words[0])


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_printed_for_each_shell(fleetlog, shell):
    assert "_FLEETLOG_COMPLETE" in fleetlog("completion", shell).out


def test_wrong_usage_is_status_two_and_a_wrong_command_is_offered_the_nearest(fleetlog):
    said = fleetlog("histroy", "x")
    assert said.status == 2
    assert "history" in said.err
    assert fleetlog("fit", "TT-0017", "timing belt", "--on", "yesterday").status == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("fit TT-0017 belt --on 3.4.2026", "YYYY-MM-DD, such as 2026-04-15; fleetlog fit --help shows how"),
        ("void E-1", "Missing option '--reason'; fleetlog void --help shows how"),
        ("owner forgt X", "Did you mean 'forget'? fleetlog owner --help shows how"),
        ("completion", "Choose from: bash, zsh, fish; fleetlog completion --help shows how"),
        ("histroy x", "Nearest: history; fleetlog --help shows how"),
    ],
)
def test_wrong_words_are_refused_in_one_line_that_says_where_the_right_ones_are(fleetlog, words, said):
    refused = fleetlog(*words.split())
    assert refused.status == 2
    assert refused.err.startswith("fleetlog: ")
    assert refused.err.endswith(f"{said}\n")
    assert refused.err.count("\n") == 1


def test_a_group_without_a_command_shows_its_help(fleetlog):
    assert "Commands:" in fleetlog("owner").err


@pytest.mark.parametrize(
    ("words", "is_told"),
    [
        (("--in-service", "2026-04-15"), True),
        (("--in-service", "2026-01-16"), True),
        (("--in-service", "2026-01-10"), False),
        (("--in-service", "2026-04-15", "--from-new"), False),
        (("--in-service", "2026-04-15", "--joined-used"), False),
        ((), False),
    ],
)
def test_an_engine_put_into_service_lately_is_asked_to_be_said_new(twins, words, is_told):
    """Its first services come sooner than the others."""
    told = twins("engine", "add", "D9", "--family", "V6 belt-cam", *words).err
    assert ("if it was new" in told) is is_told


def test_an_engine_without_a_schedule_is_told_at_once_and_how_one_comes_in(twins, tmp_path):
    added = twins("engine", "add", "D9", "--family", "L6")
    assert "no service schedule for D9" in added.err
    assert "fleetlog engine change D9 --schedule NAME\n" in added.err
    near = twins("engine", "change", "D9", "--family", "v6")
    assert "fleetlog engine change D9 --schedule NAME (nearest: V6 belt-cam)" in near.err
    changed = twins("engine", "change", "D9", "--schedule", "L6")
    assert "a new one is taken in by fleetlog import" in changed.err
    (tmp_path / "mine" / "schedules").mkdir(parents=True)
    text = tmp_path / "mine" / "schedules" / "L6.toml"
    text.write_text("", encoding="utf-8")
    assert "schedules/, are in" in twins("import", str(text)).err
    assert "belong into schedules/ of a folder" in twins("import", str(text.parent)).err
    (tmp_path / "none").mkdir()
    assert "expected owners.csv, " in twins("import", "none").err


def test_an_engine_that_gets_a_schedule_that_asks_less_is_told_what_falls_due_no_more(marina):
    changed = marina("engine", "change", "VK6-21205", "--family", "twin 20")
    assert changed.status == 0, changed.err
    [told] = [line for line in changed.err.splitlines() if "falls due on VK6-21205 no more: " in line]
    assert "Replace belt tensioner, " in told
    assert "check the high-pressure fuel hose for chafing" in told
    assert "no more" not in marina("engine", "change", "VK6-21205", "--maker", "Norvane").err


def test_a_wrong_today_is_one_clear_line(twins):
    said = twins("--today", "2026-02-30", "due")
    assert said.status == 2
    assert "2026-02-30" in said.err


def test_the_boat_that_an_engine_left_is_told_by_its_name(twins):
    twins("engine", "move", "TT-0021", "--to", "Other Boat")
    history = twins("history", "TT-0021").out
    assert re.search(r"^2026-04-15 +changed +boat +was Plain Twins; written down by Tess", history, re.M), (
        history
    )
    assert "B-T1" not in history
    told = json.loads(twins("history", "TT-0021", "--format", "json").out)["changes"]
    assert ("boat_id", "B-T1") in [(change["field"], change["was"]) for change in told]


def test_a_changed_fact_of_an_engine_is_told_with_who_when_and_why(twins, tmp_path):
    changed = twins("engine", "change", "TT-0017", "--maker", "Norvane", "--reason", "read off its plate")
    assert changed.status == 0, changed.err
    assert changed.out == "Changed engine TT-0017: maker Norvane, was not known.\n"
    told = json.loads(twins("history", "TT-0017", "--format", "json").out)["changes"]
    assert [(c["field"], c["was"], c["reason"], c["by"]) for c in told] == [
        ("maker", None, "read off its plate", "Tess")
    ]
    said = twins("history", "TT-0017").out
    assert "was not known; read off its plate; written down by Tess" in said
    twins("extract", "TT-0017", "--out", "extract.html")
    page = (tmp_path / "extract.html").read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert "Maker was not known until 15 April 2026; changed by Tess on" in page
    assert ": read off its plate" in page
    assert twins("export", "out").status == 0
    other = ("--log", str(tmp_path / "other.db"))
    assert twins(*other, "import", "out").status == 0
    again = json.loads(twins(*other, "history", "TT-0017", "--format", "json").out)["changes"]
    assert again == told
    assert twins("check").status == 0


def test_moves_between_boats_are_told_as_stays_and_not_as_changed_facts(twins, tmp_path):
    twins("engine", "move", "TT-0017", "--to", "Other Boat", "--reason", "the owner's wish")
    twins("report", "--out", "pages")
    page = (tmp_path / "pages/engines/TT-0017.html").read_text(encoding="utf-8")
    assert "Other Boat" in page
    assert "Facts of the engine that were changed" not in page
    assert "the owner's wish" in twins("history", "TT-0017").out


def test_an_engine_shows_its_hours_of_today_as_reckoned_in_the_words_of_its_page(twins, tmp_path):
    twins("hours", "TT-0021", "349", "--on", "2026-04-15")
    assert "reckoned" not in twins("engine", "show", "TT-0021").out
    row = json.loads(twins("engine", "show", "TT-0017", "--format", "json").out)
    assert 342.1 <= row["reckoned_low_hours"] <= row["reckoned_hours"] <= row["reckoned_high_hours"]
    assert row["engine_hours"] == 342.1
    assert f"reckoned today: {row['reckoned_today']}\n" in twins("engine", "show", "TT-0017").out
    assert twins("report", "--out", "pages").status == 0
    page = (tmp_path / "pages/engines/TT-0017.html").read_text(encoding="utf-8").replace("\xa0", " ")
    assert row["reckoned_today"].endswith(", an estimate")
    assert row["reckoned_today"] in page.replace("&nbsp;", " ")


def test_a_boat_as_json_has_all_that_its_page_shows(twins: Fleetlog) -> None:
    twins("boat", "lay-up", "Plain Twins", "--from", "2025-11-01", "--to", "2026-03-01")
    twins("boat", "lay-up", "Plain Twins", "--from", "2026-11-01")
    twins("boat", "change", "Plain Twins", "--registration", "R-7", "--berth", "B14")
    shown = json.loads(twins("boat", "show", "Plain Twins", "--format", "json").out)
    engines = json.loads(twins("engine", "list", "--format", "json").out)
    assert shown == {
        "boat_id": "B-T1",
        "owner_id": "O-T1",
        "name": "Plain Twins",
        "registration": "R-7",
        "water": "fresh",
        "use": "private",
        "berth": "B14",
        "owner": "Quill Marsh",
        "engines": [one for one in engines if one["boat"] == "Plain Twins"],
        "layups": [
            {"from_on": "2025-11-01", "to_on": "2026-03-01"},
            {"from_on": "2026-11-01", "to_on": None},
        ],
        "not_laid_up": [],
        "not_sold": [],
    }
    assert "laid up 2026-11-01 to further notice\n" in twins("boat", "show", "Plain Twins").out


def test_an_engine_does_not_come_into_service_long_after_work_on_it(twins):
    """Its lines would be gone, and what is exported then could not be imported again."""
    said = twins("engine", "change", "TT-0017", "--in-service", "2031-05-22")
    assert said.status == 1
    assert "TT-0017 did not come into service on 2031-05-22, as it has work or a figure of 202" in said.err
    assert "in service on: 2021-05-22" in twins("engine", "show", "TT-0017").out
    assert twins("engine", "change", "TT-0017", "--in-service", "2021-06-22").status == 0


def test_figures_that_count_for_nothing_without_a_meter_are_told_when_it_is_said(twins):
    said = twins("engine", "change", "TT-0017", "--no-hour-meter")
    assert "TT-0017: it is said to have no hour meter, so its figures on record (3)" in said.err
    assert twins("engine", "change", "TT-0017", "--hour-meter").err == ""
