"""What the records say of a part's life, in the plain words a technician reads.

Every paragraph that could be taken for advice says that the maker's manual governs.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from fleetlog.errors import counted
from fleetlog.life.answer import MakerInterval, Pair
from fleetlog.life.compare import Overall
from fleetlog.life.enough import FEWEST_FAILURES, FIRM_FAILURES
from fleetlog.life.fit import WeibullFit
from fleetlog.life.lives import LifeTally, Unit
from fleetlog.life.profile import Limits
from fleetlog.life.recurrence import PowerLaw, TimeBetweenRepairs, Trend
from fleetlog.life.renewal import NEAR_LEAST, RenewalAdvice, RenewalAge

MANUAL_GOVERNS = "The maker's manual governs."

FARTHEST_SIGHT = 10.0
"""An upper limit so many times the longest life seen is told as none (own rule)."""


def tally_in_words(item: str, tally: LifeTally) -> str:
    """How many lives there are and how they ended."""
    text = (
        f"Of {counted(tally.lives, 'life', 'lives')} of the {item} in these records, {tally.failed} ended in"
        f" failure, {tally.found_worn} {_were(tally.found_worn)} found worn, and {tally.sound} came off sound"
        " or still run."
    )
    if tally.entered_with_age:
        text += f" {tally.entered_with_age} came into the records with age on them, which is allowed for."
    return text


def life_in_words(item: str, tally: LifeTally, fit: WeibullFit, interval: MakerInterval | None = None) -> str:
    """One paragraph: how long the item lasts, how sure that is, and what it means at the maker's interval.

    `interval` is None where the maker names none in the unit of the fit, or several.
    """
    sentences = [tally_in_words(item, tally), _how_long(fit), _how_it_fails(fit), _how_sure(fit)]
    if interval is not None:
        sentences.append(_failed_by(f"interval of {interval_in_words(interval, fit.unit)}", interval, fit))
    sentences.append(MANUAL_GOVERNS)
    return " ".join(sentences)


def schedule_in_words(interval: MakerInterval, fit: WeibullFit) -> str:
    """What one schedule's interval means, among those of several."""
    said = f"{interval_in_words(interval, fit.unit)} of the {interval.schedule} schedule"
    return _failed_by(said, interval, fit)


def _failed_by(said: str, interval: MakerInterval, fit: WeibullFit) -> str:
    share = fit.share_limits(interval.age)
    text = (
        f"At the maker's {said}, {share_in_words(share.value)}{_within(share)} would have failed or been worn"
        " out had none been renewed sooner."
    )
    if interval.age > fit.lives.longest:
        longest = age_in_words(fit.lives.longest, fit.unit)
        text += f" None in these records ran so long: the longest {longest}."
    return text


def _within(share: Limits) -> str:
    """The limits of a share behind it, in brackets; nothing where both are told alike."""
    low, high = share_in_words(share.low), share_in_words(share.high)
    if low == high:
        return ""
    return f" ({low.removesuffix(' in 100') if high.endswith(' in 100') else low} to {high})"


def interval_in_words(interval: MakerInterval, unit: Unit) -> str:
    """A maker's interval, never rounded up, and what severe water or use leaves of it."""
    severe = ", ".join(f"{word} {_down(age)}" for word, age in interval.shortened)
    return f"{_down(interval.age)} {unit}{f' ({severe})' if severe else ''}"


def _down(age: float) -> str:
    """To one decimal, never up: what is rounded up would be beyond the maker's limit."""
    return f"{math.floor(age * 10 + 1e-6) / 10:.1f}".removesuffix(".0")


def group_in_words(name: str, tally: LifeTally, fit: WeibullFit) -> str:
    """One group among several: how many, how long, how it fails."""
    counts = f"{counted(tally.lives, 'life', 'lives')}, {tally.failed} failed, {tally.found_worn} found worn"
    sure = "" if fit.is_firm else f" {_how_sure(fit)}"
    return f"{name}: {counts}. {_how_long(fit)} {_how_it_fails(fit)}{sure}"


def too_few_in_words(item: str, tally: LifeTally, outlasted: float | None, shape: float, unit: Unit) -> str:
    """One paragraph where there are too few failures for a fit.

    `outlasted`: the characteristic life that is 95 % sure at the stated shape; None where one has failed.
    """
    text = (
        f"{tally_in_words(item, tally)} That is too few to say how long it lasts: it takes {FEWEST_FAILURES}"
        " failures."
    )
    if outlasted is not None:
        text += (
            f" If lives spread as a shape of {shape:g} has it (stated, not found here), it is 95 % sure that"
            f" a third or more of them outlast {age_in_words(outlasted, unit)}."
        )
    return f"{text} {MANUAL_GOVERNS}"


def overall_in_words(item: str, groups: int, split_by: str, overall: Overall) -> str:
    """Whether the item's life differs between three groups or more."""
    chance = f"such differences between {groups} groups would come about by chance"
    told = f"{chance} {chance_in_words(overall.p_value)}."
    if overall.differ:
        return f"How long the {item} lasts differs by {split_by}: {told}"
    return f"These records don't show that it differs by {split_by} how long the {item} lasts: {told}"


def pair_in_words(item: str, first: str, second: str, pair: Pair) -> str:
    """Whether the item's life differs between two groups, such as `in salt water` and `in fresh water`."""
    factor = pair.comparison.life_factor
    chance = f"a difference so great would come about by chance {chance_in_words(pair.chance)}"
    if not pair.differ:
        return (
            f"These records don't show that the {item} lasts longer or shorter {first} than {second}:"
            f" {chance}."
        )
    lasts = f"the {item} lasts {'longer' if factor.value > 1 else 'less long'} than {second}"
    if factor.low <= 1 <= factor.high:
        return (
            f"The {item} fails in another way {first} than {second}, though neither lasts clearly"
            f" longer: {chance}."
        )
    return (
        f"{first[:1].upper()}{first[1:]} {lasts}: about"
        f" {factor.value:.2g} times as long ({_range(factor, lambda v: f'{v:.2g}')}); {chance}."
    )


def advice_in_words(item: str, advice: RenewalAdvice, interval: MakerInterval, unit: Unit) -> str:
    """What the costs say of when to renew, never beyond the maker's interval."""
    maker = interval_in_words(interval, unit)
    before = share_in_words(advice.at_maker.failed_share)
    sentences = [f"Renewed every {maker} as the maker says, {before} fail or are worn out before."]
    if advice.is_grave:
        sentences.append(
            f"A failed {item} can wreck the engine or endanger people, so cost is no measure here."
        )
        if advice.sooner_pays:
            sentences.append("Even by cost alone it would pay to renew sooner.")
        sentences.append(f"{MANUAL_GOVERNS} Never go beyond its interval.")
        return " ".join(sentences)
    if advice.data_say_longer:
        least = advice.by_age.least.age
        cheaper = (
            f"a longer interval would cost less: the cost is least near {age_in_words(least, unit)}"
            if advice.by_age.is_finite
            else "renewing by age would not pay at all"
        )
        sentences.append(f"By the records alone {cheaper}. {MANUAL_GOVERNS} Stay with its {maker}.")
    elif advice.sooner_pays:
        sentences.append(
            f"By cost it pays to renew sooner: least near {age_in_words(advice.by_age.least.age, unit)},"
            f" and within {round(100 * NEAR_LEAST)} % of that from {_age(advice.by_age.low)}"
            f" to {age_in_words(advice.by_age.high, unit)}. {MANUAL_GOVERNS}"
        )
        if any(age < advice.by_age.high for _, age in interval.shortened):
            sentences.append("Never go beyond what severe water or use leaves of its interval.")
    else:
        sentences.append(f"By cost that interval is as good as any. {MANUAL_GOVERNS}")
    if advice.when_open is not None:
        sentences.append(_when_open(advice.when_open, advice.maker_interval, unit))
    return " ".join(sentences)


def trend_in_words(work: str, trend: Trend, law: PowerLaw) -> str:
    """Whether repairs of a kind become more or less frequent as engines age."""
    if trend.laplace_p_value >= 0.05:
        chance = chance_in_words(trend.laplace_p_value)
        return (
            f"{trend.repairs} repairs ({work}) show no trend: they come about as often on an old engine as on"
            f" a young one (a lean so strong would come about by chance {chance})."
        )
    way = "more" if trend.laplace > 0 else "less"
    return (
        f"{trend.repairs} repairs ({work}) come {way} often as the engines age: at twice the age about"
        f" {2 ** (law.power - 1):.2g} times as often."
    )


def between_in_words(between: TimeBetweenRepairs, unit: Unit) -> str:
    """How far apart one engine's repairs are by now, and how many of them came later and later."""
    return (
        f"By now it has one in about {age_in_words(between.mean_time.value, unit)}"
        f" ({_range(between.mean_time, _age)}, {between.confidence * 100:.0f} % sure); of"
        f" {between.pairs} pairs of times between its repairs, the later one is longer in"
        f" {between.lengthening}."
    )


def age_in_words(age: float, unit: Unit) -> str:
    """An age to three figures, and to whole ones from 10 on; `never` where infinite."""
    return "never" if math.isinf(age) else f"{_age(age)} {unit}"


def share_in_words(share: float) -> str:
    """A share as so many in a hundred, or in a thousand where few."""
    if share < 0.0005:
        return "fewer than 1 in 1000"
    if share < 0.0095:
        return f"{round(share * 1000)} in 1000"
    if share > 0.995:
        return "nearly all"
    return f"{round(share * 100)} in 100"


def chance_in_words(chance: float) -> str:
    """A chance as a frequency."""
    if chance < 0.001:
        return "less than once in 1000 times"
    return f"{round(chance * 1000)} times in 1000" if chance < 0.01 else f"{round(chance * 100)} times in 100"


def _age(age: float) -> str:
    return f"{age:.1f}" if age < 10 else three_figures(age)


def three_figures(value: float) -> str:
    """A figure of 10 or more, rounded to three figures and never in powers of ten: `41`, `12300`."""
    step = 10.0 ** max(0, math.floor(math.log10(value)) - 2)
    return f"{round(value / step) * step:.0f}"


def _how_long(fit: WeibullFit) -> str:
    half, tenth = _in_sight(fit.b50, fit), _in_sight(fit.b10, fit)
    return (
        f"Half of them last to {age_in_words(half.value, fit.unit)} or beyond ({_range(half, _age)});"
        f" one in ten is done by {age_in_words(tenth.value, fit.unit)} ({_range(tenth, _age)})."
    )


def _in_sight(limits: Limits, fit: WeibullFit) -> Limits:
    """A life's limits, without an upper one so far beyond all lives seen that its figure means nothing."""
    is_beyond = limits.high > FARTHEST_SIGHT * fit.lives.longest
    return Limits(limits.value, limits.low, math.inf) if is_beyond else limits


def _how_it_fails(fit: WeibullFit) -> str:
    shape = fit.shape
    if fit.is_shape_stated:
        return f"The spread of lives was not found here but stated: a shape of {shape.value:g}."
    figures = f"shape {shape.value:.2g}, {_range(shape, lambda v: f'{v:.2g}')}"
    if shape.low > 1:
        return f"They wear out: the older one is, the likelier it fails ({figures})."
    if shape.high < 1:
        return f"The young ones fail most, as from faulty parts or fitting: age is not the cause ({figures})."
    return f"Whether age wears them out or chance ends them, these records can't tell ({figures})."


def _how_sure(fit: WeibullFit) -> str:
    if fit.is_firm:
        return f"The limits in brackets hold in {round(100 * fit.confidence)} of 100 such cases."
    why = (
        f"only {fit.failures:g} failure{'' if fit.failures == 1 else 's'}, where {FIRM_FAILURES} are wanted"
        if fit.failures < FIRM_FAILURES
        else "the limits in brackets lie far apart"
    )
    return f"Take it as a first indication: {why}."


def _when_open(when_open: RenewalAge, maker_interval: float, unit: Unit) -> str:
    age = when_open.least.age
    if age >= maker_interval:
        return "Where access is open anyway before that, leaving a sound one in costs no more."
    if age < 0.01 * maker_interval:
        return "Where access is open anyway, renew it each time."
    return f"Where access is open anyway, renewing one older than {age_in_words(age, unit)} costs least."


def _range(limits: Limits, show: Callable[[float], str]) -> str:
    low = show(limits.low) if limits.low > 0 else ""
    high = show(limits.high) if math.isfinite(limits.high) else ""
    if low and high:
        return f"{low} to {high}"
    if low:
        return f"{low} or more"
    return f"{high} or less" if high else "no limits can be set"


def _were(number: int) -> str:
    return "was" if number == 1 else "were"
