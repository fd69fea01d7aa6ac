"""JSON is of one make: figures are numbers, yes and no are true and false, what is not known is null."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Iterator
from typing import Any

import pytest

from tests.cli.conftest import Fleetlog

LOOK_UPS = (
    "due --all",
    "history 20417",
    "visit list",
    "visit show V-00449",
    "owner show O-012",
    "boat list",
    "boat show Duckling",
    "engine show 20417",
    "reading list --held",
    "paper list",
    'schedule show "V6 belt-cam"',
    "part list",
    "evidence 20417",
    "tool list",
    'card show "timing belt"',
    'life "water pump impeller" --split water',
    'renew "water pump impeller" --planned 180 --failure 240',
    "repairs --split use",
    "demand --days 90d",
    'item 20417 "timing belt"',
    "where-fitted --part NV-3105",
    "bulletin list",
    "term list --all",
    "advice list --all",
    "superseded list",
    "remind",
    "diary load",
    "diary fit-out",
    "diary parts list",
    'diary estimate "Lady Garstone"',
    "diary wish list",
)
ARE_FIGURES = re.compile(r"(^|_)(hours|months|days|amount|labour|about|quantity|share|cost|meter)$|^price$")
NOT_OF_JSON = re.compile(r"|yes|no|true|false|null|-?\d+[.,]\d+", re.I)


@pytest.fixture
def store() -> str:
    """What is printed is the same on each kind of database."""
    return "sqlite"


def values_in(told: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    """Every value with the name it stands under."""
    if isinstance(told, dict):
        for key, value in told.items():
            yield from values_in(value, key)
    elif isinstance(told, list):
        for value in told:
            yield from values_in(value, name)
    else:
        yield name, told


@pytest.mark.parametrize("words", LOOK_UPS)
def test_figures_are_numbers_and_what_is_not_known_is_null(marina: Fleetlog, words: str) -> None:
    said = marina(*shlex.split(words), "--format", "json")
    assert said.status == 0, said.err
    told = list(values_in(json.loads(said.out)))
    assert told
    texts = {(name, value) for name, value in told if isinstance(value, str)}
    free = {"measured", "note", "remind_by"}
    assert {text for text in texts if ARE_FIGURES.search(text[0])} == set()
    assert {text for text in texts if NOT_OF_JSON.fullmatch(text[1]) and text[0] not in free} == set()
    moments = {value for name, value in texts if name in ("at", "written_at", "taken_at")}
    assert {m for m in moments if not re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", m)} == set()
    days = {value for name, value in texts if name == "on" or name.endswith("_on")}
    assert {day for day in days if not re.fullmatch(r"\d{4}-\d\d-\d\d", day)} == set()


def test_rows_of_a_visit_all_have_the_same_keys_and_hours_as_numbers(marina: Fleetlog) -> None:
    work = json.loads(marina("visit", "show", "V-00449", "--format", "json").out)["work"]
    assert {tuple(row) for row in work} == {tuple(work[0])}
    assert {type(row["hours"]) for row in work} == {float, type(None)}


def test_a_launch_that_is_assumed_is_told_by_a_word_in_a_table_alone(marina: Fleetlog) -> None:
    rows = json.loads(marina("diary", "fit-out", "--format", "json").out)
    assert {row["assumed"] for row in rows} == {True, False}
    assert "2026-04-20" in marina("diary", "fit-out").out
    assert "assumed" in marina("diary", "fit-out").out
