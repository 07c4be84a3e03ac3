"""Notices that a file was replaced or removed while it is open: what is written to it then would be lost."""

import os
from collections.abc import Mapping
from pathlib import Path

from service.domain.errors import Unavailable

REPLACED = "The database file was replaced or removed while the server runs; restart the server."


class SameFiles:
    """The files that had these names when they were first seen."""

    def __init__(self) -> None:
        self._known: dict[Path, tuple[int, int]] = {}

    def remember(self, path: Path) -> None:
        """Remember the file that has this name now, unless one is remembered or there is none."""
        if path not in self._known and path.exists():
            self._known[path] = _identity(path)

    def check(self) -> None:
        """Unavailable when a name is no longer that of the file remembered."""
        for path, known in list(self._known.items()):
            try:
                same = _identity(path) == known
            except OSError:
                same = False
            if not same:
                raise Unavailable(REPLACED)

    def known(self) -> dict[Path, tuple[int, int]]:
        """Device and inode of each file by its name."""
        return dict(self._known)

    def expect(self, known: Mapping[Path, tuple[int, int]]) -> None:
        """Take these for the files that were seen first, by another process."""
        self._known.update(known)

    def forget(self) -> None:
        """Forget all of them: the next to open them may find others."""
        self._known.clear()


def _identity(path: Path) -> tuple[int, int]:
    found = os.stat(path)
    return found.st_dev, found.st_ino
