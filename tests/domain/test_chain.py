"""What rows are hashed as: chains that were made stay whole only as long as these bytes stay the same."""

from __future__ import annotations

import hmac
import json
from hashlib import sha256
from zlib import crc32

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlog.domain.chain import (
    NO_HEAD,
    LogContent,
    RowContent,
    Segment,
    _Waiting,
    commitment,
    commitment_in,
    differences,
    digest_of,
    engine_content,
    first_head,
    forgotten,
    is_committed,
    is_forgotten,
    joined,
    log_content,
    next_head,
    read_engine_content,
    read_log_content,
    salt_digest,
)

COLUMNS = ("reading_id", "engine_no", "read_on", "meter_tenths", "confirmed", "note", "read_by")
ROWS = [
    ("r1", 4, 738000, 0, True, None, "Kim"),
    ("r2", 4, 738001, 1205, False, "läuft; wieder", None),
    ("r3", 5, None, None, None, None, None),
]
COMMITMENTS = {"Kim": "c" * 64, "läuft; wieder": "d" * 64}
LINES = [
    f"reading_id=2:r1;read_on=6:738000;meter_tenths=1:0;confirmed=1:1;read_by=64:{'c' * 64};\n".encode(),
    f"reading_id=2:r2;read_on=6:738001;meter_tenths=4:1205;confirmed=1:0;note=64:{'d' * 64};\n".encode(),
    b"reading_id=2:r3;\n",
]


def content() -> RowContent:
    return RowContent(COLUMNS, ("engine_no",), ("confirmed",))


def test_a_row_is_the_names_lengths_and_values_of_what_is_not_empty() -> None:
    columns = list(zip(*ROWS, strict=True))
    assert content().lines(columns, COMMITMENTS) == LINES
    assert content().committed == [COLUMNS.index("note"), COLUMNS.index("read_by")]


def test_rows_are_the_same_bytes_alone_and_among_others() -> None:
    alone = [content().lines([[value] for value in row], COMMITMENTS) for row in ROWS]
    assert alone == [[line] for line in LINES]
    assert RowContent(("note",)).lines([[None, None]], {}) == [b"\n", b"\n"]


def test_what_is_empty_leaves_nothing_behind_wherever_it_stands() -> None:
    lines = RowContent(("note", "read_on")).lines([[None, "x"], [5, 6]], {"x": "c"})
    assert lines == [b"read_on=1:5;\n", b"note=1:c;read_on=1:6;\n"]


def test_digests_commitments_and_heads_are_what_they_always_were() -> None:
    before = "a" * 64
    assert NO_HEAD == "0" * 64
    assert salt_digest("Zoë") == sha256("Zoë".encode()).hexdigest()
    assert digest_of(b"row") == sha256(b"row").hexdigest()
    assert commitment("Zoë", b"salt") == hmac.new(b"salt", "Zoë".encode(), sha256).hexdigest()
    assert first_head("VK6-1") == sha256(b"engine VK6-1").hexdigest()
    assert next_head(before, "[]") == sha256(f"{before}\n[]".encode()).hexdigest()


def test_a_forgotten_text_carries_its_commitment_and_no_other_text_does() -> None:
    text = forgotten("c" * 64)
    assert (text, commitment_in(text), is_forgotten(text)) == (f"forgotten {'c' * 64}", "c" * 64, True)
    for other in ("forgotten hours", f"{text} ", f"not {text}"):
        assert (commitment_in(other), is_forgotten(other)) == (None, False)
    assert not is_forgotten(7)


def test_free_text_and_who_said_it_enter_as_commitments() -> None:
    assert [is_committed(column) for column in ("note", "read_by", "read_on")] == [True, True, False]


@pytest.mark.parametrize(
    ("now", "digest_differs", "found"),
    [
        ("abc", False, []),
        ("abc", True, [("changed", None, None)]),
        ("adc", True, [("changed", 1, 1)]),
        ("ac", True, [("deleted", None, 1)]),
        ("abdc", True, [("inserted", 2, None)]),
        ("abbc", True, [("inserted", 2, None)]),
        ("bac", True, [("reordered", 0, 0), ("reordered", 1, 1)]),
        ("dec", True, [("changed", 0, 0), ("changed", 1, 1)]),
        ("d", True, [("changed", 0, 0), ("deleted", None, 1), ("deleted", None, 2)]),
    ],
)
def test_what_differs_from_what_was_sealed_is_told_with_its_place(
    now: str, digest_differs: bool, found: list[tuple[str, int | None, int | None]]
) -> None:
    sealed, marks = ("".join(letter * 4 for letter in rows).encode() for rows in ("abc", now))
    assert [(d.kind, d.now, d.sealed) for d in differences(sealed, marks, digest_differs)] == found


def test_rows_are_hashed_in_their_order_where_they_have_one_and_sorted_where_not() -> None:
    segment = Segment()
    segment.add("readings", LINES[1:], True)
    segment.add("readings", LINES[:1], True)
    segment.add("visits", LINES[1:2], False)
    segment.add("visits", LINES[:1], False)
    rows, marks = segment.end()
    in_order, by_bytes = [*LINES[1:], LINES[0]], sorted(LINES[:2])
    assert rows == [
        ["readings", 3, sha256(b"".join(in_order)).hexdigest()],
        ["visits", 2, sha256(b"".join(by_bytes)).hexdigest()],
    ]
    assert marks == b"".join(crc32(line).to_bytes(4, "big") for line in (*in_order, *by_bytes))


def test_the_content_of_a_link_is_short_json_that_can_be_read_again() -> None:
    rows = [["readings", 2, "a" * 64], ["visits ended", 1, "b" * 64]]
    facts, engines = [("boats", 'say "gull"', "c" * 64), ("owners", "bö", "d" * 64)], [("É\n1", "e" * 64)]
    digests = [
        [2, sha256(b'["boats","say \\"gull\\"","%b"]\n["owners","b\\u00f6","%b"]' % (b"c" * 64, b"d" * 64))],
        [1, sha256(b'["\\u00c9\\n1","%b"]' % (b"e" * 64))],
    ]
    told = [[count, digest.hexdigest()] for count, digest in digests]
    said = {"at": 7, "by": "f" * 64, "rows": rows, "facts": told[0], "engines": told[1]}
    content = log_content(7, "f" * 64, rows, facts, engines)
    assert content == json.dumps(said, separators=(",", ":"))
    assert log_content(7, "f" * 64, rows, facts[::-1], engines) == content
    assert read_log_content(content) == LogContent(**said)
    assert engine_content(rows) == json.dumps(rows, separators=(",", ":"))
    assert (engine_content([]), read_engine_content("[]")) == ("[]", [])


@given(st.lists(st.lists(st.binary(max_size=3)), min_size=1))
def test_lines_without_order_are_hashed_the_same_however_many_wait(parts: list[list[bytes]]) -> None:
    few, many = Segment(), Segment()
    few.add("visits", [line for part in parts for line in part], False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(_Waiting, "_OF_A_RUN", 3)
        patch.setattr(_Waiting, "_PACKED_TOGETHER", 2)
        for part in parts:
            many.add("visits", part, False)
        assert many.end() == few.end()


def test_parts_of_a_segment_come_to_the_same_as_the_whole() -> None:
    whole, rest = Segment(), Segment()
    for segment in (whole, rest):
        for kind, lines in (("readings", LINES[1:]), ("deferrals", LINES[:1]), ("entries", LINES)):
            segment.add(kind, lines, True)
    part = rest.taken_out(("readings", "entries", "voids"))
    assert joined(rest.end(), part.end()) == joined(part.end(), rest.end()) == whole.end()
    assert rest
    assert not Segment()


def test_rows_of_a_kind_that_was_said_to_have_no_more_are_refused() -> None:
    one, other = Segment(), Segment()
    for segment in (one, other):
        segment.add("readings", LINES, True)
    with pytest.raises(ValueError, match="came after"):
        joined(one.end(), other.end())
