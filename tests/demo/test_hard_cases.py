"""Each hard case that the demo marina is to hold is in its files."""

from __future__ import annotations

from collections import Counter

Rows = list[dict[str, str]]


def only(rows: Rows, **cells: str) -> dict[str, str]:
    """The one row with these cells."""
    found = those(rows, **cells)
    assert len(found) == 1, (cells, len(found))
    return found[0]


def those(rows: Rows, **cells: str) -> Rows:
    """The rows with these cells."""
    return [row for row in rows if all(row[column] == value for column, value in cells.items())]


def test_a_rebuild_over_several_days_has_a_new_belt_and_reused_cover_gaskets(fleet: dict[str, Rows]) -> None:
    rebuilt = only(fleet["entries"], serial="VK6-20417", action="rebuilt", scope="powerhead")
    visit = only(fleet["visits"], visit_id=rebuilt["visit_id"])
    assert visit["opened_on"] < visit["closed_on"]
    done = those(fleet["entries"], visit_id=visit["visit_id"])
    assert len({entry["on"] for entry in done}) > 3
    assert those(done, item="timing belt", action="fitted")
    assert those(done, item="belt tensioner", action="fitted")
    assert {e["position"] for e in those(done, item="cam sprocket", action="fitted")} == {"bank 1", "bank 2"}
    reused = those(done, item="cam cover gasket", action="reused")
    assert {e["position"] for e in reused} == {"bank 1", "bank 2"}
    assert all("sealant" in e["note"] for e in reused)
    assert those(done, item="lower unit cover gasket", action="removed", reason="access")
    assert not those(done, item="lower unit cover gasket", action="fitted")


def test_a_belt_was_fitted_used_with_its_age(fleet: dict[str, Rows]) -> None:
    belt = only(fleet["entries"], serial="ML4-0093", item="timing belt", condition="used")
    assert (belt["prior_hours"], belt["prior_months"]) == ("310.0", "22")


def test_an_item_was_fitted_used_and_nobody_knows_its_age(fleet: dict[str, Rows]) -> None:
    item = only(fleet["entries"], serial="VK6-20391", item="belt tensioner", condition="used")
    assert (item["prior_hours"], item["prior_months"], item["from_serial"]) == ("", "", "")


def test_an_item_went_from_a_scrapped_engine_to_another(fleet: dict[str, Rows]) -> None:
    off = only(fleet["entries"], item="starter motor", action="removed", reason="transferred")
    on = only(fleet["entries"], item="starter motor", action="fitted")
    assert on["from_serial"] == off["serial"] == "VK6-18114"
    assert (on["prior_hours"], on["serial"]) == (off["meter"], "VK6-20417")
    assert off["on"] < on["on"]
    assert only(fleet["engines"], serial="VK6-18114")["state"] == "scrapped"


def test_two_meters_were_replaced_one_by_a_used_one(fleet: dict[str, Rows]) -> None:
    assert only(fleet["meters"], serial="VK6-20733")["meter_reads"] == "0.0"
    assert only(fleet["meters"], serial="ML4-0512")["meter_reads"] == "61.2"
    for meter in fleet["meters"]:
        later = [
            r for r in fleet["readings"] if r["serial"] == meter["serial"] and r["on"] > meter["fitted_on"]
        ]
        assert float(later[0]["meter"]) < float(meter["engine_hours"])


def test_a_reading_below_the_last_one_and_one_far_above_wait_for_a_ruling(fleet: dict[str, Rows]) -> None:
    low = only(fleet["readings"], serial="ML4-0513", on="2025-08-20")
    before = only(fleet["readings"], serial="ML4-0513", on="2025-08-15")
    assert float(low["meter"]) < float(before["meter"])
    high = only(fleet["readings"], serial="ML4-0512", on="2026-04-09")
    sound = only(fleet["readings"], serial="ML4-0512", on="2026-04-01")
    assert float(high["meter"]) > float(sound["meter"]) + 24 * 9
    assert low["status"] == high["status"] == ""


def test_readings_were_withdrawn_and_one_confirmed(fleet: dict[str, Rows]) -> None:
    withdrawn = those(fleet["readings"], status="withdrawn")
    assert Counter(r["serial"] for r in withdrawn) == {"ML4-0206": 1, "ML4-0207": 1, "VK6-21266": 1}
    swapped = those(withdrawn, on="2025-07-23")
    said = {r["serial"]: r["meter"] for r in swapped}
    true = {r["serial"]: r["meter"] for r in those(fleet["readings"], on="2025-07-23", status="")}
    assert (said["ML4-0206"], said["ML4-0207"]) == (true["ML4-0207"], true["ML4-0206"])
    assert only(fleet["readings"], status="confirmed")["serial"] == "VK6-21266"


def test_an_engine_moved_to_another_boat_of_another_owner(fleet: dict[str, Rows]) -> None:
    stays = those(fleet["mounts"], serial="VK6-20388")
    assert [bool(stay["to_on"]) for stay in stays] == [True, False]
    owners = {only(fleet["boats"], boat_id=stay["boat_id"])["owner_id"] for stay in stays}
    assert len(owners) == 2
    assert only(fleet["engines"], serial="VK6-20388")["boat_id"] == stays[1]["boat_id"]


def test_a_boat_changed_hands(fleet: dict[str, Rows]) -> None:
    former, present = fleet["ownership"]
    assert former["boat_id"] == present["boat_id"]
    assert only(fleet["boats"], boat_id=present["boat_id"])["owner_id"] == present["owner_id"]


def test_one_engine_joined_without_records_and_one_with_a_known_first_day(fleet: dict[str, Rows]) -> None:
    assert only(fleet["engines"], serial="VK6-19872")["in_service_on"] == ""
    known = only(fleet["engines"], serial="ML4-0031")
    assert (known["in_service_on"], known["logged_from_new"]) == ("2018-05-11", "no")
    for serial in ("VK6-19872", "ML4-0031"):
        assert those(fleet["entries"], serial=serial)
        assert not those(fleet["entries"], serial=serial, item="timing belt", action="fitted")


def test_an_engine_without_an_hour_meter_has_no_figures(fleet: dict[str, Rows]) -> None:
    assert only(fleet["engines"], serial="T2/0458")["hour_meter"] == "no"
    assert not those(fleet["readings"], serial="T2/0458")
    assert {e["meter"] for e in those(fleet["entries"], serial="T2/0458")} == {""}


def test_a_wrong_entry_is_voided_and_replaced(fleet: dict[str, Rows]) -> None:
    void = fleet["voids"][0]
    wrong = only(fleet["entries"], entry_id=void["entry_id"])
    right = only(fleet["entries"], entry_id=void["replaced_by"])
    assert (wrong["action"], right["action"]) == ("fitted", "inspected")
    assert wrong["serial"] == right["serial"] == "ML4-0266"
    assert wrong["item"] == right["item"] == "timing belt"


def test_some_owners_want_no_reminders_and_some_want_paper(fleet: dict[str, Rows]) -> None:
    ways = Counter(owner["remind_by"] for owner in fleet["owners"])
    assert ways["none"] >= 2
    assert ways["post"] >= 5
    assert ways["email"] >= 20


def test_names_are_as_awkward_as_names_are(fleet: dict[str, Rows]) -> None:
    owners = {owner["name"] for owner in fleet["owners"]}
    assert {"Niamh O'Carrowby", "Hulme/Parrish: joint owners?"} <= owners
    boats = {boat["name"] for boat in fleet["boats"]}
    assert {'"Salt & Pepper" <II>', "''Tis Enough", "'@ Anchor", "Ay Işığı"} <= boats


def test_only_reserved_addresses_and_made_up_numbers_are_used(fleet: dict[str, Rows]) -> None:
    for owner in fleet["owners"]:
        assert "555-01" in owner["phone"]
        assert not owner["email"] or owner["email"].endswith((".example", "@example.org"))


def test_the_hire_fleet_is_read_twice_a_month(fleet: dict[str, Rows]) -> None:
    hire = {boat["boat_id"] for boat in those(fleet["boats"], use="hire")}
    serials = {e["serial"] for e in fleet["engines"] if e["boat_id"] in hire}
    assert len(serials) == 10
    june = [r for r in fleet["readings"] if r["serial"] in serials and r["on"].startswith("2025-06")]
    assert Counter(r["serial"] for r in june) == dict.fromkeys(serials, 2)


def test_lay_ups_are_recorded_over_years_one_of_them_open(fleet: dict[str, Rows]) -> None:
    winters = Counter(layup["boat_id"] for layup in fleet["layups"])
    assert sum(count >= 4 for count in winters.values()) >= 25
    assert [layup["from"] <= "2026-04-15" for layup in fleet["layups"] if not layup["to"]].count(True) == 1
    assert any(layup["from"][:4] == "2023" and layup["to"][:4] == "2025" for layup in fleet["layups"])


def test_a_finding_brings_the_next_look_closer(fleet: dict[str, Rows]) -> None:
    found = only(fleet["entries"], serial="VK6-20902", again_hours="15.0")
    assert (found["item"], found["action"]) == ("timing belt", "inspected")


def test_lines_are_deferred_by_date_and_by_hours(fleet: dict[str, Rows]) -> None:
    assert [bool(d["until_hours"]) for d in fleet["deferrals"]] == [False, True]
    assert all(d["until_on"] > "2026-04-15" and d["reason"] and d["by"] for d in fleet["deferrals"])


def test_visits_say_why_and_advice_that_was_declined(fleet: dict[str, Rows]) -> None:
    why = Counter(visit["why"] for visit in fleet["visits"])
    assert set(why) == {"booked service", "breakdown", "survey", "bulletin"}
    assert why["breakdown"] > 30
    assert any("declined" in visit["advised"] for visit in fleet["visits"])
    told = those(fleet["visits"], why="breakdown")
    assert sum(all(visit[c] for c in ("complaint", "cause", "correction")) for visit in told) > 30
    open_ones = [visit for visit in fleet["visits"] if not visit["closed_on"]]
    assert [visit["why"] for visit in open_ones] == ["breakdown", "booked service"]


def test_impellers_that_failed_in_salt_water_are_many_enough_to_learn_from(fleet: dict[str, Rows]) -> None:
    salt = {boat["boat_id"] for boat in those(fleet["boats"], water="salt")}
    serials = {e["serial"] for e in fleet["engines"] if e["boat_id"] in salt}
    impellers = [
        e
        for e in those(fleet["entries"], item="water pump impeller", action="fitted")
        if e["serial"] in serials
    ]
    ends = Counter(e["reason"] for e in impellers)
    assert ends["failed"] >= 12
    assert ends["worn"] >= 12
    assert all(e["part_number"] and e["lot"] for e in impellers)


def test_engines_are_laid_by_sold_and_scrapped(fleet: dict[str, Rows]) -> None:
    states = Counter(e["state"] for e in fleet["engines"])
    assert states["laid by"] == states["sold"] == states["scrapped"] == 1
