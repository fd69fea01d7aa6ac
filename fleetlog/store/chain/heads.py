"""The heads of the chains: the last link of the log, and the last link of each engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from sqlalchemy import Connection, null, select, union_all

from fleetlog.domain.chain import NO_HEAD, first_head
from fleetlog.store.among import among
from fleetlog.store.direct import Direct
from fleetlog.store.shapes import SHAPES, WRITINGS, light_table

LOG_LINKS = light_table("log_links", ("link_no", "writing_no", "content", "marks", "head"))
ENGINE_LINKS = light_table("engine_links", ("engine_no", "link_no", "content", "marks", "head"))
FACT_SEALS = light_table("fact_seals", ("kind", "key", "link_no", "digest"))
EXTRACTS = light_table(
    "extracts",
    ("extract_no", "serial", "made_on", "document_sha256", "engine_head", "log_head", "writing_no"),
)

_ENGINES = SHAPES["engines"].table.c
_HEAD = (
    select(ENGINE_LINKS.c.head)
    .where(ENGINE_LINKS.c.engine_no == _ENGINES.engine_no)
    .order_by(ENGINE_LINKS.c.link_no.desc())
    .limit(1)
    .scalar_subquery()
)
_LAST = select(LOG_LINKS.c.link_no, LOG_LINKS.c.head).order_by(LOG_LINKS.c.link_no.desc()).limit(1).subquery()
_HEADS = Direct(
    union_all(
        select(_LAST.c.link_no, null(), _LAST.c.head),
        select(_ENGINES.engine_no, _ENGINES.entered_as, _HEAD).where(among(_ENGINES.engine_no, numbers=True)),
    )
)


@dataclass(frozen=True, slots=True)
class NotedExtract:
    """An extract that was handed out, as the log noted it."""

    serial: str
    made_on: date
    engine_head: str
    log_head: str
    by: str


def extract_of(connection: Connection, document_sha256: str) -> NotedExtract | None:
    """The extract that is the document of this digest; None where none was handed out."""
    extracts = EXTRACTS.c
    query = (
        select(
            extracts.serial, extracts.made_on, extracts.engine_head, extracts.log_head, WRITINGS.c.recorded_by
        )
        .join(WRITINGS, WRITINGS.c.writing_no == extracts.writing_no)
        .where(extracts.document_sha256 == document_sha256)
        .order_by(extracts.extract_no)
        .limit(1)
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else NotedExtract(*row)


def engine_chain(connection: Connection, number: int) -> list[str]:
    """Every head that an engine's chain had, the first link's first."""
    links = ENGINE_LINKS.c
    query = select(links.head).where(links.engine_no == number).order_by(links.link_no)
    return list(connection.scalars(query))


class Heads(NamedTuple):
    """What the next links follow: number and head of the log's last one, 0 and 64 zeros where there is none.

    `of_engines` has the first serial and the head of engines' chains by number; an empty one has the head of
    `first_head`.
    """

    link_no: int
    head: str
    of_engines: dict[int, tuple[str, str]]


def heads_of(connection: Connection, numbers: Iterable[int]) -> Heads:
    """The heads of the log and of some engines."""
    last, of_engines = (0, NO_HEAD), {}
    for number, serial, head in _HEADS.rows(connection, keys=list(numbers)):
        if serial is None:
            last = number, head
        else:
            of_engines[number] = serial, head or first_head(serial)
    return Heads(*last, of_engines)
