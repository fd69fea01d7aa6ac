"""What a cell means: moments, words, what is empty, and ids made for rows without one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.records import Engine, Meter
from fleetlog.exchange.csv import cells as csv_cells
from fleetlog.exchange.csv.cells import ID, MOMENT, CellNotUsable
from fleetlog.exchange.csv.folder import read_folder
from tests.exchange.folders import folder_of


def test_values_that_come_again_are_made_once_and_not_kept_without_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(csv_cells, "_MOST_KEPT", 3)
    made: list[str] = []
    memo = csv_cells.Memo(lambda text: made.append(text) or text.upper())  # type: ignore[func-returns-value]
    assert [memo[text] for text in "abcabcd"] == list("ABCABCD")
    assert made == list("abcd")
    assert list(memo) == ["d"]


@given(
    st.lists(st.one_of(st.from_regex(r"[-a1._'\n ]{0,3}", fullmatch=True), st.text(max_size=3)), min_size=1)
)
def test_ids_that_are_seen_to_be_plain_are_what_their_cells_say(cells: list[str]) -> None:
    if ID.are_plain(cells):
        assert [ID.read(csv_cells.cell_text(cell) or "") for cell in cells] == cells
        assert all(cells)


def test_usual_ids_are_plain_and_long_or_broken_ones_are_not() -> None:
    assert ID.are_plain(["e-1", "R12_3.a", "x" * 200])
    for odd in ("", " e1", "'e1", "e1\ne2", "e1\n", "-e1", "é", "x" * 201):
        assert not ID.are_plain(["e1", odd])


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-03-04", datetime(2026, 3, 4, tzinfo=UTC)),
        ("2026-03-04T10:00:00Z", datetime(2026, 3, 4, 10, tzinfo=UTC)),
        ("2026-03-04T10:00", datetime(2026, 3, 4, 10, tzinfo=UTC)),
        ("2026-03-04 01:30:00+02:00", datetime(2026, 3, 3, 23, 30, tzinfo=UTC)),
        ("2026-03-04T10:00:00.25-0100", datetime(2026, 3, 4, 11, 0, 0, 250_000, tzinfo=UTC)),
    ],
)
def test_a_moment_is_read_as_utc(text: str, moment: datetime) -> None:
    read = MOMENT.read(text)
    assert read == moment
    assert read.utcoffset() == timedelta(0)


@pytest.mark.parametrize(
    "text", ["10:00", "2026-03-04T10", "2026-02-30T10:00Z", "1026-03-04", "20260304", "now"]
)
def test_what_is_no_moment_is_refused(text: str) -> None:
    with pytest.raises(CellNotUsable, match="2026-03-04T10:00:00Z"):
        MOMENT.read(text)


def test_a_moment_is_written_with_a_z() -> None:
    assert MOMENT.write(datetime(2026, 3, 4, 10, tzinfo=UTC)) == "2026-03-04T10:00:00Z"


@given(st.datetimes(datetime(1900, 1, 2), datetime(2199, 12, 30), timezones=st.just(UTC)))
def test_a_written_moment_is_read_to_the_microsecond(moment: datetime) -> None:
    assert MOMENT.read(MOMENT.write(moment)) == moment


def test_what_is_empty_is_unknown_or_what_the_trade_takes_for_granted(tmp_path: Path) -> None:
    folder = folder_of(
        tmp_path,
        owners="owner_id,name\no1,\n",
        boats="boat_id\nb1\n",
        engines="serial,logged_from_new,hour_meter,state,model\nA1,,, , \t \nA2,YES,No,Laid By,x\n",
        meters="serial,fitted_on,meter_reads,engine_hours\nA1,2026-03-04,,120\n",
    )
    batch = read_folder(folder).batch
    assert batch.engines == [
        Engine("A1", logged_from_new=False, hour_meter=True, state="in service"),
        Engine("A2", logged_from_new=True, hour_meter=False, state="laid by", model="x"),
    ]
    assert batch.meters == [Meter("A1", date(2026, 3, 4), 1200, 0)]
    assert batch.owners[0].name == "o1"
    assert batch.boats[0].name == "b1"


ROWS = ["A1,2026-03-04,412,owner,", "A1,2026-03-04,412,owner,", "A1,2026-03-05,412,,withdrawn"]


def ids_of(folder: Path) -> list[str]:
    return [r.reading_id for r in read_folder(folder).batch.readings]


def test_rows_without_an_id_get_one_from_what_they_say_and_it_stays_the_same(tmp_path: Path) -> None:
    head = "serial,on,meter,source,status\n"
    first = ids_of(folder_of(tmp_path / "1", readings=head + "\n".join(ROWS)))
    turned = ids_of(folder_of(tmp_path / "2", readings=head + "\n".join(ROWS[::-1])))
    assert len(set(first)) == 3
    assert sorted(turned) == sorted(first)
    assert first[0].startswith("r-")
    assert first[1] == f"{first[0]}-2"


def test_an_id_made_does_not_hang_on_columns_without_content_nor_on_a_ruling(tmp_path: Path) -> None:
    plain = folder_of(tmp_path / "1", readings="serial,on,meter\nA1,2026-03-05,412\n")
    wide = folder_of(
        tmp_path / "2", readings="reading_id,meter,on,serial,status,by\n,412.0,2026-03-05,A1,confirmed,\n"
    )
    other = folder_of(tmp_path / "3", readings="serial,on,meter\nA1,2026-03-05,412.1\n")
    assert ids_of(plain) == ids_of(wide) != ids_of(other)
