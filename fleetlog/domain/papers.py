"""Photos and papers on a visit: what a row says of a file, which kinds are kept, and what stands on a day.

The files themselves lie beside the log under the hash of their content; this module knows bytes, not files.

The kind is looked up in the content, 20 MB at most, told before anything is read. Drawings that can run
programs (SVG) are text here, and never drawn. Names lose their folders.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime
from hashlib import sha256

from fleetlog.domain.values import value_class
from fleetlog.errors import counted

MOST_BYTES = 20_000_000
"""What one paper may have, in bytes: a photo at full size, or some dozen scanned pages."""

ENDINGS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/heic": "heic",
    "application/pdf": "pdf",
    "text/plain": "txt",
}
"""The kinds that are kept, as media types (RFC 6838), each with the ending of its file's name."""

SHOWN_AS_PICTURES = frozenset({"image/jpeg", "image/png", "image/webp"})
"""The kinds that every browser draws."""

WITHDRAWN, ERASED = "withdrawn", "erased"
WITHDRAWAL_OUTCOMES = (WITHDRAWN, ERASED)

_LONGEST_NAME = 120
_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)
_FILE_NAME = re.compile(rf"([0-9a-f]{{64}})\.({'|'.join(ENDINGS.values())})", re.ASCII)
_UNFIT = re.compile(r'[\x00-\x1f\x7f-\x9f<>:"/\\|?*\u202a-\u202e\u2066-\u2069\ud800-\udfff]')
_CONTROLS = bytes(set(range(32)) - {9, 10, 12, 13})


@value_class(frozen=True, slots=True)
class Paper:
    """A photo or a paper that belongs to a visit, and to one engine of it where `serial` names it.

    `sha256` is the hash of its content, in hexadecimal; `taken_on` the day of the photo or on the paper.
    """

    paper_id: str
    visit_id: str
    sha256: str
    media_type: str
    size_bytes: int
    name: str
    taken_on: date
    serial: str | None = None
    note: str | None = None
    by: str | None = None

    @property
    def file_name(self) -> str:
        """The name under which its content lies beside the log, in an export and among the pages."""
        return f"{self.sha256}.{ENDINGS[self.media_type]}"

    @property
    def is_picture(self) -> bool:
        """Whether a browser can draw it."""
        return self.media_type in SHOWN_AS_PICTURES


@value_class(frozen=True, slots=True)
class PaperWithdrawal:
    """A paper taken back, by whom and why: withdrawn (its file stays) or erased (its file goes as well)."""

    paper_id: str
    outcome: str
    at: datetime
    by: str
    reason: str


@value_class(frozen=True, slots=True)
class PaperStanding:
    """A paper on a day, and how it was taken back by then, if it was."""

    paper: Paper
    taken_back: PaperWithdrawal | None = None


def papers_on(
    papers: Iterable[Paper], withdrawals: Iterable[PaperWithdrawal], day: date
) -> list[PaperStanding]:
    """The papers taken by a day, in their order. What was erased, whenever, is gone on every day."""
    taken_back: dict[str, PaperWithdrawal] = {}
    for one in sorted(withdrawals, key=lambda w: w.outcome == ERASED):
        if one.outcome == ERASED or one.at.date() <= day:
            taken_back[one.paper_id] = one
    return [PaperStanding(p, taken_back.get(p.paper_id)) for p in papers if p.taken_on <= day]


def media_type_of(content: bytes) -> str | None:
    """The kind of a content by its first bytes; plain text is UTF-8 without control characters.

    None for what is not kept. Signatures: ISO/IEC 10918-1 (JPEG, start of image), ISO/IEC 15948 (PNG),
    RFC 9649 (WebP), ISO/IEC 23008-12 (HEIC brands), ISO 32000-2 (PDF header).
    """
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    if content[4:8] == b"ftyp" and content[8:12] in (b"heic", b"heix"):
        return "image/heic"
    if content.startswith(b"%PDF-"):
        return "application/pdf"
    return "text/plain" if content and _is_text(content) else None


def _is_text(content: bytes) -> bool:
    if content.translate(None, _CONTROLS) != content:
        return False
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def content_hash(content: bytes) -> str:
    """The SHA-256 of a content, in hexadecimal (FIPS 180-4)."""
    return sha256(content).hexdigest()


def is_content_hash(text: str) -> bool:
    """Whether a text is a SHA-256 as it is written here."""
    return _SHA256.fullmatch(text) is not None


def hash_in(file_name: str) -> str | None:
    """The hash that a file's name in a folder of papers carries; None for any other name."""
    found = _FILE_NAME.fullmatch(file_name)
    return found[1] if found else None


def plain_name(typed: str, media_type: str) -> str:
    """A file's own name, without folders and whatever a system could stumble over, 120 letters at most."""
    last = re.split(r"[/\\]", typed.strip())[-1]
    name = " ".join(_UNFIT.sub(" ", last).split()).strip(". ")
    if len(name) > _LONGEST_NAME:
        stem, dot, ending = name.rpartition(".")
        keeps_ending = bool(dot) and len(ending) <= 5
        cut = stem[: _LONGEST_NAME - 6] + dot + ending if keeps_ending else name[:_LONGEST_NAME]
        name = " ".join(cut.split()).strip(". ")
    return name or f"paper.{ENDINGS[media_type]}"


def is_plain_name(name: str) -> bool:
    """Whether a name is one that a file can have in any folder."""
    return bool(name) and name == plain_name(name, "text/plain")


def size_text(size_bytes: int) -> str:
    """A size for people: `812 bytes`, `34 kB`, `2.4 MB` (powers of ten)."""
    if size_bytes < 1000:
        return counted(size_bytes, "byte")
    return f"{size_bytes / 1000:.0f} kB" if size_bytes < 999_500 else f"{size_bytes / 1e6:.1f} MB"
