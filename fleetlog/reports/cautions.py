"""Cautions for work that can hurt, in one place; which of them a page carries depends on the work it shows.

They are the usual ones of the trade, and the engine maker's manual, local rules and a qualified
technician's judgement stand above them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from fleetlog.domain.schedule import Rule

ABOVE_ALL = (
    "These are the usual cautions, not instructions. The engine maker's manual and local rules come first, "
    "and the work belongs to a qualified technician."
)
FOR_OWNERS = (
    "Leave the work to a qualified technician, and ask us before an engine runs on past its maker's limits."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger, what is usually done about it, and the work that brings it (none: any work)."""

    title: str
    text: str
    work: re.Pattern[str] | None = None

    def applies_to(self, rule: Rule) -> bool:
        """Whether the work of a rule brings this danger."""
        if self.work is None:
            return True
        named = " ".join(filter(None, (rule.title, rule.item, rule.assembly, rule.access)))
        return self.work.search(named) is not None


def _work(words: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{words})", re.IGNORECASE)


CAUTIONS = (
    Caution(
        "Stop it from starting",
        "Battery off and kill cord off before hands go near anything that turns. On engines that start by "
        "hand, spark plug leads off as the manual says.",
    ),
    Caution(
        "Turn it by hand only",
        "With a timing belt or a sprocket off, never turn the engine with the starter. By hand, slowly, in "
        "running direction, and not at all where the manual says that valves can meet pistons.",
        _work("timing|belt|sprocket|tensioner|cam"),
    ),
    Caution(
        "Fuel vapour",
        "It burns and explodes, and gathers low in the boat. Air the space, no flame or spark, engine cold, "
        "fuel shut off and its pressure let down, spills wiped up at once.",
        _work("fuel|carburettor|injector|vapou?r|fogging|stabili[sz]er"),
    ),
    Caution(
        "Run it only with cooling water",
        "A dry pump fails within seconds. Run it afloat, in a tank or on flushing water as the manual says, "
        "and in the open, for the exhaust gas kills in closed rooms, and with hands, hair and clothes clear.",
        _work("water pump|impeller|thermostat|flush|fogging|cooling|test run"),
    ),
    Caution(
        "Lifting",
        "A powerhead, a lower unit or a flywheel is heavy and tips. Lift by the points the maker gives, with "
        "gear that is rated for it, nobody below, and the engine locked where it is tilted up.",
        _work("powerhead|lower unit|midsection|flywheel"),
    ),
    Caution(
        "Propeller",
        "Take it off before the engine is run out of the water, and block it before it is worked on: its "
        "edges cut, and it turns when the engine is turned.",
        _work("propeller|prop|lower unit|gear oil|shaft seal"),
    ),
    Caution(
        "Hot and under pressure",
        "Oil, exhaust and cooling water burn skin for a long time after the engine has stopped. Let it cool; "
        "open caps slowly. Old oil and coolant go to the collecting point, never overboard.",
        _work("oil|thermostat|exhaust|coolant"),
    ),
)


def cautions_for(rules: Iterable[Rule]) -> list[Caution]:
    """The cautions that the work of these rules calls for, each once; none where there is no work."""
    work = list({rule.key + "\n" + rule.title: rule for rule in rules}.values())
    return [caution for caution in CAUTIONS if any(caution.applies_to(rule) for rule in work)]


def cautions_for_words(text: str) -> list[Caution]:
    """The cautions that work described in these words calls for."""
    return [caution for caution in CAUTIONS if caution.work is None or caution.work.search(text)]
