"""Salts of the commitments in the chains: looked up by a digest of the text, made at random where new."""

from __future__ import annotations

from collections.abc import Iterable
from secrets import token_bytes

from sqlalchemy import Connection, select

from fleetlog.domain.chain import NOT_COMPARED, commitment, commitment_in, salt_digest
from fleetlog.store.among import among
from fleetlog.store.bulk import insert_rows
from fleetlog.store.direct import Direct
from fleetlog.store.shapes import light_table

SALT_BYTES = 16
_AT_ONCE = 20_000
SALTS = light_table("salts", ("digest", "salt"))
_SALTS_OF = Direct(select(SALTS.c.digest, SALTS.c.salt).where(among(SALTS.c.digest)))


class Commitments(dict[str, str]):
    """By text, its commitment: the salted hash that stands for the text in the chains.

    A text of which the log has no salt has the commitment `NONE`. Before rows are written, `prepare` makes
    the commitments of their texts, with new salts where there are none; `keep_new` puts those in the log.
    """

    NONE = "no salt"

    def __init__(self, connection: Connection) -> None:
        super().__init__()
        self._connection = connection
        self._new: list[tuple[str, bytes]] = []

    def prepare(self, texts: Iterable[str | None]) -> None:
        """Has a commitment ready for each text, with a new salt where there is none.

        So that memory stays bounded, those prepared before are forgotten when they are many; their salts are
        put in the log first.
        """
        if len(self) > _AT_ONCE:
            self.keep_new()
            self.clear()
        wanted = {salt_digest(text): text for text in set(texts) if text is not None and text not in self}
        if not wanted:
            return
        for digest, text in list(wanted.items()):
            carried = commitment_in(text)
            if carried is not None:
                self[text] = carried
                del wanted[digest]
        digests = list(wanted)
        for start in range(0, len(digests), _AT_ONCE):
            for digest, salt in _SALTS_OF.rows(self._connection, keys=digests[start : start + _AT_ONCE]):
                text = wanted.pop(digest)
                self[text] = commitment(text, bytes(salt))
        for digest, text in wanted.items():
            self[text] = commitment(text, self._made(digest))

    def _made(self, digest: str) -> bytes:
        salt = token_bytes(SALT_BYTES)
        self._new.append((digest, salt))
        return salt

    def keep_new(self) -> None:
        """Keeps the salts that were made."""
        insert_rows(self._connection, "salts", ("digest", "salt"), self._new)
        self._new = []


class KnownCommitments(Commitments):
    """The commitments by every salt that a log has, for all of it; `making` gives new salts where none is.

    `incomplete` says that salts of a damaged log may be lost.
    """

    def __init__(self, connection: Connection, making: bool = False, incomplete: bool = False) -> None:
        super().__init__(connection)
        rows = connection.execute(select(SALTS.c.digest, SALTS.c.salt))
        self._salts = {digest: bytes(salt) for digest, salt in rows}
        self._unused = set(self._salts)
        self._making, self._incomplete = making, incomplete

    def prepare(self, texts: Iterable[str | None]) -> None:
        """Does nothing: every text has its commitment when it is asked for."""

    def __missing__(self, text: str) -> str:
        carried = commitment_in(text)
        if carried is None:
            digest = salt_digest(text)
            salt = self._salts.get(digest)
            if salt is None and self._making:
                salt = self._made(digest)
            self._unused.discard(digest)
            carried = self.NONE if salt is None else commitment(text, salt)
        self[text] = carried
        return carried

    def lacks(self, text: str) -> bool:
        """Whether no salt is kept for a text."""
        return self[text] == self.NONE

    def verdict(self, column: str, text: str) -> tuple[str, str]:
        """The kind of fault, and its words, where a text is not the one that was sealed.

        Only when every row was read: a salt of which the text stands nowhere tells that a text was replaced.
        """
        if self.lacks(text) and self._incomplete:
            return (
                NOT_COMPARED,
                f"its {column} is not the text that was written, or its salt is lost",
            )
        if self.lacks(text) and not self._unused:
            return "salt missing", f"the salt of its {column} is gone, so that nothing vouches for the text"
        return "changed", f"its {column} is not the text that was written"
