"""The form of a rebuild: written out with the engine's own items, and read when it is filled in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

from fleetlog.domain.bounds import MOST_MONTHS
from fleetlog.domain.card_text import band_of, torque_unit_of
from fleetlog.domain.evidence import CHECK_RESULTS, Check, Measurement, Torque
from fleetlog.domain.hours import age_text
from fleetlog.domain.rebuild import ANSWERS, FoundItem, Noted, OutlinedItem, RebuildForm, RebuildItem
from fleetlog.domain.row_rules import check_problems
from fleetlog.domain.toml_table import TomlTable
from fleetlog.domain.words import ANSWER_OUTCOMES, REBUILD_SCOPES, REMOVAL_REASONS
from fleetlog.errors import as_word, counted
from fleetlog.errors.files import FormNotUsable
from fleetlog.exchange.form_text import comment, day_of, hours_of, one_line_of, quoted, read_form

FACTS = ("why", "complaint", "cause", "correction", "advised")

_HEAD = """\
# {scope} rebuild of engine {serial}. Fill in, then: fleetlog rebuild {command_serial} --from THIS-FILE
# It is recorded whole or not at all. The engine maker's manual and its figures rule.
serial = {serial_text}
scope = {scope_text}
on = {today}                # the day the rebuild was finished
# hours = 812.5               # what the hour meter showed (engine_hours = true: engine hours instead)
# visit = "V-1"               # an open visit that it belongs to; without one a visit is opened
# opened_on = {today}         # the day the engine came in, if that was earlier
# closed_on = {today}         # leave out while something is still to be done
# why = "breakdown"
# complaint = ""
# cause = ""                  # what was found to be the matter
# correction = ""
# advised = ""
# note = ""
# by = ""
# checked_by = ""

# Every item below needs an answer, since the rebuild resets its rules:
#   renewed       a new one, or with used = true another used one (prior_hours, prior_months, from)
#   reused        put back; note says how: sealant, where. It stays on the list as work still owed
#   carried over  taken over to the rebuilt assembly as it was; its line stands where it stood
#   left          looked at and left as it is; its line stands where it stood
#   inspected, adjusted, serviced
# More can be said of each: on, part_number, lot, why_off (why the old one came off), note, by, checked_by.
"""

_TAIL = """
# What was found before anything was done, one [[found]] each:
# [[found]]
# item = "compression"
# note = "cylinder 3 low"
# measured = "96"
# unit = "psi"

# Measurements before and after, one [[measurement]] each:
# [[measurement]]
# item = "cylinder bore"
# position = "cylinder 3"
# quantity = "diameter"
# unit = "mm"
# found = 89.12
# left = 89.02
# low = 89.00
# high = 89.05

# Torques in the order in which they were drawn up, one [[torque]] a pass:
# [[torque]]
# joint = "cam cover bolts"
# pass = 1
# fasteners = 8
# target = 5.8
# low = 5.5
# high = 6.1
# applied = 5.8
# unit = "lbf·ft"
# threads = "oiled"           # dry, oiled, or the grade of threadlocker
# tool = "W-1"
# checked_by = ""

# Checks, one [[check]] each; result is done, failed, not done (with the reason) or not applicable.
# What was done about one that failed, or about a torque outside its band: outcome and what.
# [[check]]
# title = "grounds counted"
# result = "done"
# counted = 6
# out_of = 6
# checked_by = ""
"""


def rebuild_template(
    serial: str,
    scope: str,
    today: date,
    asked: Iterable[OutlinedItem],
    others: Iterable[OutlinedItem],
) -> str:
    """The form of a rebuild with the engine's own items filled in, each to be answered."""
    head = _HEAD.format(
        scope=scope.capitalize(),
        serial=comment(serial),
        command_serial=comment(as_word(serial)),
        serial_text=quoted(serial),
        scope_text=quoted(scope),
        today=today.isoformat(),
    )
    lines = [head.rstrip("\n")]
    for item in asked:
        lines += ["", *_asked(item)]
    rest = [line for item in others for line in _other(item)]
    if rest:
        lines += ["", "# Other items now on the engine, of which nothing has to be said:", *rest]
    return "\n".join(lines) + "\n" + _TAIL


def _asked(item: OutlinedItem) -> Iterator[str]:
    yield f"# {comment('; '.join(rule.title for rule in item.rules))}. {comment(known_of(item))}"
    yield "[[item]]"
    yield f"item = {quoted(item.item)}"
    if item.position is not None:
        yield f"position = {quoted(item.position)}"
    yield 'answer = ""'


def _other(item: OutlinedItem) -> Iterator[str]:
    yield f"# {comment(known_of(item))}"
    yield "# [[item]]"
    yield f"# item = {quoted(item.item)}"
    if item.position is not None:
        yield f"# position = {quoted(item.position)}"
    yield '# answer = "carried over"'


def known_of(item: OutlinedItem) -> str:
    """What is known of the one that is on now: its age, when it was fitted, whether it is owed."""
    said = []
    if item.age_tenths is not None:
        said.append(age_text(item.age_tenths, is_least=item.is_least))
    if item.age_months is not None:
        said.append(counted(item.age_months, "month"))
    if item.fitted is not None:
        said.append(f"fitted {item.fitted.on.isoformat()}")
        if item.fitted.part_number:
            said.append(item.fitted.part_number)
    if item.is_owed:
        said.append("put back used before, still owed")
    return f"Now: {', '.join(said)}" if said else "Nothing is recorded of the one that is on"


def read_rebuild_form(path: Path, today: date) -> RebuildForm:
    """A rebuild as a form says it. Raises FormNotUsable with everything that is wrong, FileUnreadable."""
    top, problems = read_form(path)
    serial = top.text("serial", needed=True) or ""
    scope = top.word("scope", REBUILD_SCOPES, needed=True) or REBUILD_SCOPES[0]
    form = RebuildForm(
        serial,
        scope,
        day_of(top, "on", today) or today,
        one_line_of(top, "visit"),
        day_of(top, "opened_on", today),
        day_of(top, "closed_on", today),
        hours_of(top, "hours"),
        top.flag("engine_hours"),
        {name: top.text(name) for name in FACTS},
        top.text("note"),
        one_line_of(top, "by"),
        one_line_of(top, "checked_by"),
        tuple(_item(table, today) for table in top.tables("item")),
        tuple(_found(table, today) for table in top.tables("found")),
        (
            *(noted for table in top.tables("measurement") for noted in _measurements(table, today)),
            *(_torque(table, today) for table in top.tables("torque")),
            *(_check(table, today) for table in top.tables("check")),
        ),
    )
    top.refuse_the_rest()
    if form.opened_on is not None and form.opened_on > form.on:
        top.wrong("opened_on", f"a day up to {form.on.isoformat()}, on which the rebuild was finished")
    if form.closed_on is not None and form.closed_on < form.on:
        top.wrong("closed_on", f"a day from {form.on.isoformat()} on, on which the rebuild was finished")
    if problems:
        raise FormNotUsable(path.name, problems)
    return form


def _item(table: TomlTable, today: date) -> RebuildItem:
    named = table.values.get("item")
    if isinstance(named, str):
        place = table.values.get("position")
        table.where = f"item {named}{f', {place}' if isinstance(place, str) else ''}"
    item = RebuildItem(
        table.text("item", needed=True) or "",
        table.word("answer", ANSWERS, needed=True) or "",
        table.text("position"),
        day_of(table, "on", today),
        table.text("part_number"),
        table.text("lot"),
        table.flag("used"),
        hours_of(table, "prior_hours"),
        table.whole("prior_months", 0, MOST_MONTHS),
        table.text("from"),
        table.word("why_off", REMOVAL_REASONS),
        table.text("note"),
        one_line_of(table, "by"),
        one_line_of(table, "checked_by"),
    )
    table.refuse_the_rest()
    if item.answer == "reused" and not item.note:
        table.wrong("note", "how it was put back, such as sealant and where")
    if item.answer and item.answer != "renewed":
        for key, given in (
            ("part_number", item.part_number),
            ("lot", item.lot),
            ("used", item.is_used or None),
            ("prior_hours", item.prior_tenths),
            ("prior_months", item.prior_months),
            ("from", item.from_serial),
            ("why_off", item.why_off),
        ):
            if given is not None:
                table.wrong(key, f"nothing, as it speaks of what is renewed and the answer is {item.answer}")
    return item


def _found(table: TomlTable, today: date) -> FoundItem:
    found = FoundItem(
        table.text("item", needed=True) or "",
        table.text("note") or "",
        table.text("position"),
        day_of(table, "on", today),
        table.text("measured"),
        table.text("unit"),
        one_line_of(table, "by"),
    )
    table.refuse_the_rest()
    if not found.note and not found.measured:
        table.wrong("note", "what was found, or a figure in measured")
    return found


def what_was_done(table: TomlTable) -> tuple[str | None, str | None]:
    """How something that is off was answered, and in which words; neither without the other."""
    outcome, what = table.word("outcome", ANSWER_OUTCOMES), table.text("what")
    if outcome is None and what is not None:
        table.wrong("outcome", f"one of {', '.join(ANSWER_OUTCOMES)}")
    elif outcome is not None and what is None:
        table.wrong("what", "what was done about it")
    return outcome, what


def _measurements(table: TomlTable, today: date) -> Iterator[Noted]:
    low, high = band_of(table)
    on = day_of(table, "on", today)
    item, quantity = table.text("item", needed=True) or "", table.text("quantity", needed=True) or ""
    shared = {
        "unit": table.text("unit"),
        "position": table.text("position"),
        "low": low,
        "high": high,
        "note": table.text("note"),
        "by": one_line_of(table, "by"),
    }
    figures = {stage: table.number(stage, "a figure", lambda _: True) for stage in ("found", "left")}
    outcome, what = what_was_done(table)
    table.refuse_the_rest()
    if not any(figure is not None for figure in figures.values()):
        table.wrong("left", "a figure as found, as left, or both")
    for stage, figure in figures.items():
        if figure is not None:
            row = Measurement("", "", on or today, item, quantity, figure, stage=stage, **shared)  # type: ignore[arg-type]
            yield Noted(row, on, outcome if row.is_off else None, what if row.is_off else None)


def _torque(table: TomlTable, today: date) -> Noted:
    low, high = band_of(table)
    on = day_of(table, "on", today)
    applied = table.number("applied", "a torque, 0 or more", lambda v: v >= 0, needed=True)
    row = Torque(
        "",
        "",
        on or today,
        table.text("joint", needed=True) or "",
        applied or Decimal(0),
        torque_unit_of(table),
        sequence_no=table.whole("sequence", 1),
        pass_no=table.whole("pass", 1),
        fasteners=table.whole("fasteners", 1),
        target=table.number("target", "a torque, 0 or more", lambda v: v >= 0),
        low=low,
        high=high,
        threads=table.text("threads"),
        tool_id=table.text("tool"),
        note=table.text("note"),
        by=one_line_of(table, "by"),
        checked_by=one_line_of(table, "checked_by"),
    )
    outcome, what = what_was_done(table)
    table.refuse_the_rest()
    return Noted(row, on, outcome, what)


def _check(table: TomlTable, today: date) -> Noted:
    on = day_of(table, "on", today)
    row = Check(
        "",
        "",
        on or today,
        table.text("title", needed=True) or "",
        table.word("result", CHECK_RESULTS, needed=True) or "",
        counted=table.whole("counted", 0),
        out_of=table.whole("out_of", 0),
        reason=table.text("reason"),
        by=one_line_of(table, "by"),
        checked_by=one_line_of(table, "checked_by"),
    )
    outcome, what = what_was_done(table)
    table.refuse_the_rest()
    for field, expected in check_problems(row):
        table.wrong(field, expected)
    return Noted(row, on, outcome, what)
