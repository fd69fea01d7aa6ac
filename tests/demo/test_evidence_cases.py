"""The demo marina's evidence: every kind of it, a flagged wrench, an answered torque, a visit that waits."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fleetlog.domain.evidence_text import flags_of, open_points
from fleetlog.domain.ledger import Evidence
from fleetlog.errors.recording import VisitStaysOpen
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases.cards import list_cards
from fleetlog.usecases.demo import DEMO_OCCASION, fill_demo
from fleetlog.usecases.visits import close_visit

REBUILT, WAITING = "VK6-20417", "VK6-20701"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Log]:
    log = open_log(str(tmp_path_factory.mktemp("demo") / "log.db"), at=datetime(2026, 4, 15, tzinfo=UTC))
    fill_demo(log)
    yield log
    log.dispose()


def evidence_on(log: Log, serial: str) -> Evidence:
    with log.reading() as reader:
        return reader.ledger(serial).evidence


def test_every_family_has_a_card_and_every_torque_on_one_has_a_band(demo: Log) -> None:
    cards = list_cards(demo)
    families = {family for card in cards for family in card.families}
    assert families == {"V6 belt-cam", "I4 belt-cam", "twin 20"}
    for card in cards:
        assert "nvented" in (card.note or "")
        assert "manual rules" in (card.note or "")
        assert card.cautions
        for step in card.steps:
            if step.torque is not None:
                for one in step.torque.passes:
                    assert one.low is not None
                    assert one.high is not None
                    assert one.low <= one.target <= one.high


def test_the_rebuild_has_its_card_its_measurements_and_what_stood_out_answered(demo: Log) -> None:
    evidence = evidence_on(demo, REBUILT)
    card = next(c for c in list_cards(demo) if c.name == "belt and flywheel refit")
    assert [c.step for c in evidence.checks] == [s.key for s in card.steps]
    assert {m.stage for m in evidence.measurements if m.item == "compression"} == {"found", "left"}
    off = [t for t in evidence.torques if t.is_off]
    assert [t.joint for t in off] == ["stator bolts"]
    assert [a.outcome for a in evidence.answers_to(off[0].torque_id)] == ["put right"]
    flagged = [
        (t.joint, flag) for t in evidence.torques for flag in flags_of(t, evidence) if "OFF" not in flag
    ]
    assert len(flagged) == 1
    assert flagged[0][0] == "flywheel nut"
    assert "calibration ran out" in flagged[0][1]


def test_a_visit_waits_for_a_word_on_a_figure_outside_its_limits(demo: Log) -> None:
    (point,) = open_points(evidence_on(demo, WAITING))
    assert "pressure after five minutes" in point.text
    visit = next(m.visit_id for m in evidence_on(demo, WAITING).measurements)
    assert visit is not None
    with pytest.raises(VisitStaysOpen, match="pressure after five minutes"):
        close_visit(demo, DEMO_OCCASION, visit, DEMO_OCCASION.today)


def test_the_folder_of_the_demo_has_a_file_of_every_kind_of_evidence() -> None:
    folder = Path(__file__).parents[2] / "demo_fleet"
    for kind in ("tools", "calibrations", "torques", "measurements", "checks", "answers"):
        assert len((folder / f"{kind}.csv").read_text(encoding="utf-8").splitlines()) > 1, kind
