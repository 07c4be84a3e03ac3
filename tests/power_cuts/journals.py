"""A program that has only the interpreter's SQLite, which has the WAL-reset fault: it takes a rollback journal."""

import os
import sys
import tempfile
from pathlib import Path

from service.storage.engine import sqlite


def use_rollback_journal() -> None:
    """Hide the second driver from this process and from those that it starts."""
    folder = Path(tempfile.mkdtemp(prefix="glycol-fleet-without-"))
    (folder / "pysqlite3.py").write_text("raise ImportError('hidden')\n")
    os.environ["PYTHONPATH"] = str(folder)
    sys.path.insert(0, str(folder))
    sqlite.driver.cache_clear()
    if sqlite.journal() != sqlite.ROLLBACK:
        raise SystemExit("the interpreter's SQLite is free of the fault: the product uses no rollback journal here")
