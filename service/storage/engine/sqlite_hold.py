"""A lock by which a process that will write for minutes has the writers of others refused at once."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep

from service.domain.errors import Unavailable
from service.storage.engine.faults import HELD, Refused
from service.storage.engine.private import PRIVATE

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

PATIENCE, POLL = 1.0, 0.001  # [s]


class Hold:
    """A lock on an empty file beside the database, which the operating system releases when the process dies.

    Others would get no turn anyway: SQLite's own lock is held as well. But they would wait for it, each with a thread
    that could answer readers. Without `flock` (Windows) they wait.
    """

    def __init__(self, database: Path) -> None:
        self.path = database.with_name(f"{database.name}-moving")
        self._file: int | None = None

    def check(self) -> None:
        """Unavailable while another process holds the lock."""
        if fcntl is None or self._file is not None:
            return
        try:
            file = os.open(self.path, os.O_RDONLY)
        except FileNotFoundError:
            return
        try:
            fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            raise Unavailable(HELD) from None
        finally:
            os.close(file)

    def clear(self) -> None:
        """Remove what a process left that was killed; nobody else may use the database."""
        self.path.unlink(missing_ok=True)

    @contextmanager
    def taken(self) -> Iterator[None]:
        """Hold the lock; Refused while another process does."""
        if fcntl is None:
            yield
            return
        self._file = self._locked()
        try:
            yield
        finally:
            self.path.unlink(missing_ok=True)
            os.close(self._file)
            self._file = None

    def _locked(self) -> int:
        deadline = monotonic() + PATIENCE
        while True:
            file = os.open(self.path, os.O_RDONLY | os.O_CREAT, PRIVATE)
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as error:  # or a writer is just looking whether it is held
                os.close(file)
                if monotonic() >= deadline:
                    raise Refused("these records are being moved by another process") from error
                sleep(POLL)
            else:
                if os.fstat(file).st_nlink:
                    return file
                os.close(file)  # who held it before has removed it meanwhile
