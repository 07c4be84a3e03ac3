"""`glycol-fleet serve` with faults that a file switches on: a slow sync, and a clock set back or forth.

The file holds JSON, `{"sync_seconds": 0.5, "clock_hours": -6}`; it is read anew whenever it has changed.
"""

import json
import os
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from service import clock
from service.storage.engine import group_writer

_read: list[Any] = [0, {}]


def fault(name: str) -> float:
    """The value of a fault as the file has it now, 0 where it is off."""
    file = Path(os.environ["SOAK_FAULTS"])
    changed = file.stat().st_mtime_ns
    if changed != _read[0]:
        _read[:] = [changed, json.loads(file.read_text() or "{}")]
    return float(_read[1].get(name, 0))


def install() -> None:
    """Put the faults in place, before anything has taken the names they replace."""
    true_now, true_run = clock.now, group_writer._run

    def now() -> datetime:
        return true_now() + timedelta(hours=fault("clock_hours"))

    def run(connection: Any, sql: str) -> None:
        if sql == "COMMIT":
            time.sleep(fault("sync_seconds"))
        true_run(connection, sql)

    clock.now = now
    group_writer._run = run


if __name__ == "__main__":
    install()
    from service.cli import main

    sys.exit(main())
