"""What is asked of an engine that joins the log used."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fleetlog.domain.joining import asked_lines
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Engine, Entry, Layup
from fleetlog.domain.schedule import Deadline, Limits, Rule, Schedule

TODAY = date(2024, 6, 1)


def test_it_is_asked_about_each_line_with_an_interval_that_has_no_work_yet() -> None:
    belt = Rule("belt", "Belt", "belt", "replace", positions=("bank 1", "bank 2"), every=Limits(1000, 60))
    rules = (
        belt,
        Rule("plugs", "Plugs", "plugs", "inspect", every=Limits(months=12)),
        Rule("fuel", "Fuel", "fuel", "service", season="before lay-up"),
        Rule("hose", "Hose", "hose", "inspect", once=True, by=Deadline(TODAY)),
        Rule("gasket", "Gasket", "gasket", "replace", renew_when_disturbed=True),
    )
    boat = BoatLedger(Boat("B", None, "B"), layups=(Layup("B", date(2023, 10, 20), date(2024, 4, 10)),))
    engine = Engine("E1", boat_id="B", in_service_on=date(2020, 1, 1))
    put_back = Entry("e1", "E1", date(2024, 5, 1), "reused", item="gasket")
    ledger = EngineLedger(engine, (put_back,), boats={"B": boat})
    schedule = Schedule("s", "S", 1, rules)
    asked = [(line.rule.key, line.position) for line in asked_lines(ledger, schedule, TODAY)]
    assert asked == [("belt", "bank 1"), ("belt", "bank 2"), ("plugs", None)]
    fitted = Entry("e2", "E1", date(2024, 5, 1), "fitted", item="belt", position="bank 2")
    done = replace(ledger, entries=(put_back, fitted))
    asked = [(line.rule.key, line.position) for line in asked_lines(done, schedule, TODAY)]
    assert asked == [("belt", "bank 1"), ("plugs", None)]
