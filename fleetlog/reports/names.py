"""Names of owners and boats in order, and as file names: safe on every system, and never shared."""

from __future__ import annotations

import re
import unicodedata
from hashlib import sha256

LONGEST_SLUG = 40
RESERVED = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
)
"""Names that Windows keeps for devices."""

_PLAIN_SERIAL = re.compile(r"[A-Z0-9](?:[A-Z0-9-]{0,30}[A-Z0-9])?", re.ASCII)


_SPELT = str.maketrans(
    {"ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "đ": "d", "Đ": "D", "ð": "d", "þ": "th", "Þ": "Th"}
    | {"ß": "ss", "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ı": "i"}
)
"""Letters that Unicode does not take apart into an ASCII one and a mark."""


def slug(text: str) -> str:
    """Small ASCII letters, digits and single hyphens; nothing where the text has neither."""
    apart = unicodedata.normalize("NFKD", text.translate(_SPELT))
    plain = apart.encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_SLUG].strip("-")


def name_order(name: str) -> tuple[str, str]:
    """The place of a name among names: by its letters without their marks, so that É stands by E."""
    return slug(name), name.casefold()


def id_mark(ident: str) -> str:
    """Ten characters that stand for an id, so that two of one name have names of their own."""
    return sha256(ident.encode("utf-8", "surrogatepass")).hexdigest()[:10]


def owner_page_path(name: str, owner_id: str) -> str:
    """`owners/NAME-MARK.html`, relative to the folder of the pages."""
    return f"owners/{slug(name) or 'owner'}-{id_mark(owner_id)}.html"


def engine_page_path(serial: str) -> str:
    """`engines/SERIAL.html`; a serial that is no safe file name is spelt safely and marked."""
    if _PLAIN_SERIAL.fullmatch(serial) and serial.lower() not in RESERVED:
        return f"engines/{serial}.html"
    return f"engines/{slug(serial) or 'engine'}-{id_mark(serial)}.html"


def rebuild_page_path(serial: str, entry_id: str) -> str:
    """`rebuilds/SERIAL-MARK.html`, one page for each rebuild."""
    return f"rebuilds/{slug(serial) or 'engine'}-{id_mark(f'{serial} {entry_id}')}.html"
