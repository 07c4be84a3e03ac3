"""Database files belong to the owner of the process alone. SQLite gives its log and index the mode of the database."""

import os
from contextlib import suppress
from pathlib import Path

PRIVATE = 0o600
BESIDE = ("", "-wal", "-shm", "-journal", "-next", "-writer", "-moving")


def create(path: Path) -> None:
    """Make an empty file where there is none, before SQLite makes it as the umask allows."""
    with suppress(OSError):  # SQLite comes to the same file next, and reports what is wrong
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE))


def protect(path: Path) -> None:
    """Take away what others may do with a database and the files beside it, where they are ours."""
    for name in BESIDE:
        file = path.with_name(path.name + name)
        if file.is_file() and not file.is_symlink():
            found = file.stat()
            if found.st_mode & 0o077 and found.st_uid == _user(found.st_uid):
                file.chmod(PRIVATE)


def _user(otherwise: int) -> int:
    return os.geteuid() if hasattr(os, "geteuid") else otherwise  # Windows has none
