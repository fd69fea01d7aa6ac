"""Folders written by hand for the tests, file by file."""

from __future__ import annotations

from pathlib import Path

SCHEDULE = """
name = "Twin, belt-driven cams"
revision = {revision}

[[rule]]
key = "belt"
item = "timing belt"
action = "replace"
positions = [{positions}]
every = {{ hours = 1000, months = 60 }}
"""


def schedule_text(revision: int = 1, *positions: str) -> str:
    """A small schedule of one rule for the timing belt, at the positions named."""
    return SCHEDULE.format(revision=revision, positions=", ".join(f'"{p}"' for p in positions))


def card_text(revision: int = 1) -> str:
    """A small work card of one step."""
    return f'name = "Belt refit"\nrevision = {revision}\n\n[[step]]\nkey = "key"\ntitle = "Key in its slot"\n'


def shop_text(revision: int = 1) -> str:
    """A small shop of one technician and one bay."""
    return (
        f'name = "Workshop"\nrevision = {revision}\ntime_zone = "Etc/UTC"\n'
        'hours = { mon = "08:00-16:00" }\n\n[[technician]]\nname = "Kim"\n\n[[bay]]\nname = "bay 1"\n'
    )


def folder_of(path: Path, **files: str | bytes) -> Path:
    """A folder with one CSV file for each name; texts are written as UTF-8 with the lines they have."""
    path.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (path / f"{name}.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def with_schedule(folder: Path, name: str, text: str) -> Path:
    """The folder with one schedule more."""
    (folder / "schedules").mkdir(parents=True, exist_ok=True)
    (folder / "schedules" / f"{name}.toml").write_bytes(text.encode())
    return folder
