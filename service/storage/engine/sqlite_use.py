"""Which processes use one SQLite file: a shared lock for each, an exclusive one for a restore."""

import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic, sleep

from service.storage.engine.faults import Refused

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

POLL = 0.01  # [s]


class Use:
    """A lock on an empty file beside the database, which the operating system releases when the process dies.

    The last process that leaves removes the file. Without `flock` (Windows) nothing is known of other processes.
    """

    def __init__(self, database: Path) -> None:
        self.database = database
        self.path = database.with_name(f"{database.name}-open")
        self._file: int | None = None
        self._exclusive = False

    def enter(self, when_alone: Callable[[], None], *, patience: float) -> None:
        """Use the file with others; the first checks something before others come. Refused during a restore."""
        if fcntl is None or self._file is not None:
            return
        deadline = monotonic() + patience
        while not (self._lock(fcntl.LOCK_EX) or self._lock(fcntl.LOCK_SH)):
            if monotonic() >= deadline:
                raise Refused(f"{self.database} is being restored: wait until that has ended")
            sleep(POLL)
        try:
            if self._exclusive:
                when_alone()
                self._share()
        except BaseException:
            self.leave()
            raise

    def claim(self, *, patience: float = 0.5) -> None:
        """Use the file alone; Refused while another process uses it."""
        if fcntl is None:
            return
        deadline = monotonic() + patience
        while not self._lock(fcntl.LOCK_EX):
            if monotonic() >= deadline:
                raise Refused(f"{self.database} is in use: stop the server and every other command first")
            sleep(POLL)

    def leave(self) -> None:
        """End the use."""
        if self._file is None:
            return
        with suppress(OSError):  # another process uses it still, or its folder is gone: it stays
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            self.path.unlink(missing_ok=True)
        os.close(self._file)
        self._file = None

    def _share(self) -> None:
        if self._file is not None:
            fcntl.flock(self._file, fcntl.LOCK_SH)

    def _lock(self, kind: int) -> bool:
        """Whether the lock is had, on the file that has the name: who leaves last removes it."""
        file = os.open(self.path, os.O_RDONLY | os.O_CREAT, 0o600)
        try:
            fcntl.flock(file, kind | fcntl.LOCK_NB)
            if os.fstat(file).st_nlink:
                self._file, self._exclusive = file, kind == fcntl.LOCK_EX
                return True
        except BlockingIOError:
            pass
        os.close(file)
        return False
