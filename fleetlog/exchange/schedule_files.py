"""The schedules of the CSV folder: NAME.toml each, and older revisions as NAME@REVISION.toml."""

from __future__ import annotations

import re
from pathlib import Path

from fleetlog.domain.batch import ScheduleText
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.exchange.problems import Problem, ProblemList

FOLDER = "schedules"
_OLDER = re.compile(r"(?P<name>.+)@(?P<revision>\d{1,9})", re.ASCII)
_UNFIT = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
_MOST_BYTES = 2_000_000


def is_fit_name(name: str) -> bool:
    """Whether a schedule's name can be a file name on every system."""
    return (
        0 < len(name.encode()) <= 200
        and name.isprintable()
        and not _UNFIT.search(name)
        and name == name.strip().rstrip(".")
        and not name.startswith(".")
        and name.split(".")[0].casefold() not in _DEVICES
        and not _OLDER.fullmatch(name)
    )


def schedule_file(schedule: ScheduleText, newest: int) -> str:
    """The name of the file in the folder in which a revision of a schedule stands."""
    is_newest = schedule.revision == newest
    stem = schedule.name if is_newest else f"{schedule.name}@{schedule.revision}"
    return f"{FOLDER}/{stem}.toml"


def read_schedules(
    folder: Path, problems: ProblemList
) -> tuple[list[ScheduleText], dict[tuple[str, int], str]]:
    """The schedules of a folder, by name and ascending revision, and the file that each stands in."""
    found: list[ScheduleText] = []
    files: dict[tuple[str, int], str] = {}
    for path in sorted((folder / FOLDER).glob("*.toml")):
        if path.name.startswith("."):
            continue
        file = f"{FOLDER}/{path.name}"
        schedule = _read(path, file, problems)
        if schedule is None:
            continue
        key = (schedule.name, schedule.revision)
        if key in files:
            problems.add(
                Problem(
                    file,
                    None,
                    None,
                    f"revision {schedule.revision}",
                    f"each revision once; {files[key]} has it",
                )
            )
            continue
        found.append(schedule)
        files[key] = file
    found.sort(key=lambda s: (s.name, s.revision))
    _refuse_older_as_newest(found, files, problems)
    return found, files


def schedules_passed_over(folder: Path) -> list[str]:
    """Remarks on files that stand among the schedules and are none by their name."""
    return [
        f"{FOLDER}/{path.name} was not read: a schedule is called NAME.toml"
        for path in sorted((folder / FOLDER).glob("*"))
        if path.suffix != ".toml" and not path.name.startswith(".")
    ]


def names_of_schedules(folder: Path) -> frozenset[str]:
    """The names of the schedules that have files in a folder, whatever is in those."""
    return frozenset(name_and_revision(path)[0] for path in (folder / FOLDER).glob("*.toml"))


def name_and_revision(path: Path) -> tuple[str, int | None]:
    """The schedule and, for an older one, the revision that a file's name speaks of."""
    older = _OLDER.fullmatch(path.stem)
    return (older["name"], int(older["revision"])) if older else (path.stem, None)


def _read(path: Path, file: str, problems: ProblemList) -> ScheduleText | None:
    def wrong(found: str | None, expected: str) -> None:
        problems.add(Problem(file, None, None, found, expected))

    name, revision = name_and_revision(path)
    if not is_fit_name(name):
        wrong(path.stem, "a name that can be a file name on every system, without @ and a number at its end")
        return None
    try:
        data = path.read_bytes()
    except OSError as error:
        wrong(error.strerror or str(error), "a file that can be read")
        return None
    if len(data) > _MOST_BYTES:
        wrong(f"{len(data):,} bytes", f"a schedule of at most {_MOST_BYTES:,}")
        return None
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        problems.add(Problem(file, line, None, "a byte that is not UTF-8", "UTF-8, as TOML has to be"))
        return None
    schedule, faults = schedule_from_toml(name, text)
    for fault in faults:
        problems.add(Problem(file, None, None, None, f"a service schedule; {fault}"))
    if schedule is None:
        return None
    if revision is not None and revision != schedule.revision:
        wrong(f"revision = {schedule.revision}", f"revision = {revision}, as the file's name says")
        return None
    return ScheduleText(name, schedule.revision, text)


def _refuse_older_as_newest(
    found: list[ScheduleText], files: dict[tuple[str, int], str], problems: ProblemList
) -> None:
    newest = {s.name: s.revision for s in found}
    for schedule in found:
        key = (schedule.name, schedule.revision)
        if files[key] == f"{FOLDER}/{schedule.name}.toml" and schedule.revision < newest[schedule.name]:
            expected = (
                f"the newest revision in this file; {files[schedule.name, newest[schedule.name]]} is newer"
            )
            problems.add(Problem(files[key], None, None, f"revision {schedule.revision}", expected))
