"""Hands out an extract of one engine's history, noted in the log, and checks one that comes back."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Owner
from fleetlog.errors.files import FileThereAlready, FileUnreadable
from fleetlog.errors.naming import OwnerUnknown
from fleetlog.exchange.csv.text import refuse_endless
from fleetlog.exchange.new_file import write_new
from fleetlog.reports.context import ReportContext
from fleetlog.reports.extract_page import Heads, extract_page, render_extract
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.chain_problems import chain_problems
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.fleet import fleet_state_in_full
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a check of an extract found: what it is, and what is wrong with it or with the log."""

    said: list[str]
    problems: list[str]


@again_if_lost
def hand_out_extract(
    log: Log, occasion: Occasion, engine: str, out: Path, context: ReportContext, *, with_owner: bool
) -> str:
    """Write the extract of an engine to a new file and note it in the log; returns the engine's serial.

    Raises FileThereAlready, FileUnreadable, and OwnerUnknown where the owner is asked for and not known.
    """
    if out.exists():
        raise FileThereAlready(out)
    today, written = occasion.today, False
    try:
        with log.writing(occasion.by, occasion.at) as writer:
            serial = find_serial(writer, engine)
            [state] = fleet_state_in_full(writer, today, context.within_days, [serial]).engines
            owner = _owner(state) if with_owner else None
            heads = Heads(writer.engine_head(serial), writer.head())
            page = extract_page(state, heads, today, owner)
            content = render_extract(page, context, today).encode("utf-8")
            writer.note_extract(serial, today, hashlib.sha256(content).hexdigest())
            write_new(out, content)
            written = True
    except BaseException:
        if written:
            out.unlink(missing_ok=True)
        raise
    return serial


def _owner(state: EngineState) -> Owner:
    if state.facts.owner is None:
        raise OwnerUnknown(state.serial)
    return state.facts.owner


def check_extract(log: Log, path: Path) -> Verdict:
    """Compare an extract with the log: is it what was handed out, and does the log still hold the same?

    Raises FileUnreadable.
    """
    try:
        refuse_endless(path)
        content = path.read_bytes()
    except OSError as error:
        raise FileUnreadable(path, error.strerror or str(error)) from error
    with log.reading() as reader:
        noted = reader.extract_of(hashlib.sha256(content).hexdigest())
        if noted is None:
            return Verdict([], ["this log never handed out this file: it was altered, or is another log's"])
        chains = reader.check_chains()
        heads = reader.engine_chain(noted.serial)
    said = [
        f"This file was handed out on {noted.made_on.isoformat()} by {noted.by}: the history of engine"
        f" {noted.serial}, letter for letter."
    ]
    problems = []
    for head, known, whose in (
        (noted.engine_head, heads, f"engine {noted.serial}"),
        (noted.log_head, chains.heads, "the log"),
    ):
        if known and head not in known:
            problems.append(f"cut off: the head {head} of {whose} is none that it has now")
    problems += chain_problems(chains)
    if not problems:
        later = len(heads) - 1 - heads.index(noted.engine_head) if noted.engine_head in heads else len(heads)
        grown = f"{later} later writings added to it" if later else "nothing was added since"
        said.append(f"The log still holds all that it tells; {grown}.")
    return Verdict(said, problems)
