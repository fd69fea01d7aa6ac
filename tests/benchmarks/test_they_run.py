"""Each benchmark runs, on next to nothing, so that what it measures can be measured on any day."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("reports --pages 2", "laid out by templates"),
        ("scale --engines 12 --rounds 1 --parts start,due,refresh,visit,files", "export of the folder"),
        ("writers --seconds 0.5 --processes 2", "\n0 refusals"),
        ("forecast --only speed --engines 50", "times the reading"),
        ("life --lives 30 --samples 2 --without-lifelines", "coverage of 95 % limits"),
    ],
)
def test_it_runs(words: str, told: str) -> None:
    program, *given = words.split()
    ran = subprocess.run(
        [sys.executable, "-m", f"tests.benchmarks.{program}", *given],
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert ran.returncode == 0, ran.stderr
    assert told in ran.stdout
