"""The form for an engine just met: written with the lines of its schedule, read back with the answers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetlog.domain.joining import DONE, JOIN_ANSWERS, UNKNOWN, AskedLine, JoinAnswer
from fleetlog.domain.toml_table import TomlTable
from fleetlog.errors.files import FormNotUsable
from fleetlog.exchange.form_text import comment, day_of, hours_of, quoted, read_form


@dataclass(frozen=True, slots=True)
class JoinForm:
    """A filled-in form: the engine, where the answers are from, and one answer a line."""

    serial: str
    source: str | None
    answers: Sequence[JoinAnswer]


def join_template(serial: str, asked: Sequence[AskedLine]) -> str:
    """The form as it is written out, every line unknown until somebody says otherwise."""
    return "\n".join(_template(serial, asked)) + "\n"


def _template(serial: str, asked: Sequence[AskedLine]) -> Iterator[str]:
    yield "# What is known of this engine's past. For each line say answer = one of:"
    yield '#   "done"      with on = YYYY-MM-DD (an estimate will do; where only the month or the year'
    yield "#               is known, its first day: it falls due sooner), and hours if known"
    yield '#   "original"  the part is the one the engine came with (needs the in-service date)'
    yield '#   "unknown"   nobody knows: it stays without a record and is due now, or counts from new'
    yield f"serial = {quoted(serial)}"
    yield '# source = "the owner\'s papers"   # where the answers are from; without it: as the owner told'
    for line in asked:
        yield ""
        yield "[[line]]"
        yield f"rule = {quoted(line.rule.key)}    # {comment(line.rule.title)}, {comment(line.interval)}"
        if line.position is not None:
            yield f"position = {quoted(line.position)}"
        yield f'answer = "unknown"    # {"done, original" if line.can_be_original else "done"}, unknown'
        yield "# on = "
        yield "# hours = "
        if line.rule.action == "replace":
            yield '# part_number = ""'
        yield '# note = ""'


def read_join_form(path: Path, today: date) -> JoinForm:
    """The answers of a form. Raises FormNotUsable with everything that is wrong in it."""
    top, problems = read_form(path)
    serial = top.text("serial", needed=True)
    source = top.text("source")
    answers = [_answer(table, today) for table in top.tables("line")]
    top.refuse_the_rest()
    if problems:
        raise FormNotUsable(path.name, problems)
    return JoinForm(serial or "", source, answers)


def _answer(table: TomlTable, today: date) -> JoinAnswer:
    rule = table.text("rule", needed=True) or ""
    table.where = f"{table.where} ({rule})" if rule else table.where
    answer = table.word("answer", JOIN_ANSWERS, needed=True) or UNKNOWN
    hours = hours_of(table, "hours")
    found = JoinAnswer(
        rule,
        table.text("position"),
        answer,
        day_of(table, "on", today),
        hours,
        table.text("part_number"),
        table.text("note"),
    )
    table.refuse_the_rest()
    if answer == DONE and found.on is None and "on" not in table.values:
        table.wrong("on", "the day it was done; an estimate will do, with a note that says so")
    if answer != DONE and (found.on is not None or hours is not None):
        table.wrong("on" if found.on is not None else "hours", f"nothing, as the answer is {answer}")
    return found
