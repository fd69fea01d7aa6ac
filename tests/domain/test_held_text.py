"""Held readings of a few engines are told one by one, those of many in one line that leads to all."""

from __future__ import annotations

from fleetlog.domain.held_text import MOST_TOLD_EACH, held_texts


def test_held_readings_of_a_few_engines_are_told_one_by_one() -> None:
    told = held_texts({f"TT-{n}": 1 for n in range(MOST_TOLD_EACH)})
    assert len(told) == MOST_TOLD_EACH
    assert told[1].startswith("TT-1: 1 reading is held and counts for nothing")


def test_held_readings_of_many_engines_are_told_in_one_line() -> None:
    (told,) = held_texts({f"TT-{n:02}": 2 for n in range(MOST_TOLD_EACH + 1)})
    assert told == (
        "14 readings of 7 engines are held and count for nothing, so hours may have run out unseen, of TT-00,"
        " TT-01, TT-02, TT-03, TT-04, TT-05 and 1 more: fleetlog reading list --held"
    )
