"""The machine-readable form of a work card: written out with every step, and read when it is filled in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from fleetlog.domain.card import Card, Step
from fleetlog.domain.evidence import CHECK_RESULTS, Check, Measurement, Torque
from fleetlog.domain.rebuild import Noted
from fleetlog.domain.row_rules import check_problems
from fleetlog.domain.toml_table import TomlTable, is_number
from fleetlog.errors import as_word, counted
from fleetlog.errors.files import FormNotUsable
from fleetlog.exchange.form_text import comment, day_of, one_line_of, quoted, read_form
from fleetlog.exchange.rebuild_form import what_was_done

_HEAD = """\
# Work card: {title}, revision {revision}. Fill in, then: fleetlog card record {serial} --from THIS-FILE
# result of each step: done, failed, not done (with the reason) or not applicable.
# Beside it may stand: by, checked_by, reason; and where something is off: outcome (put right, left as it is,
# entered wrong) and what (was done about it). The engine maker's manual rules.
card = {card}
revision = {revision}
serial = {serial_text}
on = {today}                # the day the work was finished
# visit = "V-1"               # an open visit that it belongs to; without one a visit is opened
# by = ""
# checked_by = ""
"""


@dataclass(frozen=True, slots=True)
class CardHead:
    """What a filled-in form says of itself: which card and revision, which engine, when, by whom."""

    card: str
    revision: int
    serial: str
    on: date
    visit_id: str | None = None
    by: str | None = None
    checked_by: str | None = None


@dataclass(frozen=True, slots=True)
class FilledForm:
    """A form as it was read: its head, and its steps still to be held against the card."""

    name: str
    head: CardHead
    steps: list[TomlTable]
    problems: list[str]


def card_form(card: Card, serial: str, today: date) -> str:
    """The form of a card for an engine, with every step to be answered."""
    lines = [
        _HEAD.format(
            title=comment(card.title),
            card=quoted(card.name),
            revision=card.revision,
            serial=comment(as_word(serial)),
            serial_text=quoted(serial),
            today=today.isoformat(),
        ).rstrip("\n")
    ]
    for number, step in enumerate(card.steps, start=1):
        lines += ["", *_step_lines(number, step)]
    return "\n".join(lines) + "\n"


def _step_lines(number: int, step: Step) -> Iterator[str]:
    yield f"# {number}. {comment(step.title)}"
    yield "[[step]]"
    yield f"key = {quoted(step.key)}"
    yield 'result = ""'
    if step.second:
        yield 'checked_by = ""             # a second person, who saw it'
    if step.torque is not None:
        for wanted in step.torque.wanted():
            yield f"#   {comment(wanted)}"
        yield f"applied = []                # {step.torque.unit}, one figure a pass"
        yield '# tool = ""'
    elif step.measure is not None:
        for wanted in step.figures():
            yield f"#   {comment(wanted)}"
        yield "measured = []               # one figure for each line above"
    elif step.count is not None:
        yield f"# counted = 0               # {comment(step.count.what)}"
        yield f"out_of = {step.count.out_of}" if step.count.out_of is not None else "# out_of = 0"


def open_card_form(path: Path, today: date) -> FilledForm:
    """A filled-in form as far as it can be read without its card. Raises FormNotUsable, FileUnreadable."""
    top, problems = read_form(path)
    head = CardHead(
        top.text("card", needed=True) or "",
        top.whole("revision", 1, needed=True) or 1,
        top.text("serial", needed=True) or "",
        day_of(top, "on", today) or today,
        one_line_of(top, "visit"),
        one_line_of(top, "by"),
        one_line_of(top, "checked_by"),
    )
    steps = top.tables("step", needed=True)
    top.refuse_the_rest()
    if problems:
        raise FormNotUsable(path.name, problems)
    return FilledForm(path.name, head, steps, problems)


def noted_steps(form: FilledForm, card: Card) -> list[Noted]:
    """The rows of evidence that a filled-in form comes to: a check a step, and its torques or figures.

    Raises FormNotUsable with everything that is wrong; every step of the card has to have its answer.
    """
    noted: list[Noted] = []
    answered: set[str] = set()
    for table in form.steps:
        key = table.text("key", needed=True) or ""
        step = card.step(key)
        table.where = f"step {key}"
        if step is None:
            table.wrong("key", f"a step of the card {card.name}, revision {card.revision}")
        elif key in answered:
            table.wrong("key", "each step once")
        else:
            noted.extend(_noted_step(table, card, step, form.head.on))
        answered.add(key)
    for number, step in enumerate(card.steps, start=1):
        if step.key not in answered:
            form.problems.append(f"step {step.key}: expected an answer to step {number}, {step.title}")
    if form.problems:
        raise FormNotUsable(form.name, form.problems)
    order = {step.key: place for place, step in enumerate(card.steps)}
    return sorted(noted, key=lambda one: order[one.row.step or ""])


def _noted_step(table: TomlTable, card: Card, step: Step, on: date) -> Iterator[Noted]:
    result = table.word("result", CHECK_RESULTS, needed=True) or "done"
    shared: dict[str, Any] = {"card": card.name, "step": step.key, "by": one_line_of(table, "by")}
    seen = one_line_of(table, "checked_by")
    reason = table.text("reason")
    figures = list(_figures(table, step, shared, seen, on)) if result in ("done", "failed") else []
    check = Check(
        "",
        "",
        on,
        step.title,
        result,
        card_revision=card.revision,
        counted=_counted(table, step, result),
        out_of=table.whole("out_of", 0) if step.count is not None else None,
        reason=reason,
        checked_by=seen,
        **shared,
    )
    outcome, what = what_was_done(table)
    for figure_key in ("applied", "tool", "measured"):
        table.take(figure_key, lambda _: True, "", default=None)
    table.refuse_the_rest()
    for field, expected in check_problems(check):
        table.wrong(field, expected)
    for row in (check, *figures):
        yield Noted(row, None, outcome if row.is_off else None, what if row.is_off else None)


def _counted(table: TomlTable, step: Step, result: str) -> int | None:
    if step.count is None:
        return None
    counted = table.whole("counted", 0)
    if counted is None and result == "done" and "counted" not in table.values:
        table.wrong("counted", f"how many {step.count.what} were counted")
    return counted


def _figures(
    table: TomlTable, step: Step, shared: dict[str, Any], seen: str | None, on: date
) -> Iterator[Torque | Measurement]:
    if step.torque is not None:
        wanted = step.torque
        applied = _numbers(table, "applied", [f"pass {n + 1}" for n in range(len(wanted.passes))])
        tool = table.text("tool")
        for number, (one, figure) in enumerate(zip(wanted.passes, applied, strict=False), start=1):
            yield Torque(
                "",
                "",
                on,
                wanted.joint,
                figure,
                wanted.unit,
                sequence_no=wanted.sequence_no,
                pass_no=number if len(wanted.passes) > 1 else None,
                fasteners=wanted.fasteners,
                target=one.target,
                low=one.low,
                high=one.high,
                threads=wanted.threads,
                tool_id=tool,
                checked_by=seen,
                **shared,
            )
    elif step.measure is not None:
        asked = step.measure
        places = [place or asked.item for place in asked.places()]
        for position, figure in zip(asked.places(), _numbers(table, "measured", places), strict=False):
            yield Measurement(
                "",
                "",
                on,
                asked.item,
                asked.quantity,
                figure,
                asked.unit,
                asked.stage,
                position=position,
                low=asked.low,
                high=asked.high,
                **shared,
            )


def _numbers(table: TomlTable, key: str, places: list[str]) -> list[Decimal]:
    """As many figures as are asked for, in one list."""
    values = table.take(
        key,
        lambda v: isinstance(v, list) and len(v) == len(places) and all(is_number(one) for one in v),
        f"{counted(len(places), 'figure')} in a list: {', '.join(places)}",
        default=[],
        needed=True,
    )
    return [Decimal(value) for value in values]
