"""The person, the moment and the day of a use case."""

from datetime import UTC, date, datetime

from fleetlog.usecases.occasion import Occasion, new_id


def test_what_is_said_is_dated_on_the_day_that_counts_as_today():
    evening_in_the_west = Occasion("Tess", datetime(2026, 4, 16, 3, 30, tzinfo=UTC), date(2026, 4, 15))
    assert evening_in_the_west.said_at == datetime(2026, 4, 15, 3, 30, tzinfo=UTC)
    same_day = Occasion("Tess", datetime(2026, 4, 15, 3, 30, tzinfo=UTC), date(2026, 4, 15))
    assert same_day.said_at == same_day.at


def test_ids_are_short_and_differ():
    ids = {new_id("e") for _ in range(1000)}
    assert len(ids) == 1000
    assert all(len(i) == 9 and i.startswith("e") and i.isalnum() for i in ids)
