"""Whatever bytes a file holds, an importer takes all of it or nothing, in one line and without a bug."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleetlog.errors import FleetlogError
from fleetlog.exchange.sheet_mapping import read_mapping
from fleetlog.exchange.sheets import lay_out
from fleetlog.exchange.telemetry import read_telemetry
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.usecases.demo import DEMO_OCCASION
from fleetlog.usecases.imports.folder import import_folder
from fleetlog.usecases.rescuing import rescue
from tests.cli.conftest import PLAIN_TWINS, take_in_twins

FUZZ = settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that can be taken in, and beside it a log that took it in."""
    root = tmp_path_factory.mktemp("sound")
    log = open_log(str(root / "log.db"), at=DEMO_OCCASION.at)
    take_in_twins(log, root / "in")
    log.dispose()
    return root


@pytest.fixture(scope="module")
def log(sound: Path) -> Iterator[Log]:
    """The log that took it in."""
    opened = open_log(str(sound / "log.db"), at=DEMO_OCCASION.at)
    yield opened
    opened.dispose()


def spoiled(data: bytes, seed: int) -> bytes:
    """Bytes changed, cut, doubled or put in, at places that follow from the seed."""
    chance, out = random.Random(seed), bytearray(data)
    for _ in range(chance.randrange(1, 6)):
        at = chance.randrange(len(out) + 1)
        match chance.randrange(6):
            case 0 if at < len(out):
                out[at] ^= 1 << chance.randrange(8)
            case 1:
                out[at:at] = bytes(chance.randrange(256) for _ in range(chance.randrange(1, 9)))
            case 2:
                del out[at : at + chance.randrange(1, 40)]
            case 3:
                out[at:at] = chance.choice(_NASTY)
            case 4:
                out[at:at] = out[at : at + 60]
            case _:
                del out[at:]
    return bytes(out)


_NASTY = [
    b'"',
    b"\r",
    b"\n",
    b"\0",
    b",,,,",
    b"\xff\xfe",
    b"=1+1",
    b"1e999",
    b"-0",
    "１２".encode(),
    b"9" * 400,
]


def _state(log: Log) -> object:
    with log.reading() as reader:
        return reader.head(), reader.batch().counts()


def _refusal(take: Callable[..., object], *given: Any, **named: Any) -> str | None:
    """What was said where it was refused; anything but a refusal is a bug."""
    try:
        take(*given, **named)
    except FleetlogError as refusal:
        return str(refusal)
    return None


def _all_or_nothing(log: Log, folder: Path) -> None:
    before = _state(log)
    said = _refusal(import_folder, log, DEMO_OCCASION, folder)
    assert said is None or (said.strip() and _state(log) == before)


@FUZZ
@given(seed=st.integers(0, 1 << 32), name=st.sampled_from([*PLAIN_TWINS, "schedules/V6 belt-cam.toml"]))
def test_a_folder_with_spoiled_bytes_is_taken_in_whole_or_not_at_all(
    sound: Path, log: Log, tmp_path: Path, seed: int, name: str
) -> None:
    folder = tmp_path / "in"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(sound / "in", folder)
    (folder / name).write_bytes(spoiled((folder / name).read_bytes(), seed))
    _all_or_nothing(log, folder)


TELEMETRY = "\n".join(
    [
        "2026-04-01T10:00:00.000Z,6,65253,20,255,4,da,07,00,00",
        "2026-04-01T10:00:00.000Z,2,127489,20,255,15,01,00,00,00,00,00,00,00,00,00,00,48,85,05,00",
    ]
).encode()
DELTA = json.dumps(
    {
        "updates": [
            {
                "timestamp": "2026-04-01T10:00:00Z",
                "source": {"label": "bus", "src": "115"},
                "values": [{"path": "propulsion.port.runTime", "value": 361800}],
            }
        ]
    }
).encode()
JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["updates", "values", "path", "value", "propulsion", "runTime", "meta"]), inner
        )
    ),
    max_leaves=12,
)


@FUZZ
@given(seed=st.integers(0, 1 << 32), whole=st.sampled_from([TELEMETRY, DELTA]), shape=JSON)
def test_spoiled_telemetry_is_read_or_refused(tmp_path: Path, seed: int, whole: bytes, shape: object) -> None:
    for data in (spoiled(whole, seed), json.dumps(shape).encode()):
        (tmp_path / "t").write_bytes(data)
        assert "\n" not in (_refusal(read_telemetry, tmp_path / "t") or "")


@FUZZ
@given(seed=st.integers(0, 1 << 32))
def test_a_spoiled_spreadsheet_or_mapping_is_read_or_refused(tmp_path: Path, seed: int) -> None:
    from openpyxl import Workbook

    mapping = b'[[sheet]]\nfile = "engines"\ncolumns = { serial = "No." }\n'
    if not (tmp_path / "whole.xlsx").exists():
        book = Workbook()
        book.active.append(["No."])
        book.active.append(["NM-1"])
        book.save(tmp_path / "whole.xlsx")
    (tmp_path / "whole.toml").write_bytes(mapping)
    (tmp_path / "bad.toml").write_bytes(spoiled(mapping, seed))
    (tmp_path / "bad.xlsx").write_bytes(spoiled((tmp_path / "whole.xlsx").read_bytes(), seed))
    for sheet, told in (("bad.xlsx", "whole.toml"), ("whole.xlsx", "bad.toml")):
        said = _refusal(lambda s, t: lay_out(s, read_mapping(t), tmp_path), tmp_path / sheet, tmp_path / told)
        assert said != ""


@settings(FUZZ, max_examples=8)
@given(seed=st.integers(0, 1 << 32))
def test_a_log_with_changed_bytes_is_opened_or_refused_and_never_a_bug(
    sound: Path, tmp_path: Path, seed: int
) -> None:
    chance = random.Random(seed)
    data = bytearray((sound / "log.db").read_bytes())
    for _ in range(chance.randrange(1, 200)):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    bad, out = tmp_path / "bad.db", tmp_path / "out"
    for old in tmp_path.glob("bad.db*"):
        old.unlink()
    shutil.rmtree(out, ignore_errors=True)
    bad.write_bytes(data[: chance.randrange(1, len(data))] if seed % 3 == 0 else data)
    before = bad.read_bytes()
    assert "\n" not in (_refusal(rescue, bad, out) or "")
    assert bad.read_bytes() == before
