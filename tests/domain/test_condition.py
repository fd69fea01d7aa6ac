"""Condition: an item's own measurements bring its line nearer, as far as they support it and no further."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlog.domain.condition import Measured, Wear, nearer, not_judged, trend_to
from fleetlog.domain.due import DueLine
from fleetlog.domain.evidence import Answer, Measurement
from fleetlog.domain.explain import explain
from fleetlog.domain.ledger import EngineLedger, Evidence
from fleetlog.domain.records import Engine, Entry, Reading
from fleetlog.domain.schedule import Condition, Limits, Rule, Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.domain.usage import DateWindow, HoursTarget
from tests.domain.lines import due_lines
from tests.domain.test_states import AskedForecast

TODAY = date(2024, 6, 1)
NEW = Engine("E1", in_service_on=date(2023, 1, 1), logged_from_new=True)
METERLESS = replace(NEW, hour_meter=False)
MASS = Condition("% left", at_least=Decimal(50))
ANODE = Rule("anode", "Anode", "anode", "inspect", every=Limits(100_000, 60), condition=MASS)


@dataclass(frozen=True)
class OneADay:
    """An hour is run each day, known within ten days."""

    last: Reading

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        found = []
        for target in targets:
            start, tenths = (
                (self.last.on, self.last.meter_tenths) if target.since is None else (target.since, 0)
            )
            likely = start + timedelta(days=int((target.tenths - tenths) / 10))
            found.append(
                DateWindow(max(start, likely - timedelta(days=5)), likely, likely + timedelta(days=5))
            )
        return found

    def basis(self) -> str:
        return "an hour a day"


def looked(number: int, on: date, tenths: int | None, measured: str, **more: object) -> Entry:
    return Entry(
        f"e{number}",
        "E1",
        on,
        "inspected",
        item="anode",
        meter_tenths=tenths,
        measured=measured,
        unit="% left",
        sequence=number,
        **more,  # type: ignore[arg-type]
    )


def anode_line(
    *measured: str, rule: Rule = ANODE, engine: Engine = NEW, extra: tuple[Entry, ...] = (), within: int = 60
) -> DueLine:
    """A line after looks at 100, 200, 300 … h, a hundred days apart, the last of them on 1 May 2024."""
    count = len(measured)
    days = [date(2024, 5, 1) - timedelta(days=100 * (count - 1 - n)) for n in range(count)]
    entries = tuple(
        looked(n, day, 1000 * (n + 1) if engine.hour_meter else None, figure)
        for n, (day, figure) in enumerate(zip(days, measured, strict=True))
    )
    reading = Reading("r", "E1", date(2024, 5, 1), 1000 * count)
    readings = (reading,) if engine.hour_meter else ()
    ledger = EngineLedger(engine, entries=(*entries, *extra), readings=readings)
    lines = due_lines(ledger, Schedule("s", "S", 1, (rule,)), TODAY, OneADay(reading), within)
    return lines[0]


def test_a_steady_trend_is_due_when_it_comes_to_the_limit() -> None:
    line = anode_line("90", "80", "70", "60")
    assert line.likely_on == date(2024, 5, 1) + timedelta(days=100)
    assert line.state == "later"
    assert line.governs == "date"
    said = explain(line)
    assert "By the trend of 4 measurements since it was fitted, the last 60 % left on 2024-05-01, " in said
    assert "its limit of 50 % left is reached at 500.0 h, between 500.0 and 500.0 h; " in said
    assert "the measurements are followed as far again as they reach back, no further." in said


def test_one_bad_figure_does_not_turn_the_trend() -> None:
    steady, with_a_slip = anode_line("90", "80", "70", "60"), anode_line("90", "97", "70", "60")
    assert steady.likely_on is not None
    assert with_a_slip.likely_on is not None
    assert abs((steady.likely_on - with_a_slip.likely_on).days) <= 40


def test_two_measurements_make_no_trend() -> None:
    line = anode_line("90", "60")
    assert line.likely_on == line.due_on
    assert "fewer than 3 measurements make no trend" in explain(line)


def test_a_limit_farther_off_than_the_measurements_reach_back_is_not_foretold() -> None:
    line = anode_line("98", "96", "94")
    assert line.likely_on == line.due_on
    assert "do not come to its limit of 50 % left" in explain(line)


def test_a_trend_away_from_the_limit_foretells_nothing() -> None:
    assert anode_line("60", "65", "70", "75").likely_on == anode_line("75").likely_on


@pytest.mark.parametrize("last", ["50", "20"])
def test_a_figure_at_or_past_the_limit_is_due_now_and_not_overdue(last: str) -> None:
    line = anode_line("90", last)
    assert line.state == "due"
    assert line.likely_on == TODAY
    assert "it is due now" in explain(line)


def test_the_measurements_of_the_item_before_do_not_count() -> None:
    fitted = Entry("f", "E1", date(2024, 4, 30), "fitted", item="anode", meter_tenths=3900, sequence=9)
    assert anode_line("90", "80", "70", "100", extra=(fitted,)).likely_on != date(2024, 8, 9)
    assert "fewer than 3" in explain(anode_line("90", "80", "70", "100", extra=(fitted,)))


def test_figures_in_another_unit_and_words_are_passed_over() -> None:
    entries = tuple(
        replace(looked(10 + n, date(2024, 5, 2), None, figure), unit=unit)
        for n, (figure, unit) in enumerate([("5", "mm"), ("thin", "% left"), ("NaN", "% left")])
    )
    assert (
        anode_line("90", "80", "70", "60", extra=entries).likely_on
        == anode_line("90", "80", "70", "60").likely_on
    )


def test_an_engine_without_hour_meter_goes_by_the_days() -> None:
    line = anode_line("90", "80", "70", "60", engine=METERLESS, rule=replace(ANODE, every=Limits(None, 60)))
    assert line.likely_on == date(2024, 5, 1) + timedelta(days=100)
    assert "is reached on 2024-08-09" in explain(line)


def test_the_spread_between_cylinders_is_followed_too() -> None:
    spread = Condition("bar", spread=Decimal(15))
    rule = Rule("c", "Compression", "cylinder", "inspect", every=Limits(None, 60), condition=spread)
    entries = tuple(
        Entry(
            f"{n}-{cylinder}", "E1", date(2023, 9, 1) + timedelta(days=100 * n), "inspected", item="cylinder",
            position=f"cylinder {cylinder}", measured=figure, unit="bar", sequence=10 * n + cylinder,
        )
        for n, figures in enumerate([("10", "9.9"), ("10", "9.5"), ("10", "9.1")])
        for cylinder, figure in enumerate(figures, start=1)
    )  # fmt: skip
    line = anode_line(rule=rule, engine=METERLESS, extra=entries)
    assert line.likely_on == date(2024, 3, 19) + timedelta(days=150)
    assert "9 % between positions" in explain(line)


def test_a_day_without_two_positions_or_without_pressure_has_no_spread() -> None:
    last, day_before = DAYS[-1], DAYS[-2]

    def measured(*figures: tuple[date, int, str]) -> DueLine:
        rows = (
            figure(n, on, value, item="compression", unit="psi", position=f"cylinder {cylinder}")
            for n, (on, cylinder, value) in enumerate(figures)
        )
        return line_with(*rows, rule=COMPRESSION)

    uneven = (day_before, 1, "180"), (day_before, 2, "90")
    for on_the_last in (((last, 1, "180"),), ((last, 1, "0"), (last, 2, "0"))):
        assert "50 % between positions" in explain(measured(*uneven, *on_the_last))
    assert "0 % between positions" in explain(measured(*uneven, (last, 1, "180"), (last, 2, "180")))


def test_the_makers_limit_stays_where_it_is() -> None:
    near = replace(ANODE, every=Limits(4100, None), first=None)
    line = anode_line("99", "95", "90", "85", rule=near)
    assert line.due_tenths == 4000 + 4100
    assert line.state in ("later", "due")


figures = st.lists(st.integers(min_value=51, max_value=100), min_size=1, max_size=7)


@settings(max_examples=150, deadline=None)
@given(figures)
def test_a_condition_never_brings_a_line_later(values: list[int]) -> None:
    texts = [str(value) for value in values]
    with_it, without = anode_line(*texts), anode_line(*texts, rule=replace(ANODE, condition=None))
    assert (with_it.due_on, with_it.due_tenths, with_it.governs) == (
        without.due_on, without.due_tenths, without.governs,
    )  # fmt: skip
    assert with_it.window is not None
    assert without.window is not None
    for name in ("early_on", "likely_on", "late_on"):
        assert getattr(with_it.window, name) <= getattr(without.window, name)
    assert with_it.window.early_on <= with_it.window.likely_on <= with_it.window.late_on


DAYS = [date(2024, 5, 1) - timedelta(days=100 * n) for n in (3, 2, 1, 0)]
ON_METER = tuple(Reading(f"r{n}", "E1", day, 1000 * (n + 1)) for n, day in enumerate(DAYS))
COMPRESSION = Rule(
    "compression", "Compression", "compression", "inspect", every=Limits(100_000, 600),
    condition=Condition("psi", spread=Decimal(15)), reset_by=("powerhead",),
)  # fmt: skip


def figure(number: int, on: date, value: str, **more: object) -> Measurement:
    told: dict[str, object] = {"item": "anode", "quantity": "mass", "unit": "% left", **more}
    return Measurement(f"m{number}", "E1", on, value=Decimal(value), sequence=number, **told)  # type: ignore[arg-type]


def line_with(
    *measured: Measurement,
    entries: tuple[Entry, ...] = (),
    answers: tuple[Answer, ...] = (),
    rule: Rule = ANODE,
) -> DueLine:
    evidence = Evidence(measurements=measured, answers=answers)
    ledger = EngineLedger(NEW, entries=entries, readings=ON_METER, evidence=evidence)
    return due_lines(ledger, Schedule("s", "S", 1, (rule,)), TODAY, OneADay(ON_METER[-1]), 60)[0]


STEADY = tuple(
    figure(n, day, value) for n, (day, value) in enumerate(zip(DAYS, ("90", "80", "70", "60"), strict=True))
)
SAME_LOOKS = tuple(
    looked(n, day, 1000 * (n + 1), value)
    for n, (day, value) in enumerate(zip(DAYS, ("90", "80", "70", "60"), strict=True))
)


def test_figures_of_the_evidence_make_the_same_trend_as_those_of_entries() -> None:
    line = line_with(*STEADY)
    assert line.likely_on == line_with(entries=SAME_LOOKS).likely_on == date(2024, 5, 1) + timedelta(days=100)
    assert "By the trend of 4 measurements" in explain(line)


def test_a_measurement_told_by_an_entry_and_by_the_evidence_counts_once() -> None:
    rounded = tuple(replace(look, measured="55", visit_id="v") for look in SAME_LOOKS[-1:])
    same_day = line_with(*STEADY, entries=(*SAME_LOOKS[:-1], *rounded))
    assert same_day.likely_on == line_with(*STEADY).likely_on
    assert "By the trend of 4 measurements" in explain(same_day)
    in_visit = (*STEADY[:-1], replace(STEADY[-1], visit_id="v"))
    day_before = replace(rounded[0], on=DAYS[-1] - timedelta(days=1), meter_tenths=None)
    assert line_with(*in_visit, entries=(day_before,)).likely_on == same_day.likely_on


def test_what_a_visit_found_was_the_old_item_and_what_it_left_the_new_one() -> None:
    fitted = Entry("f", "E1", DAYS[0], "fitted", "v", item="anode", meter_tenths=1000, sequence=9)
    found, left = (
        figure(8, DAYS[0], "20", stage="found", visit_id="v"),
        figure(9, DAYS[0], "90", stage="left"),
    )
    line = line_with(found, left, *STEADY[1:], entries=(fitted,))
    assert line.likely_on == line_with(*STEADY).likely_on
    alone = line_with(replace(found, on=DAYS[1]), entries=(fitted,))
    assert alone.standing.wear is None


def test_what_a_later_visit_found_is_the_new_item() -> None:
    fitted = Entry("f", "E1", DAYS[0], "fitted", "v", item="anode", meter_tenths=1000, sequence=9)
    found = figure(8, DAYS[1], "20", stage="found", visit_id="w")
    assert line_with(found, entries=(fitted,)).state == "due"


def test_only_what_was_measured_since_the_latest_fitting_counts() -> None:
    fittings = tuple(
        Entry(f"f{n}", "E1", day, "fitted", item="anode", sequence=9 + n)
        for n, day in enumerate((DAYS[0] - timedelta(days=50), DAYS[2]))
    )
    assert "By the trend of 4 measurements" in explain(line_with(*STEADY, entries=fittings[:1]))
    assert "fewer than 3" in explain(line_with(*STEADY, entries=fittings))


@pytest.mark.parametrize(
    ("scope", "said"), [("powerhead", "fewer than 3"), ("lower unit", "By the trend of 4 measurements")]
)
def test_a_rebuild_that_renews_the_item_ends_its_measurements(scope: str, said: str) -> None:
    rebuilt = Entry("f", "E1", DAYS[2], "rebuilt", scope=scope, sequence=9)
    assert said in explain(
        line_with(*STEADY, entries=(rebuilt,), rule=replace(ANODE, reset_by=("powerhead",)))
    )


def test_a_look_on_the_day_of_the_fitting_was_at_the_old_item_and_the_fitting_tells_of_the_new_one() -> None:
    fitted = Entry("f", "E1", DAYS[1], "fitted", item="anode", meter_tenths=2000, sequence=9)
    assert "fewer than 3" in explain(line_with(entries=(*SAME_LOOKS, fitted)))
    measured = replace(fitted, measured="80", unit="% left")
    assert "By the trend of 3 measurements" in explain(line_with(entries=(*SAME_LOOKS, measured)))


def test_a_line_without_record_is_left_alone_by_what_was_measured() -> None:
    renewed = replace(ANODE, action="replace")
    fitted = Entry("f", "E1", DAYS[0], "fitted", item="anode", condition="used", sequence=9)
    line = line_with(*STEADY[1:], figure(9, TODAY, "20"), entries=(fitted,), rule=renewed)
    assert (line.state, line.window) == ("no record", None)


def test_early_and_late_are_by_the_steepest_and_the_flattest_tenth_of_the_slopes() -> None:
    """In ten each, 10 and 20 are lost: slopes of 1, 1.5 and 2, with 20 left to the limit."""
    points = [Measured(TODAY, along, Decimal(value)) for along, value in ((0, 100), (10, 90), (20, 70))]
    trend = trend_to(points, 50, falls=True)
    assert trend is not None
    found = (trend.early, trend.likely, trend.late)
    assert found == pytest.approx((20 + 20 / 1.9, 20 + 20 / 1.5, 20 + 20 / 1.1))


def test_measurements_at_the_same_hours_have_no_slope_between_them() -> None:
    twice = [Measured(TODAY, 0, Decimal(value)) for value in (100, 96)]
    assert trend_to(twice, 50, falls=True) is None
    trend = trend_to([*twice, Measured(TODAY, 10, Decimal(88))], 84, falls=True)
    assert trend is not None
    assert trend.likely == pytest.approx(14)


def test_a_slope_that_never_comes_to_the_limit_is_late_as_far_as_measurements_support() -> None:
    points = [Measured(TODAY, 10 * n, Decimal(value)) for n, value in enumerate((100, 100, 100, 90, 80))]
    trend = trend_to(points, 70, falls=True)
    assert trend is not None
    assert (trend.early, trend.likely, trend.late) == pytest.approx((55, 70, 80))


def test_a_limit_that_was_to_be_reached_by_now_is_asked_for_just_above_the_last_reading() -> None:
    asked = AskedForecast(TODAY, TODAY, TODAY)
    later = Reading("later", "E1", date(2024, 5, 20), 5100)
    ledger = EngineLedger(NEW, readings=(*ON_METER, later), evidence=Evidence(measurements=STEADY))
    due_lines(ledger, Schedule("s", "S", 1, (ANODE,)), TODAY, asked)
    assert asked.asked == [HoursTarget(100_000), *[HoursTarget(5101)] * 3]


def test_the_wider_of_the_slopes_and_the_forecasts_own_days_is_told() -> None:
    early, likely, late = (date(2024, 7, day) for day in (5, 15, 25))
    wear = Wear("", targets=(HoursTarget(1),) * 3)
    narrow = [DateWindow.of_day(day) for day in (early, likely, late)]
    assert nearer(None, wear, narrow, TODAY) == DateWindow(early, likely, late)
    wide = DateWindow(early - timedelta(days=1), likely, late + timedelta(days=1))
    assert nearer(None, wear, [narrow[0], wide, narrow[2]], TODAY) == wide


def test_of_one_item_found_and_left_the_figure_left_counts() -> None:
    found, left = (
        figure(n, DAYS[-1], value, stage=stage) for n, value, stage in ((8, "40", "found"), (9, "60", "left"))
    )
    assert line_with(*STEADY[:-1], found, left).likely_on == line_with(*STEADY).likely_on
    assert line_with(*STEADY[:-1], found).state == "due"


def test_a_figure_that_was_entered_wrong_counts_for_nothing() -> None:
    wrong = figure(9, DAYS[-1], "10")
    said = Answer("a", "E1", DAYS[-1], "entered wrong", "of another boat", "Kim", measurement_id="m9")
    assert line_with(*STEADY[:-1], wrong).state == "due"
    assert line_with(*STEADY[:-1], wrong, answers=(said,)).state == "later"


def test_another_unit_item_or_position_counts_for_nothing() -> None:
    upper = replace(ANODE, positions=("upper",))
    others = (
        replace(STEADY[-1], unit="g", value=Decimal(1)),
        replace(STEADY[-1], item="strut", value=Decimal(1)),
    )
    assert line_with(*others).standing.wear is None
    assert (
        line_with(replace(STEADY[-1], value=Decimal(1), position="lower"), rule=upper).standing.wear is None
    )
    assert line_with(replace(STEADY[-1], value=Decimal(1), position="upper"), rule=upper).state == "due"


def test_a_figure_in_another_unit_of_its_quantity_is_turned_into_the_limits() -> None:
    at_least = replace(COMPRESSION, condition=Condition("psi", at_least=Decimal(150)))
    low, good = (
        figure(n, DAYS[-1], value, item="compression", unit=unit, position="cylinder 1")
        for n, (value, unit) in enumerate((("6", "bar"), ("1250", "kPa")))
    )
    worn = line_with(low, rule=at_least)
    assert worn.state == "due"
    assert "Measured 87.0226 psi" in explain(worn)
    assert line_with(good, rule=at_least).state == "later"


def test_a_figure_is_compared_with_the_limit_before_it_is_rounded_to_be_shown() -> None:
    at_least = replace(COMPRESSION, condition=Condition("in", at_least=Decimal("0.0088")))
    tight, good = (
        figure(n, DAYS[-1], value, item="compression", unit="mm", position="cylinder 1")
        for n, value in enumerate(("0.218", "0.224"))
    )
    worn = line_with(tight, rule=at_least)
    assert worn.state == "due"
    assert "Measured 0.0086 in" in explain(worn)
    assert line_with(good, rule=at_least).state == "later"


@pytest.mark.parametrize("unit", ["% left", "mm"])
@pytest.mark.parametrize("said", ["1e30", "1" * 40, "-9e999999999", "1e-999999999", "nan", "Infinity"])
def test_a_figure_out_of_all_bounds_counts_for_nothing_and_is_told(said: str, unit: str) -> None:
    rule = replace(ANODE, condition=Condition("% left" if unit == "% left" else "in", at_least=Decimal(50)))
    odd = replace(looked(10, DAYS[-1], None, said), unit=unit)
    assert "Measured" not in explain(line_with(entries=(odd,), rule=rule))
    told = not_judged(Schedule("s", "S", 1, (rule,)), odd)
    assert told is not None
    assert told.startswith(f"{said} {unit} counts for nothing")


def test_a_figure_that_no_limit_can_be_compared_with_is_told() -> None:
    steady = replace(STEADY[-1], unit="%")
    judged = Schedule("s", "S", 1, (ANODE,))
    told = not_judged(judged, steady)
    assert told == "60 % counts for nothing by the schedule, which judges anode by figures in % left"
    assert not_judged(judged, STEADY[-1]) is None
    assert not_judged(judged, replace(steady, item="strut")) is None
    assert not_judged(None, steady) is None
    assert not_judged(judged, looked(10, DAYS[-1], None, "thin")) is not None
    assert not_judged(judged, looked(10, DAYS[-1], None, "60")) is None


def test_compression_is_judged_by_the_spread_between_the_cylinders_of_one_day() -> None:
    def cylinders(
        day: date, *values: str, stage: str | None = None, visit: str | None = None
    ) -> list[Measurement]:
        told = {"item": "compression", "unit": "psi", "stage": stage, "visit_id": visit}
        return [figure(90 + n, day, v, position=f"cylinder {n}", **told) for n, v in enumerate(values)]

    assert line_with(*cylinders(DAYS[-1], "180", "171", "176"), rule=COMPRESSION).state == "later"
    worn = line_with(*cylinders(DAYS[-1], "180", "171", "96"), rule=COMPRESSION)
    assert worn.state == "due"
    assert "Measured 46.6667 % between positions" in explain(worn)
    rebuilt = Entry("b", "E1", DAYS[-1], "rebuilt", "v", scope="powerhead", sequence=9)
    before = cylinders(DAYS[-1], "180", "171", "96", stage="found", visit="v")
    after = cylinders(DAYS[-1], "186", "184", "185", stage="left", visit="v")
    assert line_with(*before, *after, entries=(rebuilt,), rule=COMPRESSION).state == "later"
    assert line_with(*before, entries=(rebuilt,), rule=COMPRESSION).standing.wear is None


@settings(max_examples=150, deadline=None)
@given(st.lists(st.floats(min_value=0, max_value=100), min_size=3, max_size=8), st.floats(0, 100))
def test_a_trend_is_never_followed_beyond_what_supports_it(values: list[float], limit: float) -> None:
    points = [Measured(TODAY, float(10 * n), Decimal(str(value))) for n, value in enumerate(values)]
    trend = trend_to(points, limit, falls=True)
    if trend is not None:
        last = points[-1].along
        assert last <= trend.early <= trend.likely <= trend.late <= 2 * last


SCHEDULE = """
name = "Small"
revision = 1
[[rule]]
key = "anode"
item = "anode"
action = "inspect"
every = {{ months = 12 }}
positions = ["upper"]
condition = {condition}
"""


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        ('{ unit = "%" }', "at_least, at_most or spread"),
        ('{ unit = "%", at_least = 5, at_most = 6 }', "at_least, at_most or spread"),
        ("{ at_least = 5 }", "unit"),
        ('{ unit = "bar", spread = 15 }', "no spread, as the rule has a line for each position"),
        ('{ unit = "bar", spread = 0 }', "percent, above 0"),
        ('"50 %"', "a unit and at_least"),
    ],
)
def test_a_condition_that_says_no_limit_is_refused(condition: str, said: str) -> None:
    schedule, problems = schedule_from_toml("small", SCHEDULE.format(condition=condition))
    assert schedule is None
    assert any(said in problem for problem in problems), problems


def test_a_condition_is_read_from_a_schedule() -> None:
    schedule, problems = schedule_from_toml(
        "small", SCHEDULE.format(condition='{ unit = "mm", at_most = 0.5 }')
    )
    assert problems == []
    assert schedule is not None
    assert schedule.rules[0].condition == Condition("mm", at_most=Decimal("0.5"))
