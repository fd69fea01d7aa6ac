"""Charts: bars that never round a limit away, scales with round steps, curves that stay in the picture."""

from __future__ import annotations

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.reports.charts.axes import Scale, day_ticks, round_steps
from fleetlog.reports.charts.bars import age_bar
from fleetlog.reports.charts.meter import HIGH, WIDE, MeterCurve, meter_chart
from fleetlog.reports.charts.months import month_chart
from fleetlog.reports.outlook import Outlook
from tests.reports.marina import TODAY


def filled(used: float, limit: float) -> int:
    found = re.search(r'class="used" d="M1 3h(\d+)', str(age_bar(used, limit)))
    return int(found[1]) if found else 0


@pytest.mark.parametrize(
    ("used", "limit", "share", "beyond"),
    [
        (0, 100, 0, False),
        (50, 100, 50, False),
        (99.9, 100, 99, False),
        (100, 100, 100, False),
        (100.1, 100, 100, True),
        (900, 100, 100, True),
    ],
)
def test_a_bar_is_full_at_the_limit_and_striped_only_beyond_it(
    used: float, limit: float, share: int, beyond: bool
) -> None:
    assert filled(used, limit) == share
    assert ('class="stripes"' in age_bar(used, limit)) is beyond


@given(st.floats(0, 1e6), st.floats(0.1, 1e6))
def test_a_bar_never_leaves_its_picture(used: float, limit: float) -> None:
    figures = [float(f) for f in re.findall(r"[MH ](\d+(?:\.\d+)?)", str(age_bar(used, limit)))]
    assert max(figures) <= 132


@given(st.floats(0.1, 1e6))
def test_round_steps_cover_the_highest_figure_in_a_few_even_steps(high: float) -> None:
    steps = round_steps(high)
    assert steps[0] == 0
    assert steps[-1] >= high
    assert 2 <= len(steps) <= 6


@given(st.dates(date(1990, 1, 1), date(2060, 1, 1)), st.integers(0, 30000))
def test_day_ticks_are_few_in_order_and_inside(start: date, days: int) -> None:
    end = date.fromordinal(start.toordinal() + days)
    ticks = [day for day, _ in day_ticks(start, end)]
    assert ticks == sorted(ticks)
    assert len(ticks) <= 7
    assert all(start <= tick <= end for tick in ticks)


def test_a_scale_of_one_day_does_not_divide_by_nothing() -> None:
    assert Scale(5, 5, 10, 90).at(5) == 10


def test_a_single_reading_makes_a_picture() -> None:
    drawn = meter_chart(MeterCurve(TODAY, Outlook(), [(TODAY, 0.0)]), "m")
    assert drawn.count('class="dot"') == 1


def test_a_held_reading_far_off_is_a_cross_at_the_edge_and_its_figure_is_told() -> None:
    curve = MeterCurve(
        TODAY, Outlook(), [(date(2025, 1, 1), 100.0), (TODAY, 200.0)], [(date(2025, 6, 1), 99999.0)]
    )
    drawn = str(meter_chart(curve, "m"))
    x, y = re.search(r'class="cross" d="M([\d.]+) ([\d.]+)', drawn).groups()  # type: ignore[union-attr]
    assert 0 <= float(x) <= WIDE
    assert 0 <= float(y) <= HIGH
    assert "99999.0 h on 1\xa0June\xa02025" in drawn


def test_accepted_and_held_differ_in_shape() -> None:
    curve = MeterCurve(TODAY, Outlook(), [(date(2025, 1, 1), 1.0), (TODAY, 2.0)], [(TODAY, 1.0)])
    drawn = meter_chart(curve, "m")
    assert drawn.count("<circle") == 2
    assert drawn.count('<path class="cross"') == 1


def test_the_band_of_a_forecast_far_above_the_middle_is_cut_off_at_the_top() -> None:
    ahead = date(2027, 4, 15)
    outlook = Outlook(
        None,
        [(TODAY, 100.0), (ahead, 110.0)],
        [(TODAY, 100.0), (ahead, 150.0)],
        [(TODAY, 100.0), (ahead, 5000.0)],
    )
    drawn = str(meter_chart(MeterCurve(TODAY, outlook, [(date(2025, 1, 1), 50.0), (TODAY, 100.0)]), "m"))
    band = re.search(r'class="band" d="M([^z]+)z', drawn)
    assert band is not None
    assert all(0 <= float(f) <= WIDE for f in band[1].split())


def test_a_name_on_the_chart_is_escaped() -> None:
    curve = MeterCurve(TODAY, Outlook(), [(TODAY, 100.0)], limit_hours=100.0, limit_name="<b>&")
    drawn = str(meter_chart(curve, "m"))
    assert "<b>" not in drawn
    assert "&lt;b&gt;&amp;" in drawn


def test_the_months_ahead_are_columns_with_their_figures() -> None:
    drawn = str(month_chart([(date(2026, 5, 1), 12.4), (date(2026, 6, 1), 0.0)], "n"))
    assert drawn.count('class="column"') == 1
    assert ">12</text>" in drawn
    assert "May 2026 12 h, June 2026 0 h" in drawn
