"""Hours out of telemetry: one reading a day, none twice, unit and source checked, nothing half taken."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Fleetlog


def _delta(at: str, hours: float, engine: str = "port", source: str = "n2k.115") -> dict[str, Any]:
    values = [{"path": f"propulsion.{engine}.runTime", "value": hours * 3600}]
    return {"updates": [{"timestamp": at, "$source": source, "values": values}]}


def _write(folder: Path, *deltas: dict[str, Any]) -> str:
    text = "".join(json.dumps(delta) + "\n" for delta in deltas)
    (folder / "t.json").write_text(text, encoding="utf-8")
    return "t.json"


def test_the_last_figure_of_each_day_becomes_a_reading_once(twins: Fleetlog, tmp_path: Path) -> None:
    file = _write(
        tmp_path,
        _delta("2026-04-01T08:00:00Z", 350.1),
        _delta("2026-04-01T18:00:00Z", 351.29),
        _delta("2026-04-02T23:30:00Z", 352),
    )
    first = twins("telemetry", file, "--map", "port=TT-0017")
    assert first.status == 0, first.err
    assert first.out.splitlines() == [
        "TT-0017  2026-04-01  351.2 h",
        "TT-0017  2026-04-02  352.0 h",
        "Readings recorded: 2; days that were there already: 0.",
    ]
    again = twins("telemetry", file, "--map", "port=TT-0017")
    assert again.out == "Readings recorded: 0; days that were there already: 2.\n"
    assert twins("check").status == 0


def test_a_jump_far_above_what_an_engine_runs_is_told_with_the_way_to_withdraw_it(
    twins: Fleetlog, tmp_path: Path
) -> None:
    file = _write(tmp_path, _delta("2026-04-01T08:00:00Z", 350.1), _delta("2026-04-02T08:00:00Z", 363))
    done = twins("telemetry", file, "--map", "port=TT-0017")
    assert done.status == 0, done.err
    assert "times the hours a day that TT-0017 usually runs" in done.err
    assert "fleetlog reading withdraw TT-0017 --on 2026-04-02 --hours 363.0 --reason WHY" in done.err


def test_a_moment_belongs_to_the_day_of_the_place(twins: Fleetlog, tmp_path: Path) -> None:
    file = _write(tmp_path, _delta("2026-04-02T02:30:00Z", 352))
    done = twins("telemetry", file, "--map", "port=TT-0017", "--utc-offset", "-8")
    assert "TT-0017  2026-04-01  352.0 h" in done.out


def test_figures_of_a_clock_that_is_wrong_are_left_out_and_counted(twins: Fleetlog, tmp_path: Path) -> None:
    file = _write(
        tmp_path,
        _delta("2026-04-14T08:00:00Z", 350.1),
        _delta("2026-04-16T08:00:00Z", 351),
        _delta("2062-04-16T08:00:00Z", 352),
        _delta("1970-01-01T00:05:00Z", 353),
    )
    done = twins("telemetry", file, "--map", "port=TT-0017")
    assert done.status == 0
    assert (
        done.out == "TT-0017  2026-04-14  350.1 h\nReadings recorded: 1; days that were there already: 0.\n"
    )
    assert "note: 3 figures are of days after today, 2026-04-15, or long before the engine came" in done.err
    assert "held" not in twins("reading", "list", "TT-0017").out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--map", "port=TT-0017", "--map", "stbd=TT-0017"), "port and stbd cannot both be engine TT-0017"),
        (("--map", "port=TT-0017", "--map", "port=TT-0021"), "port is there twice"),
        (("--map", "port=TT-0017", "--source", "n2k"), "no figure comes from 'n2k'; the file has: n2k.115"),
        (("--map", "port=TT-0017", "--map", "stbd=TT-0021", "--utc-offset", "nan"), "'nan' is no number"),
    ],
    ids=lambda words: " ".join(words) if isinstance(words, tuple) else "",
)
def test_whose_figures_they_are_is_not_guessed(
    twins: Fleetlog, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    file = _write(tmp_path, _delta("2026-04-02T02:30:00Z", 352), _delta("2026-04-02T02:30:00Z", 353, "stbd"))
    before = twins("reading", "list", "TT-0017").out
    done = twins("telemetry", file, *words)
    assert done.status in (1, 2)
    assert said in done.err
    assert twins("reading", "list", "TT-0017").out == before


def test_engines_of_several_vessels_are_not_mixed(twins: Fleetlog, tmp_path: Path) -> None:
    ours, theirs = _delta("2026-04-01T08:00:00Z", 351), _delta("2026-04-02T08:00:00Z", 355)
    words = ("telemetry", "t.json", "--map", "port=TT-0017")
    hello = {"self": "vessels.urn:gannet"}
    _write(tmp_path, hello, ours | {"context": "vessels.self"}, theirs | {"context": "vessels.urn:gannet"})
    assert "TT-0017  2026-04-02  355.0 h" in twins(*words).out
    _write(tmp_path, hello, ours | {"context": "vessels.self"}, theirs | {"context": "vessels.urn:tern"})
    refused = twins(*words)
    assert refused.status == 1
    assert "it tells of several vessels (urn:gannet, urn:tern): keep those of one boat" in refused.err
    run_time = {"value": 1_280_000, "timestamp": "2026-04-03T08:00:00Z"}
    both = {name: {"propulsion": {"port": {"runTime": run_time}}} for name in ("urn:a", "urn:b")}
    (tmp_path / "t.json").write_text(json.dumps({"vessels": both}), encoding="utf-8")
    assert "several vessels (urn:a, urn:b)" in twins(*words).err
    (tmp_path / "t.json").write_text(json.dumps({"vessels": both | {"urn:b": {}}}), encoding="utf-8")
    assert twins(*words).status == 0


def test_a_delta_that_tells_of_another_unit_is_refused(twins: Fleetlog, tmp_path: Path) -> None:
    delta = _delta("2026-04-01T08:00:00Z", 351)
    delta["updates"][0]["meta"] = [{"path": "propulsion.port.runTime", "value": {"units": "h"}}]
    refused = twins("telemetry", _write(tmp_path, delta), "--map", "port=TT-0017")
    assert "the run time of port is in 'h', not in seconds" in refused.err


def test_an_id_without_an_engine_is_asked_for(twins: Fleetlog, tmp_path: Path) -> None:
    file = _write(tmp_path, _delta("2026-04-02T02:30:00Z", 352), _delta("2026-04-02T02:30:00Z", 35, "stbd"))
    done = twins("telemetry", file, "--map", "port=TT-0017")
    assert done.status == 1
    assert "--map stbd=SERIAL" in done.err


def test_two_devices_that_tell_of_one_engine_are_not_mixed(twins: Fleetlog, tmp_path: Path) -> None:
    file = _write(
        tmp_path, _delta("2026-04-01T08:00:00Z", 350.1), _delta("2026-04-01T08:00:01Z", 35, source="other.3")
    )
    assert "choose one with --source" in twins("telemetry", file, "--map", "port=TT-0017").err
    done = twins("telemetry", file, "--map", "port=TT-0017", "--source", "n2k.115")
    assert "350.1 h" in done.out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "not JSON"),
        ("[" * 200_000, "not JSON"),
        (
            '{"propulsion": {"port": {"runTime": {"value": 3, "meta": {"units": "h"}}}}}',
            "'h', not in seconds",
        ),
        ('{"propulsion": {"po-rt": {"runTime": {"value": 3}}}}', "no id"),
        ('{"propulsion": {"port": {"runTime": {"value": -3}}}}', "cannot be seconds"),
        (
            '{"propulsion": {"port": {"runTime": {"value": NaN}}}}',
            "port, NaN, cannot be seconds: it is no number",
        ),
        ('{"propulsion": {"port": {"runTime": "abc"}}}', 'port, "abc", cannot be seconds: it is no number'),
        ('{"propulsion": {"port": {"runTime": -5}}}', "port, -5, cannot be seconds: it is below 0"),
        (
            '{"propulsion": {"port": {"runTime": 2.5e15}}}',
            "2500000000000000.0, cannot be seconds: it is above",
        ),
        ('{"propulsion": {"port": {"runTime": 361800}}}', "port, 361800, has no timestamp"),
        (
            '{"propulsion": {"port": {"runTime": {"value": 361800}}}}',
            "has no timestamp, so its day is not known",
        ),
        ('{"propulsion": {"port": {"runTime": {"value": 3, "timestamp": "noon"}}}}', "no time"),
        (
            '{"propulsion": {"port": {"runTime": {"value": 3, "timestamp": "9999-12-31T23:00:00Z"}}}}',
            "no year",
        ),
        (
            '{"propulsion": {"port": {"runTime": {"value": 3, "timestamp": "0001-01-01T00:00:00Z"}}}}',
            "no year",
        ),
        ("{}", "no run time"),
        ("2026-04-01T10:00:00Z,6,65253,20,255,8,da,07\n", "2 bytes and says 8"),
        ("2026-04-01T10:00:00Z,6,65253,20,255,2,da,07\n", "too few"),
        ("2026-04-01T10:00:00Z,6,65253,20,255,1,zz\n", "not hexadecimal"),
        ("a,b\nc,d\n", "it is not: time"),
        ("2026-04-01T10:00:00Z,6,65253,20,255,4,00,00,00,0f\n", "cannot be the hours"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(twins: Fleetlog, tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "t.json").write_text(text, encoding="utf-8")
    done = twins("telemetry", "t.json", "--map", "port=TT-0017", "--map", "20=TT-0017")
    assert done.status == 1
    assert said in done.err
    assert done.err.count("\n") == 1
