"""Which consequences are grave."""

from __future__ import annotations

import pytest

from fleetlog.domain.gravity import is_grave, is_grave_item
from fleetlog.domain.schedule import Rule, Schedule


@pytest.mark.parametrize(
    ("consequence", "grave"),
    [
        ("engine damage", True),
        ("loss of steering", True),
        ("Fire", True),
        ("a seized powerhead", True),
        ("damage to the engine", True),
        ("ruins the whole powerhead", True),
        ("pistons and valves meet", True),
        ("bent valves", True),
        ("the boat adrift", True),
        ("lower unit damage", False),
        ("loss of power", False),
        ("the engine cannot be started", False),
        ("overheating and a tow", False),
        ("corrosion", False),
        ("oil leak", False),
        (None, False),
    ],
)
def test_what_wrecks_an_engine_or_endangers_people_is_grave(consequence: str | None, grave: bool) -> None:
    assert is_grave(Rule("k", "T", "item", "replace", consequence=consequence)) is grave


@pytest.mark.parametrize(
    "consequence",
    [
        "motor destroyed", "valve strikes piston", "cranks seize", "a connecting rod breaks",
        "crankshaft lost", "wrecks the powerhead", "powerhead ruined", "engine loss", "the crank broke",
        "valves bend", "valves hit pistons", "destroys the engine", "broken pistons", "ruined crankcase",
        "loss of the engine", "a wreck", "it seizes", "explosion", "burns", "injury", "steering gives way",
        "throttle sticks", "it runs away", "running away", "the stop switch fails", "kill switch dead",
        "kill cord useless", "it sinks", "it capsizes", "collision", "flooding", "drowning", "danger",
        "somebody overboard", "a fuel leak", "carbon monoxide", "an electric shock", "loss of control",
        "loss of the boat", "people hurt",
    ],
)  # fmt: skip
def test_each_word_for_a_wreck_or_for_danger_to_people_is_heard(consequence: str) -> None:
    assert is_grave(Rule("k", "T", "item", "replace", consequence=consequence))


def test_an_item_is_grave_where_any_of_its_rules_says_so() -> None:
    renewed = Rule("r", "Renew", "Linkage", "replace")
    looked_at = Rule("i", "Inspect", "linkage", "inspect", consequence="loss of steering")
    assert is_grave_item(Schedule("V6", "V6", 1, (renewed, looked_at)), "linkage")
    assert not is_grave_item(Schedule("V6", "V6", 1, (renewed,)), "linkage")
