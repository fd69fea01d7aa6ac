"""The heads of the chains: the last link of the log, and the last link of each engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

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


_LAST_LINK = Direct(
    select(LOG_LINKS.c.link_no, LOG_LINKS.c.head).order_by(LOG_LINKS.c.link_no.desc()).limit(1)
)
_ENGINES = SHAPES["engines"].table.c
_HEAD = (
    select(ENGINE_LINKS.c.head)
    .where(ENGINE_LINKS.c.engine_no == _ENGINES.engine_no)
    .order_by(ENGINE_LINKS.c.link_no.desc())
    .limit(1)
    .scalar_subquery()
)
_ENGINE_HEADS = Direct(
    select(_ENGINES.engine_no, _ENGINES.serial, _HEAD).where(among(_ENGINES.engine_no, numbers=True))
)


def last_link(connection: Connection) -> tuple[int, str]:
    """Number and head of the log's last link; 0 and 64 zeros where nothing was ever written."""
    rows = _LAST_LINK.rows(connection)
    return (rows[0][0], rows[0][1]) if rows else (0, NO_HEAD)


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


def engine_heads(connection: Connection, numbers: Iterable[int]) -> dict[int, tuple[str, str]]:
    """Serial and head of each chain by its engine's number; an empty one has the head of `first_head`."""
    rows = _ENGINE_HEADS.rows(connection, keys=list(numbers))
    return {number: (serial, head or first_head(serial)) for number, serial, head in rows}
