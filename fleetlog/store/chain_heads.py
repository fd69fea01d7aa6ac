"""The heads of the chains: the last link of the log, and the last link of each engine."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, func, select

from fleetlog.domain.chain import NO_HEAD
from fleetlog.store.among import among
from fleetlog.store.shapes import light_table

LOG_LINKS = light_table("log_links", ("link_no", "writing_no", "content", "marks", "head"))
ENGINE_LINKS = light_table("engine_links", ("engine_no", "link_no", "content", "marks", "head"))
FACT_SEALS = light_table("fact_seals", ("kind", "key", "link_no", "digest"))
EXTRACTS = light_table(
    "extracts",
    ("extract_no", "serial", "made_on", "document_sha256", "engine_head", "log_head", "writing_no"),
)


def last_link(connection: Connection) -> tuple[int, str]:
    """Number and head of the log's last link; 0 and 64 zeros where nothing was ever written."""
    query = select(LOG_LINKS.c.link_no, LOG_LINKS.c.head).order_by(LOG_LINKS.c.link_no.desc()).limit(1)
    row = connection.execute(query).one_or_none()
    return (0, NO_HEAD) if row is None else (row[0], row[1])


def engine_heads(connection: Connection, numbers: Iterable[int]) -> dict[int, str]:
    """The heads of engines' chains by the engines' numbers; engines without a link are left out."""
    links = ENGINE_LINKS.c
    last = select(links.engine_no, func.max(links.link_no).label("link_no"))
    last_of = last.where(among(links.engine_no, numbers=True)).group_by(links.engine_no).subquery()
    query = select(links.engine_no, links.head).join(
        last_of, (links.engine_no == last_of.c.engine_no) & (links.link_no == last_of.c.link_no)
    )
    return {row[0]: row[1] for row in connection.execute(query, {"keys": list(numbers)})}
