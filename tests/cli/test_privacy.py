"""A person's data can be told in full and forgotten for good, and the log stays what it was."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sqlalchemy import NullPool, create_engine, text

from fleetlog.store import connecting
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of
from tests.cli.conftest import Fleetlog
from tests.conftest import AT, Schemas, on_postgresql


@pytest.fixture
def customer(twins: Fleetlog) -> Fleetlog:
    """Runs `fleetlog` on the plain twins, with an owner of whom much was said."""
    for words in (
        ("owner", "change", "O-T1", "--email", "quill@example.org", "--address", "7 Hidden Lane"),
        ("owner", "change", "O-T1", "--phone", "555-0222"),
        (
            "visit",
            "open",
            "Plain Twins",
            "--id",
            "V-1",
            "--note",
            "Mrs Marsh waits on board",
            "--reason",
            "survey",
        ),
        ("visit", "open", "Other Boat", "--id", "V-2", "--note", "the marshy berth again"),
    ):
        done = twins(*words)
        assert done.status == 0, done.err
    return twins


SECRETS = ("Quill Marsh", "quill@example.org", "7 Hidden Lane", "555-0111", "555-0222")


def test_all_that_is_kept_of_a_person_is_told(customer: Fleetlog, tmp_path: Path) -> None:
    done = customer("owner", "export", "Marsh", "--out", "marsh.json")
    assert done.status == 0, done.err
    path = tmp_path / "marsh.json"
    assert path.stat().st_mode & 0o777 == 0o600
    told = json.loads(path.read_text(encoding="utf-8"))
    text = json.dumps(told, ensure_ascii=False)
    assert all(secret in text for secret in SECRETS)
    assert [boat["name"] for boat in told["boats"]] == ["Plain Twins"]
    assert told["engines"] == {"B-T1": ["TT-0017", "TT-0021"]}
    assert "Mrs Marsh waits on board" in text
    assert "Arden Reed" not in text
    assert "marshy" not in text
    assert customer("owner", "export", "Marsh", "--out", "marsh.json").status == 1


def test_what_is_forgotten_is_nowhere_and_the_chains_hold(
    customer: Fleetlog, place: str, tmp_path: Path, store: str
) -> None:
    before = customer("history", "TT-0021", "--format", "json").out
    if store == "postgresql":
        _sample_columns(place)
    done = customer("owner", "forget", "Quill", "--yes", "--also", "all")
    assert done.status == 0, done.err
    assert "still" not in done.out
    assert "pages, mails, extracts and folders that were written before hold it still" in done.err
    assert ("the server's own backups hold it still" in done.err) == (store == "postgresql")
    checked = customer("check")
    assert checked.status == 0, checked.err
    assert customer("export", "out").status == 0
    everything = "".join(p.read_text(encoding="utf-8") for p in (tmp_path / "out").rglob("*.csv"))
    assert not [s for s in (*SECRETS, "Mrs Marsh") if s in everything]
    assert "the marshy berth again" in everything
    assert "Arden Reed" in everything
    assert customer("history", "TT-0021", "--format", "json").out == before
    if store == "sqlite":
        raw = b"".join(p.read_bytes() for p in tmp_path.glob("log.db*"))
    else:
        raw = _tables_on_disk(place)
    assert b"Arden Reed" in raw
    assert not [s for s in (*SECRETS, "Mrs Marsh") if s.encode() in raw]


def _sample_columns(url: str) -> None:
    """Has the server keep samples of all columns, as it does of its own once rows were added."""
    engine = create_engine(place_of(url).url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        connection.execute(text("ANALYZE"))
        sampled = connection.scalars(
            text("SELECT histogram_bounds::text FROM pg_stats WHERE attname = 'name'")
        )
        assert any("Quill Marsh" in bounds for bounds in sampled if bounds)


def _tables_on_disk(url: str) -> bytes:
    """What stands in the files of a database's tables, unused parts of their pages included."""
    engine = create_engine(place_of(url).url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        connection.execute(text("CHECKPOINT"))
        files = "SELECT pg_read_binary_file(pg_relation_filepath(oid)) FROM pg_class WHERE relkind = 'r'"
        return b"".join(map(bytes, connection.scalars(text(files))))


def test_what_others_who_look_still_hold_of_the_forgotten_is_said_and_goes_later(
    customer: Fleetlog, place: str, tmp_path: Path, store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = open_log(place, at=AT)
    with other.reading() as reader, monkeypatch.context() as impatient:
        assert "O-T1" in reader.owners()
        impatient.setattr(connecting, "BUSY_SECONDS", 0.2)
        done = customer("owner", "forget", "Marsh", "--yes", "--also", "all")
    other.dispose()
    assert (done.status, "texts erased." in done.out) == (0, True)
    assert "may be left in unused parts of" in done.err
    assert "nothing was recorded" not in done.err
    again = customer("owner", "forget", "O-T1", "--yes")
    assert (again.status, again.err) == (0, "")
    raw = (tmp_path / "log.db").read_bytes() if store == "sqlite" else _tables_on_disk(place)
    assert not [s for s in (*SECRETS, "Mrs Marsh") if s.encode() in raw]


@on_postgresql
def test_a_writing_in_another_database_of_the_server_holds_what_is_forgotten_too(
    customer: Fleetlog, place: str, schemas: Schemas, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = create_engine(place_of(schemas.new()).url, poolclass=NullPool)
    with elsewhere.connect() as connection, monkeypatch.context() as impatient:
        connection.execute(text("SELECT pg_current_xact_id()"))
        impatient.setattr(connecting, "BUSY_SECONDS", 0.2)
        done = customer("owner", "forget", "Marsh", "--yes", "--also", "all")
    assert (done.status, "may be left in unused parts of" in done.err) == (0, True)
    assert customer("owner", "forget", "O-T1", "--yes").err == ""
    raw = _tables_on_disk(place)
    assert not [s for s in (*SECRETS, "Mrs Marsh") if s.encode() in raw]


def test_free_text_is_listed_and_goes_only_where_it_is_named(customer: Fleetlog) -> None:
    listed = customer("owner", "forget", "Marsh", "--review").out
    assert listed == "visits:1:note  Mrs Marsh waits on board\n"
    refused = customer("owner", "forget", "Marsh", "--yes", "--also", "visits:9:note")
    assert refused.status == 1
    assert "none of the texts" in refused.err
    assert "Quill Marsh" in customer("owner", "list").out
    done = customer("owner", "forget", "Marsh", "--yes")
    assert "names them still: visits:1:note" in done.out
    assert "Quill Marsh" not in customer("owner", "list").out
    assert customer("check").status == 0


def test_ids_and_names_of_boats_that_name_them_are_listed_for_review(customer: Fleetlog) -> None:
    customer("boat", "change", "Other Boat", "--name", "Lady Marsh")
    customer("visit", "open", "Plain Twins", "--id", "J-Marsh")
    listed = customer("owner", "forget", "Marsh", "--review").out
    assert "name  Lady Marsh\n" in listed
    assert listed.endswith("an id names them, and ids stay: visits: J-Marsh\n")


def test_nothing_is_forgotten_unasked(customer: Fleetlog) -> None:
    done = customer("owner", "forget", "Marsh")
    assert done.status == 1
    assert "Quill Marsh (O-T1)" in done.err
    assert "say --yes, or --review first" in done.err
    assert "no owner 'zzz'" in customer("owner", "forget", "zzz").err
    assert "Quill Marsh" in customer("owner", "list").out


def test_the_ledger_is_guarded_again_afterwards_and_goes_on(customer: Fleetlog, store: str) -> None:
    customer("owner", "forget", "Marsh", "--yes", "--also", "all")
    assert (
        customer("fit", "TT-0017", "water pump impeller", "--on", "2026-04-15", "--hours", "350").status == 0
    )
    assert customer("check").status == 0
    if store == "sqlite":
        import sqlite3

        with sqlite3.connect("log.db") as raw:
            for table in ("visits", "changes"):
                with pytest.raises(sqlite3.IntegrityError, match="never changed or deleted"):
                    raw.execute(f"DELETE FROM {table}")
        raw.close()


def test_of_a_boat_that_was_sold_each_owner_is_told_what_is_of_their_own_time(
    customer: Fleetlog, tmp_path: Path
) -> None:
    (tmp_path / "seller.txt").write_text("the seller's bill", encoding="utf-8")
    (tmp_path / "buyer.txt").write_text("the buyer's bill", encoding="utf-8")
    before, after = ("--today", "2026-04-10"), ("--today", "2026-04-15")
    for words in (
        (*before, "visit", "open", "Plain Twins", "--id", "V-3", "--note", "seller in a hurry"),
        (*before, "paper", "add", "V-3", "seller.txt"),
        (*before, "diary", "wish", "add", "Plain Twins", "--weekdays", "mon", "--note", "seller is away"),
        (*before, "advice", "add", "TT-0017", "renew the hoses", "--note", "seller has no money"),
        (*after, "boat", "sell", "Plain Twins", "--to", "Arden", "--on", "2026-04-14"),
        (*after, "visit", "open", "Plain Twins", "--id", "V-4", "--complaint", "buyer heard a noise"),
        (*after, "paper", "add", "V-4", "buyer.txt"),
        (*after, "diary", "wish", "add", "--owner", "Arden", "--weekdays", "tue", "--note", "buyer rings"),
        (*after, "advice", "add", "TT-0021", "renew the anodes", "--told-to", "the buyer's son"),
        (*after, "boat", "lay-up", "Plain Twins", "--from", "2026-04-20"),
    ):
        done = customer(*words)
        assert done.status == 0, done.err
    seller = customer("owner", "export", "O-T1").out
    buyer = customer("owner", "export", "O-T2").out
    assert [t for t in ("in a hurry", "is away", "no money", "seller.txt") if t not in seller] == []
    assert [
        t for t in ("heard a noise", "rings", "'s son", "buyer.txt", "2026-04-20") if t not in buyer
    ] == []
    assert "buyer" not in seller
    assert "2026-04-20" not in seller
    assert "seller" not in buyer
    listed = customer("owner", "forget", "O-T1", "--review").out
    assert "seller.txt, visit V-3" in listed
    assert "buyer.txt" not in listed
    customer("owner", "forget", "O-T1", "--yes", "--also", "papers")
    assert "buyer.txt" in customer("paper", "list").out


def test_a_long_text_is_listed_by_what_stands_around_the_name(customer: Fleetlog) -> None:
    customer("visit", "open", "Other Boat", "--id", "V-5", "--note", f"{'x ' * 200}Marsh rang{' y' * 200}")
    listed = customer("owner", "forget", "Marsh", "--review").out.splitlines()[-1]
    assert listed.startswith("visits:3:note  …x x")
    assert listed.endswith("y y…")
    assert " Marsh rang " in listed
    assert len(listed) < 160


def test_who_is_forgotten_already_is_named_by_nothing(customer: Fleetlog) -> None:
    customer("visit", "open", "Other Boat", "--note", "the owner's papers were forgotten")
    customer("owner", "forget", "O-T1", "--yes", "--also", "all")
    assert customer("owner", "forget", "O-T1", "--yes").out == "O-T1: 0 texts erased.\n"


@pytest.mark.parametrize("out", ["no/such/folder/marsh.json", "."])
def test_a_place_that_takes_no_file_is_said(customer: Fleetlog, out: str) -> None:
    refused = customer("owner", "export", "Marsh", "--out", out)
    assert refused.status in (1, 2)
    assert out in refused.err


def test_a_folder_from_before_brings_nobody_back(customer: Fleetlog, tmp_path: Path) -> None:
    customer("boat", "change", "Other Boat", "--name", "Lady Marsh")
    assert customer("export", "before").status == 0
    customer("owner", "forget", "O-T1", "--yes", "--also", "all")
    again = customer("import", "before")
    assert again.status == 0, again.err
    assert again.out.startswith("unchanged")
    assert "owners.csv, line 2: what this says was erased from the log by `owner forget`" in again.err
    assert "boats.csv, line 3: what this says was erased" in again.err
    assert customer("export", "after").status == 0
    everything = "".join(p.read_text(encoding="utf-8") for p in (tmp_path / "after").rglob("*.csv"))
    assert not [s for s in (*SECRETS, "Mrs Marsh", "Lady Marsh") if s in everything]
    assert customer("import", "after").err == ""
    assert customer("owner", "change", "O-T1", "--name", "Quill Marsh").status == 0
    assert customer("check").status == 0
