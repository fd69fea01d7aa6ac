"""What is left of a damaged log is made to refer to nothing that is lost, and each thing done is told."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

from fleetlog.domain.batch import Batch
from fleetlog.domain.evidence import Answer, Calibration, Torque
from fleetlog.domain.records import (
    Boat,
    Change,
    Correction,
    Engine,
    Entry,
    Layup,
    LayupChange,
    Owner,
    Ownership,
    Visit,
    Void,
)
from fleetlog.usecases.gaps import fill_gaps

ON = date(2026, 4, 1)
AT = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)


def _void(entry_id: str, replaced_by: str | None = None) -> Void:
    return Void(entry_id, AT, "Kim", "wrong engine", replaced_by)


def _filled(batch: Batch) -> list[str]:
    remarks, apart = fill_gaps(batch, Batch())
    assert apart == []
    return remarks


def test_what_refers_to_a_row_that_is_set_apart_goes_with_it() -> None:
    layup, word = Layup("gull", ON), LayupChange("l1", "gull", ON, "ends", AT, "Kim", ON)
    void, other = Void("E-1", AT, "Kim", "twice"), Void("E-2", AT, "Kim", "twice")
    batch = Batch(voids=[void, other], layup_changes=[word])
    apart = Batch(entries=[Entry("E-1", "A", ON, "fitted", item="belt")], layups=[layup])
    remarks, said = fill_gaps(batch, apart)
    assert said == [
        "voids E-1: E-1 of entries, which it refers to, is set apart",
        f"layup_changes l1: gull, {ON} of layups, which it refers to, is set apart",
    ]
    assert (apart.voids, apart.layup_changes) == ([void], [word])
    assert (batch.voids, batch.layup_changes) == ([], [])
    assert remarks == ["voids: E-2 was left out, as E-2 of entries, which it refers to, is lost"]


def test_a_row_that_means_nothing_without_a_lost_one_is_left_out() -> None:
    batch = Batch(
        voids=[_void("E-1")],
        calibrations=[Calibration("C-1", "W-1", ON)],
        answers=[Answer("A-1", "VK6-1", ON, "put right", "drawn up", "Kim", torque_id="T-1")],
        engines=[Engine("VK6-1")],
    )
    assert _filled(batch) == [
        "voids: E-1 was left out, as E-1 of entries, which it refers to, is lost",
        "calibrations: C-1 was left out, as W-1 of tools, which it refers to, is lost",
        "answers: A-1 was left out, as T-1 of torques, which it refers to, is lost",
    ]
    assert (batch.voids, batch.calibrations, batch.answers) == ([], [], [])


def test_a_word_on_a_lay_up_that_is_lost_is_left_out() -> None:
    words = [LayupChange(f"l-{d}", "B-1", date(2026, 4, d), "ends", AT, "Kim") for d in (1, 2)]
    batch = Batch(boats=[Boat("B-1", None, "Gull")], layups=[Layup("B-1", ON)], layup_changes=words)
    assert _filled(batch) == [
        "layup_changes: l-2 was left out, as B-1, 2026-04-02 of layups, which it refers to, is lost"
    ]
    assert batch.layup_changes == words[:1]


def test_a_row_that_is_true_without_a_lost_one_is_kept_without_it() -> None:
    torque = Torque("T-1", "VK6-1", ON, "cam cover bolts", Decimal(8), "N·m", tool_id="W-1")
    batch = Batch(
        engines=[Engine("VK6-1")],
        entries=[Entry("E-1", "VK6-1", ON, "fitted")],
        voids=[_void("E-1", replaced_by="E-2")],
        torques=[torque],
    )
    remarks = _filled(batch)
    assert batch.voids == [_void("E-1")]
    assert [t.tool_id for t in batch.torques] == [None]
    assert (
        "voids: E-1 was written without its replaced_by, as E-2 of entries, which it refers to, is lost"
        in (remarks)
    )
    assert len(remarks) == 2


def test_lost_engines_boats_owners_and_visits_get_bare_rows_whoever_speaks_of_them() -> None:
    batch = Batch(
        changes=[Change("owners", "O-1", "phone", "555-0100", ON, AT, "Kim")],
        corrections=[Correction("K-1", "mounts", "VK6-1", ON, AT, "Kim", boat_id="B-1")],
        ownership=[Ownership("B-2", "O-2", ON)],
        entries=[Entry("E-1", "VK6-2", ON, "serviced", "V-1")],
    )
    remarks = _filled(batch)
    assert batch.owners == [Owner("O-2", "O-2"), Owner("O-1", "O-1")]
    assert batch.boats == [Boat("B-2", None, "B-2"), Boat("B-1", None, "B-1")]
    assert batch.engines == [Engine("VK6-2"), Engine("VK6-1")]
    assert batch.visits == [Visit("V-1")]
    assert remarks[0] == "owners: the row of O-2 is lost; a bare one was put in its place"
    assert len(remarks) == 7


def test_of_a_whole_batch_nothing_is_changed() -> None:
    batch = Batch(
        owners=[Owner("O-1", "Ida")],
        boats=[Boat("B-1", "O-1", "Sea")],
        engines=[Engine("VK6-1", boat_id="B-1")],
    )
    assert _filled(batch) == []
    assert batch.counts() == {"owners": 1, "boats": 1, "engines": 1}
