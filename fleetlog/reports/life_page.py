"""The page of one kind of item: how long it lasts by the shop's own records, in words, figures and plots."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fleetlog.domain.words import name_key
from fleetlog.life.answer import GroupLife, LifeAnswer
from fleetlog.life.curve import LifeCurve, life_curve
from fleetlog.life.paragraphs import paragraphs
from fleetlog.life.profile import Limits
from fleetlog.life.words import age_in_words, interval_in_words, share_in_words, three_figures
from fleetlog.reports.charts.hazard import PER, hazard_chart
from fleetlog.reports.charts.intervals import DrawnInterval
from fleetlog.reports.charts.weibull_paper import MOST_GROUPS, PaperLine, weibull_paper
from fleetlog.reports.index_page import LifeRow
from fleetlog.reports.names import LONGEST_SLUG, RESERVED, id_mark, slug
from fleetlog.reports.words import days_told, listed


@dataclass(frozen=True, slots=True)
class FigureRow:
    """The figures of all lives or of one group; a figure stands with its limits."""

    name: str
    ended: str
    shape: str
    characteristic_life: str
    b10: str
    b50: str


@dataclass(frozen=True, slots=True)
class WatchRow:
    """How many were under watch at an age, and what share was still sound without assuming a law."""

    age: str
    seen: str
    sound: str


@dataclass(frozen=True, slots=True)
class LifePage:
    """The page as it is laid out."""

    item: str
    about: str
    unit: str
    per: int
    paragraphs: Sequence[str]
    is_firm: bool
    confidence: str
    figures: Sequence[FigureRow]
    plot: Markup
    plot_said: str
    hazard: Markup
    hazard_said: str
    groups_plot: Markup
    groups_said: str
    watch: Sequence[WatchRow]
    method: str
    remark: str
    intervals: int
    left_out: Sequence[str]


_PLAIN_KIND = re.compile(r"[a-z0-9]+( [a-z0-9]+)*", re.ASCII)


def life_page_path(answer: LifeAnswer) -> str:
    """`life/ITEM.html`, relative to the folder of the pages; no plain name is spelt safely and marked."""
    named = " ".join(filter(None, (name_key(answer.item), name_key(answer.about), answer.split_by)))
    is_plain = _PLAIN_KIND.fullmatch(name_key(answer.item)) and len(answer.item) <= LONGEST_SLUG
    name = slug(answer.item)
    if is_plain and not answer.about and name not in RESERVED:
        return f"life/{name}.html"
    return f"life/{name or 'item'}-{id_mark(named)}.html"


def life_page(answer: LifeAnswer) -> LifePage:
    """Everything that the page of a kind of item shows; its lives have a fit."""
    fit = answer.fit
    curve = life_curve(fit)
    intervals = _intervals(answer)
    fitted = [group for group in answer.groups if group.fit is not None]
    drawn = sorted(fitted, key=lambda g: -g.tally.failed - g.tally.found_worn)[:MOST_GROUPS]
    lines = [PaperLine(life_curve(g.fit), g.name) for g in drawn if g.fit is not None]
    said = _plot_said(answer)
    hazard_said = _hazard_said(answer, curve)
    groups_said = f"The lines of {listed([g.name for g in drawn])}." if len(lines) > 1 else ""
    return LifePage(
        answer.item,
        answer.about,
        answer.unit,
        PER[answer.unit],
        paragraphs(answer),
        fit.is_firm,
        f"{100 * fit.confidence:g}",
        [_figures("all", answer.whole), *(_figures(group.name, group) for group in answer.groups)],
        weibull_paper([PaperLine(curve)], intervals, "paper", said),
        said,
        hazard_chart(curve, intervals, "hazard", hazard_said),
        hazard_said,
        weibull_paper(lines, (), "groups", groups_said) if len(lines) > 1 else Markup(""),
        groups_said,
        _watch(curve),
        curve.step_method,
        curve.remark,
        len(intervals),
        [f"{days_told(life.label)}: {life.reason}" for life in answer.whole.left_out],
    )


def life_row(answer: LifeAnswer) -> LifeRow:
    """The row of a kind on the first page."""
    tally, fit = answer.whole.tally, answer.whole.fit
    ended = f"{tally.failed + tally.found_worn} of {tally.lives}"
    if fit is None:
        return LifeRow(answer.item, "", ended, "", "too few to say")
    b10 = _with_limits(fit.b10, f" {answer.unit}")
    return LifeRow(
        answer.item,
        life_page_path(answer),
        ended,
        b10,
        "firm" if fit.is_firm else "a first indication",
    )


def _intervals(answer: LifeAnswer) -> list[DrawnInterval]:
    unit = "h" if answer.unit == "hours" else "months"
    return [DrawnInterval(age, f"{age:g} {unit}") for age in sorted({i.age for i in answer.intervals})]


def _figures(name: str, group: GroupLife) -> FigureRow:
    tally, fit = group.tally, group.fit
    ended = f"{tally.failed} failed, {tally.found_worn} worn, {tally.sound} sound"
    if fit is None:
        return FigureRow(name, ended, "too few to say", "", "", "")
    unit = f" {fit.unit}"
    shape = f"{fit.shape.value:.2g}, stated" if fit.is_shape_stated else _with_limits(fit.shape, "")
    return FigureRow(
        name,
        ended,
        shape,
        _with_limits(fit.characteristic_life, unit),
        _with_limits(fit.b10, unit),
        _with_limits(fit.b50, unit),
    )


def _with_limits(limits: Limits, unit: str) -> str:
    low = _plain(limits.low) if limits.low > 0 else "no lower limit"
    high = _plain(limits.high) if math.isfinite(limits.high) else "no upper limit"
    return f"{_plain(limits.value)}{unit} ({low} to {high})"


def _plain(value: float) -> str:
    """Three figures, never in powers of ten; two below 10."""
    return f"{value:.2g}" if value < 10 else three_figures(value)


def _plot_said(answer: LifeAnswer) -> str:
    fit = answer.fit
    shares = [
        f"{share_in_words(fit.weibull.failed_share(i.age))} by the"
        f" {interval_in_words(i, answer.unit)} of {i.schedule}"
        for i in answer.intervals
    ]
    at_intervals = f" Of the maker's intervals: {'; '.join(shares)}." if shares else ""
    return (
        f"One in ten is done by {age_in_words(fit.b10.value, fit.unit)}, half by"
        f" {age_in_words(fit.b50.value, fit.unit)}.{at_intervals}"
    )


def _hazard_said(answer: LifeAnswer, curve: LifeCurve) -> str:
    per = PER[curve.unit]
    ages = [float(curve.hazard_age[i]) for i in (len(curve.hazard_age) // 4, -1)]
    told = [
        f"{float(answer.fit.weibull.hazard(age)) * per:.2g} at {age_in_words(age, answer.unit)}"
        for age in ages
    ]
    return f"Failures in {per} {curve.unit} of running: {', '.join(told)}."


def _watch(curve: LifeCurve) -> list[WatchRow]:
    rows = []
    for age, seen in zip(curve.risk_age, curve.at_risk, strict=True):
        below = [i for i, step in enumerate(curve.step_age) if step <= age]
        sound = float(curve.step_sound_share[below[-1]]) if below else 1.0
        rows.append(WatchRow(f"{float(age):g} {curve.unit}", f"{float(seen):.0f}", f"{100 * sound:.0f} %"))
    return rows
