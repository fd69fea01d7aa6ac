"""A plain value is made as quickly as an open dataclass, and nobody changes it."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from subprocess import run

from fleetlog import domain
from fleetlog.domain.records import Reading

READING = Reading("r1", "A1", date(2026, 3, 4), 120)


def test_values_of_the_same_fields_are_one() -> None:
    same = Reading("r1", "A1", date(2026, 3, 4), 120)
    assert {READING, same} == {same}
    assert not hasattr(same, "__dict__")


CHANGED = """
from datetime import date
from fleetlog.domain.records import Reading

def later(reading: Reading) -> None:
    on = reading.on
    on = date(2026, 3, 5)
    reading.on = on
"""


def test_mypy_refuses_what_would_change_a_value(tmp_path: Path) -> None:
    (tmp_path / "changed.py").write_text(CHANGED)
    told = run(
        [sys.executable, "-m", "mypy", "--cache-dir", tmp_path / "cache", tmp_path / "changed.py"],
        capture_output=True,
        text=True,
    )
    (error,) = (line for line in told.stdout.splitlines() if "error:" in line)
    assert 'changed.py:8: error: Property "on" defined in "Reading" is read-only' in error


def test_the_domain_has_one_way_to_make_a_value() -> None:
    sources = {path.name: path.read_text(encoding="utf-8") for path in Path(domain.__path__[0]).glob("*.py")}
    assert [name for name, source in sources.items() if "dataclass(frozen=True, slots" in source] == []
