"""Lines kept for speed: found by what is asked, out of date as soon as something is written."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from fleetlog.domain.batch import Batch
from fleetlog.domain.records import Layup, LayupChange, Reading
from fleetlog.domain.schedule import ScheduleText
from fleetlog.store.kept.fits import KeptFit
from fleetlog.store.kept.lines import _STALE_SERIALS, rows_to_keep
from fleetlog.store.log import Log
from fleetlog.store.writer import Writer
from tests.store.kept_rows import FIRST, LAST, TODAY, a_line, an_engine, keep_a_line
from tests.store.rows import AT, a_marina
from tests.store.said import statements

SERIAL = "AB-1001"


@pytest.fixture
def marina_log(log: Log) -> Log:
    """The small marina, with nothing kept."""
    with log.writing("Kim", AT) as writer:
        writer.add(a_marina())
    return log


def keep(log: Log, *engines) -> int:
    with log.reading() as reader:
        seen = reader.kept.seen([e.serial for e in engines])
    return log.keep(engines=[rows_to_keep(e) for e in engines], seen=seen)


def out_of_date(log: Log, today: date = TODAY, fit: str = "fit-1", serial: str | None = None) -> list[str]:
    with log.reading() as reader:
        return reader.kept.out_of_date(fit, today, serial)


def showing(log: Log, until_on: date | None, **asked: str) -> list[str]:
    with log.reading() as reader:
        return [row[7] for row in reader.kept.lines_showing(until_on, **asked)]


def test_what_is_kept_comes_back_as_it_was(marina_log: Log) -> None:
    engine = an_engine(
        SERIAL, a_line("belt", TODAY), a_line("gasket", date.min, "next access"), a_line("oil", None)
    )
    assert keep(marina_log, engine) == 1
    with marina_log.reading() as reader:
        assert reader.kept.engines([SERIAL, "ab-1002"]) == {SERIAL: engine}


def test_keeping_again_replaces_what_was_kept(marina_log: Log) -> None:
    keep(marina_log, an_engine(SERIAL, a_line("belt", TODAY), a_line("oil", TODAY)))
    keep(marina_log, an_engine(SERIAL, a_line("impeller", TODAY)))
    assert showing(marina_log, TODAY) == ["impeller"]


def test_only_lines_that_changed_are_written_and_only_those_of_their_engine(marina_log: Log) -> None:
    belt, oil, seal = a_line("belt", TODAY), a_line("oil", TODAY), a_line("seal", None)
    before = [an_engine(serial, belt, oil, seal) for serial in (SERIAL, "ab-1002", "X_9%")]
    after = [an_engine(SERIAL, belt, a_line("oil", LAST)), an_engine("ab-1002", oil, belt, seal, oil)]
    keep(marina_log, *before)
    with statements() as said:
        keep(marina_log, *after)
    lines = [text for text in said if "kept_lines" in text and not text.startswith("SELECT")]
    assert [text.split()[0] for text in lines] == ["DELETE", "INSERT"]
    assert lines[1].count("(") == 1 + 4  # its columns; one line of the first engine, three of the second
    with marina_log.reading() as reader:
        kept = reader.kept.engines([SERIAL, "ab-1002", "X_9%"])
    assert list(kept.values()) == [*after, before[2]]


def test_lines_that_stay_as_they_were_are_not_written_again(marina_log: Log) -> None:
    engine = an_engine(SERIAL, a_line("belt", TODAY), a_line("oil", None))
    keep(marina_log, engine)
    with statements() as said:
        assert keep(marina_log, engine) == 1
    assert not [text for text in said if "kept_lines" in text and not text.startswith("SELECT")]


def test_lines_show_from_their_day_on(marina_log: Log) -> None:
    later = TODAY + timedelta(days=30)
    keep(marina_log, an_engine(SERIAL, a_line("belt", TODAY), a_line("oil", later), a_line("seal", None)))
    assert showing(marina_log, TODAY - timedelta(days=1)) == []
    assert showing(marina_log, TODAY) == ["belt"]
    assert sorted(showing(marina_log, later)) == ["belt", "oil"]
    assert sorted(showing(marina_log, None)) == ["belt", "oil", "seal"]


def test_lines_are_found_by_owner_boat_and_engine_with_their_names(marina_log: Log) -> None:
    keep_a_line(marina_log, SERIAL)
    for asked in ({"owner_id": "ann"}, {"boat_id": "gull"}, {"serial": SERIAL}):
        assert showing(marina_log, None, **asked) == ["impeller"]
    for asked in ({"owner_id": "bo"}, {"boat_id": "tern"}, {"serial": "ab-1002"}):
        assert showing(marina_log, None, **asked) == []
    with marina_log.reading() as reader:
        (row,) = reader.kept.lines_showing(None)
        names = (SERIAL, "Gull", "gull", reader.owners()["ann"].name, "ann", "small", "V6")
    assert row[:7] == names


def test_lines_serve_for_their_days_and_their_fit_only(marina_log: Log) -> None:
    others = ["ab-1002", "X_9%"]
    keep_a_line(marina_log, SERIAL)
    for day in (FIRST, TODAY, LAST):
        assert out_of_date(marina_log, day) == others
    for day in (FIRST - timedelta(days=1), LAST + timedelta(days=1)):
        assert out_of_date(marina_log, day) == [SERIAL, *others]
    assert out_of_date(marina_log, fit="fit-2") == [SERIAL, *others]
    assert out_of_date(marina_log, serial=SERIAL) == []
    assert out_of_date(marina_log, serial="ab-1002") == ["ab-1002"]


WRITES: dict[str, Callable[[Writer], object]] = {
    "a reading": lambda w: w.add(Batch(readings=[Reading("new", SERIAL, TODAY, 5000)])),
    "a ruling": lambda w: w.rule_on_reading("r1", "withdrawn"),
    "a lay-up of its boat": lambda w: w.add(Batch(layups=[Layup("gull", TODAY)])),
    "a revision of its schedule": lambda w: w.add(Batch(schedules=[ScheduleText("small", 9, "")])),
    "the end of a mount": lambda w: w.end("mounts", (SERIAL, date(2021, 5, 1)), TODAY),
    "another end of a lay-up": lambda w: w.add(
        Batch(layup_changes=[LayupChange("l9", "gull", date(2025, 11, 1), "ends", AT, "Kim", TODAY)])
    ),
    "the end of a lay-up": lambda w: w.end("layups", ("gull", date(2025, 11, 1)), TODAY),
}


@pytest.mark.parametrize("what", WRITES)
def test_it_is_put_out_of_date_by(marina_log: Log, what: str) -> None:
    keep_a_line(marina_log, SERIAL)
    with marina_log.writing("Kim", AT) as writer:
        WRITES[what](writer)
    assert SERIAL in out_of_date(marina_log)
    with marina_log.reading() as reader:
        assert reader.kept.engines([SERIAL]) == {}


def test_a_writing_that_fails_leaves_what_is_kept_in_date(marina_log: Log) -> None:
    """And what it was left half at is not told as damage."""
    keep_a_line(marina_log, SERIAL)

    def fail() -> None:
        with marina_log.writing("Kim", AT) as writer:
            writer.rule_on_reading("r1", "withdrawn")
            raise KeyError

    with pytest.raises(KeyError):
        fail()
    assert SERIAL not in out_of_date(marina_log)


def test_what_was_seen_before_a_writing_is_not_kept_after_it(marina_log: Log) -> None:
    with marina_log.reading() as reader:
        seen = reader.kept.seen([SERIAL])
    with marina_log.writing("Kim", AT) as writer:
        writer.rule_on_reading("r1", "withdrawn")
    late = rows_to_keep(an_engine(SERIAL, a_line("belt", TODAY)))
    assert marina_log.keep(engines=[late], seen=seen) == 0
    assert showing(marina_log, None) == []


def test_the_latest_fit_of_the_days_asked_for_is_found(log: Log) -> None:
    days = [TODAY - timedelta(days=n) for n in (0, 1, 40)]
    log.keep([KeptFit(f"fit-{n}", day, n, "{}") for n, day in enumerate(days)])
    log.keep([KeptFit("again", days[1], 7, "{}")])
    with log.reading() as reader:
        assert reader.kept.latest_fit(days[2], days[0]) == KeptFit("fit-0", days[0], 0, "{}")
        assert reader.kept.latest_fit(days[2], days[1]) == KeptFit("again", days[1], 7, "{}")
        assert reader.kept.latest_fit(days[0] + timedelta(days=1), date.max) is None


def test_figures_are_counted_by_their_days(marina_log: Log) -> None:
    with marina_log.reading() as reader:
        assert reader.kept.figures_until(date(2021, 1, 1)) == 1
        assert reader.kept.figures_until(TODAY) == 4  # three readings, and one entry with a figure
        assert reader.kept.figures_until(TODAY, most=2) == 2


def test_what_is_out_of_date_is_searched_for_not_all_looked_through(marina_log: Log) -> None:
    with marina_log.reading() as reader:
        connection = reader._connection
        compiled = _STALE_SERIALS.compile(dialect=connection.dialect)
        is_sqlite = connection.dialect.name == "sqlite"
        if not is_sqlite:  # with few rows it reads a table through for being sooner done
            connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
        explain = "EXPLAIN QUERY PLAN" if is_sqlite else "EXPLAIN"
        plan = connection.exec_driver_sql(f"{explain} {compiled}", {"today": 1, "fit": "f"}).all()
    steps = [str(row[-1]) for row in plan]
    assert sum("ix_kept_engines_" in step for step in steps) == 5, steps
