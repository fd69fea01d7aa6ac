"""Which work cards belong to the jobs of a visit: made for the engine's family, and about the job's item."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fleetlog.domain.card import Card
from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.diary_records import Job
from fleetlog.domain.records import Engine
from fleetlog.domain.schedule import Rule, Schedule
from fleetlog.domain.words import name_key
from fleetlog.store.reader import Reader


def cards_of_log(reader: Reader) -> dict[str, Card]:
    """The newest revision of every work card that can be read, by name."""
    read = {name: card_from_toml(name, text.text)[0] for name, text in reader.cards().items()}
    return {name: card for name, card in sorted(read.items()) if card is not None}


def rule_of_job(job: Job, engines: Mapping[str, Engine], schedules: Mapping[str, Schedule]) -> Rule | None:
    """The rule that a job speaks of, where its engine's schedule still has it."""
    engine = engines.get(job.serial)
    schedule = schedules.get(engine.schedule_name) if engine and engine.schedule_name else None
    return schedule.rule(job.rule) if schedule else None


def cards_for(
    jobs: Iterable[Job],
    engines: Mapping[str, Engine],
    schedules: Mapping[str, Schedule],
    cards: Mapping[str, Card],
) -> list[tuple[str, str]]:
    """The names of the cards for these jobs, each with its engine: those whose title names a job's item."""
    found: dict[tuple[str, str], None] = {}
    for job in jobs:
        rule = rule_of_job(job, engines, schedules)
        if rule is None:
            continue
        for name, card in cards.items():
            if card.is_for(engines[job.serial].family) and name_key(rule.item) in name_key(card.title):
                found[name, job.serial] = None
    return list(found)
