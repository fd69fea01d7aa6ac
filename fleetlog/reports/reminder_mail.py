"""A reminder as a mail: what is due on an owner's engines, and on which days it is agreed or proposed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.gravity import is_grave
from fleetlog.domain.records import Owner
from fleetlog.reports.cautions import FOR_OWNERS
from fleetlog.reports.context import ReportContext
from fleetlog.reports.limits import work_name
from fleetlog.reports.owner_lines import OwnerLine, most_pressing_first, owner_lines
from fleetlog.reports.owner_words import deferred_text
from fleetlog.reports.rendering import laid_out
from fleetlog.reports.words import NBSP, boat_name, capital, day_text, engine_kind, hours_shown

WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class MailVisit:
    """A visit of one of the owner's boats: agreed, or only proposed; `clock` is its hour where one is set."""

    boat: str
    on: date
    clock: str | None
    tenths: int
    is_agreed: bool

    @property
    def text(self) -> str:
        """`Lady Garstone: Wednesday 22 April 2026, from 09:00, about 4.5 h`."""
        at = f", from {self.clock}" if self.clock else ""
        weekday = WEEKDAY_NAMES[self.on.weekday()]
        return f"{self.boat}: {weekday} {day_text(self.on)}{at}, about {hours_shown(self.tenths)}"


def proposed_days(visits: Sequence[MailVisit]) -> list[MailVisit]:
    """The days that are only proposed, each of a boat once, with the hours of all its visits of that day."""
    days: dict[tuple[str, date], MailVisit] = {}
    for visit in visits:
        if not visit.is_agreed:
            other = days.get((visit.boat, visit.on))
            tenths = visit.tenths + (other.tenths if other is not None else 0)
            days[visit.boat, visit.on] = replace(visit, tenths=tenths)
    return list(days.values())


@dataclass(frozen=True, slots=True)
class MailSection:
    """The work on one engine, and what grave work was put off."""

    name: str
    lines: Sequence[OwnerLine]
    put_off: Sequence[str]


@dataclass(frozen=True, slots=True)
class ReminderMail:
    """A mail's subject and both its parts."""

    subject: str
    text: str
    html: str


@dataclass(frozen=True, slots=True)
class _View:
    owner: str
    opening: str
    sections: Sequence[MailSection]
    agreed: Sequence[str]
    proposed: Sequence[str]
    reply: str
    caution: str


def reminder_mail(
    owner: Owner,
    engines: Sequence[EngineState],
    visits: Sequence[MailVisit],
    context: ReportContext,
    today: date,
) -> ReminderMail:
    """The mail to one owner about these engines' lines and these visits."""
    sections = [
        MailSection(_engine_name(state), lines, _put_off(state))
        for state in most_pressing_first(engines)
        if (lines := owner_lines(state, today))
    ]
    boats = list(dict.fromkeys([*(boat_name(s.facts.boat) for s in engines), *(v.boat for v in visits)]))
    view = _View(
        owner.name,
        "These jobs are due on your engines, or will be soon." if sections else "This is about your visit.",
        sections,
        [visit.text for visit in visits if visit.is_agreed],
        [visit.text for visit in proposed_days(visits)],
        _reply(context, engines, proposed=any(not visit.is_agreed for visit in visits)),
        FOR_OWNERS,
    )
    subject = f"Engine service: {', '.join(boats[:3])}{' and more' if len(boats) > 3 else ''}"
    text = "\n".join(_text(view, context)).replace(NBSP, " ") + "\n"
    return ReminderMail(subject, text, laid_out("mail.html", view, context, today))


def _put_off(state: EngineState) -> list[str]:
    """Grave work that is not among the jobs since it was put off, with the schedule's own limit."""
    return [
        deferred_text(line, work_name(line, 60), with_reason=False)
        for line in state.lines
        if line.is_put_off and is_grave(line.rule)
    ]


def _engine_name(state: EngineState) -> str:
    facts = state.facts
    about = ", ".join(part for part in (facts.position, engine_kind(facts.engine)) if part)
    return f"{boat_name(facts.boat)}: engine {state.serial}" + (f" ({about})" if about else "")


def _reply(context: ReportContext, engines: Sequence[EngineState], *, proposed: bool) -> str:
    has_meters = not engines or any(state.facts.engine.hour_meter for state in engines)
    hours = "today’s engine hours" if has_meters else "about how many hours it ran this past year"
    ask = f"Please tell us whether the day suits you, and {hours}" if proposed else f"Please tell us {hours}"
    other = f", or {context.reply_by}" if context.reply_by else ""
    return f"{ask}: answer this mail{other}."


def _text(view: _View, context: ReportContext) -> Iterator[str]:
    yield from (f"Dear {view.owner},", "", view.opening)
    for section in view.sections:
        yield from ("", section.name)
        for line in section.lines:
            yield f"- {line.work} ({line.state}). {capital(line.by_when)}"
            yield f"  {line.why}" + (f" {line.waits}" if line.waits else "")
        yield from (f"- {told}" for told in section.put_off)
    for title, days in (("Agreed:", view.agreed), ("We propose:", view.proposed)):
        if days:
            yield from ("", title, *(f"- {day}" for day in days))
    yield from ("", view.reply, "", view.caution, "", context.marina)
    if context.note:
        yield context.note
