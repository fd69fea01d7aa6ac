"""The interval engine and a second, literal reading of its rules agree on thousands of nasty ledgers."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.domain.nasty_ledgers import nasty_case
from tests.domain.second_reading import read_again
from tests.domain.two_readings import disagreements

CASES = 9000
PARTS = 12


@pytest.mark.parametrize("part", range(PARTS))
def test_two_readings_of_the_rules_agree(part: int) -> None:
    seeds = range(part * CASES // PARTS, (part + 1) * CASES // PARTS)
    apart = {seed: found for seed in seeds if (found := disagreements(nasty_case(seed)))}
    assert not apart, f"seeds {sorted(apart)}; the first: {next(iter(apart.values()))}"


def test_the_nasty_ledgers_reach_every_state_and_every_way_to_it() -> None:
    seen: Counter[str] = Counter()
    for seed in range(900):
        case = nasty_case(seed)
        second = read_again(case.ledger, case.schedule, case.today)
        seen.update(["held"] * bool(second.held))
        for facts in second.lines.values():
            seen[facts.state] += 1
            seen["rebuild says so"] += facts.says_no_entry
            seen["deferred"] += facts.deferred_until is not None or facts.deferred_until_hours is not None
            seen["between tenths"] += facts.due_hours is not None and (facts.due_hours * 10).denominator > 1
    ways = (
        "overdue",
        "no record",
        "next access",
        "open",
        "held",
        "rebuild says so",
        "deferred",
        "between tenths",
    )
    assert all(seen[way] >= 25 for way in ways), seen
