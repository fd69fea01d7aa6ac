"""Rows that name an engine by its serial number in a text, said with another number of the same engine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from typing import Any

from fleetlog.domain.values import value_class

SERIAL = "serial"
"""The fact of an engine that a `Change` speaks of where its serial number was corrected."""

_NAMES_AN_ENGINE = {"changes": "key", "corrections": "key", "entries": "from_serial", "papers": "serial"}
_ABOUT_AN_ENGINE = {"changes": "engines", "corrections": "mounts"}
_HAS_JOBS = frozenset({"bookings", "plan_visits"})

NAMING = frozenset({*_NAMES_AN_ENGINE, *_HAS_JOBS})
"""The kinds of rows that name an engine in a text, beside the one whose row it is."""


@value_class(frozen=True, slots=True)
class Numbers:
    """Serial numbers by which engines of the log are known elsewhere, each with that of now and the first."""

    now: Mapping[str, str] = field(default_factory=dict)
    first: Mapping[str, str] = field(default_factory=dict)


NO_NUMBERS = Numbers()


def renumbered(kind: str, rows: Iterable[Any], numbers: Mapping[str, str], *, own: bool = False) -> list[Any]:
    """Rows of a kind with the engines that they name by the numbers given for theirs, others as they are.

    With `own` the engine whose row it is, or which it is, is meant too.
    """
    names = [_NAMES_AN_ENGINE[kind]] if kind in _NAMES_AN_ENGINE else []
    names += [SERIAL] if own else []
    return [_renumbered(kind, row, names, numbers) for row in rows]


def _renumbered(kind: str, row: Any, names: Iterable[str], numbers: Mapping[str, str]) -> Any:
    if kind in _ABOUT_AN_ENGINE and row.kind != _ABOUT_AN_ENGINE[kind]:
        return row
    said: dict[str, str | None] = {}
    for name in names:
        was = getattr(row, name, None)
        if was is not None and was in numbers:
            said[name] = numbers[was]
    if kind in _HAS_JOBS and row.jobs is not None:
        said["jobs"] = _renumbered_jobs(row.jobs, numbers)
    return replace(row, **said) if said else row


def _renumbered_jobs(text: str, numbers: Mapping[str, str]) -> str | None:
    from fleetlog.domain.diary_records import jobs_from_text, jobs_text

    jobs = jobs_from_text(text)
    if not any(job.serial in numbers for job in jobs):
        return text
    return jobs_text(replace(job, serial=numbers.get(job.serial, job.serial)) for job in jobs)
