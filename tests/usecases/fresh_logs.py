"""Empty logs for tests that need many: made once, then copied."""

from __future__ import annotations

import atexit
import shutil
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from fleetlog.store.log import Log
from fleetlog.store.opening import open_log

AT = datetime(2026, 4, 15, 9, tzinfo=UTC)


@cache
def _template() -> Path:
    folder = Path(mkdtemp())
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    open_log(str(folder / "empty.db"), at=AT).dispose()
    return folder / "empty.db"


def fresh_log(path: Path) -> Log:
    """An empty log in a new file."""
    shutil.copy(_template(), path)
    return open_log(str(path), at=AT)
