"""A fair queue for the processes that write to one SQLite file: commands and the server take turns."""

import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep

from service.domain.errors import Unavailable
from service.storage.engine.faults import LOCKED
from service.storage.engine.private import PRIVATE

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

POLL = 0.0005  # [s]
ATTEMPTS = 8  # to lock files that another process has removed meanwhile
logger = logging.getLogger("glycol_fleet.storage")


class Turnstile:
    """Two locks on empty files beside the database: hold `next` while waiting for `writer`, `writer` while writing.

    Without it a process that waits for SQLite's lock sleeps up to 100 ms between attempts, and one that begins its next
    transaction at once always finds the lock free. Here the process that has just written waits behind the one that
    holds `next`. The operating system releases both locks when a process dies. They only give an order: SQLite's own
    lock protects the file, so where these cannot be had, writing goes on without them.
    """

    def __init__(self, database: Path) -> None:
        self.paths = [database.with_name(f"{database.name}-{place}") for place in ("next", "writer")]
        self._files: list[int] = []
        self._warned = False

    def take(self, deadline: float) -> None:
        """Wait for the right to write; Unavailable when it is not free by `deadline`. It is tried once at least."""
        if fcntl is None:
            return
        try:
            for _ in range(ATTEMPTS):
                if self._taken(deadline):
                    return
                self._close_files()
        except OSError as error:
            self._close_files()
            self._warn(error)

    def release(self) -> None:
        """Let the next process write."""
        if self._files:
            fcntl.flock(self._files[-1], fcntl.LOCK_UN)

    def close(self) -> None:
        """Release, and remove the files unless another process waits or writes."""
        self.release()
        try:
            with suppress(Unavailable):
                if self._files and self._taken(deadline=0.0):
                    for path in self.paths:
                        path.unlink(missing_ok=True)
        except OSError as error:
            self._warn(error)
        finally:
            self._close_files()

    def _taken(self, deadline: float) -> bool:
        """Whether the locks were those of the files that have the names: who closes last removes them."""
        if not self._files:
            self._open_files()
        following, writer = self._files
        _lock(following, deadline)
        try:
            _lock(writer, deadline)
        finally:
            fcntl.flock(following, fcntl.LOCK_UN)
        return all(os.fstat(file).st_nlink for file in self._files)

    def _open_files(self) -> None:
        for path in self.paths:
            self._files.append(
                os.open(path, os.O_RDONLY | os.O_CREAT, PRIVATE)
            )  # no content: reading is enough to lock

    def _close_files(self) -> None:
        while self._files:
            os.close(self._files.pop())

    def _warn(self, error: OSError) -> None:
        if not self._warned:
            logger.warning("without lock files, other processes may wait long for their turn to write: %s", error)
            self._warned = True


def _lock(file: int, deadline: float) -> None:
    while True:
        try:
            return fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if monotonic() >= deadline:
                raise Unavailable(LOCKED) from None
        sleep(POLL)


@contextmanager
def turn_to_write(path: Path, *, patience: float) -> Iterator[None]:
    """The right to write before other processes, for a transaction on a connection of one's own."""
    turnstile = Turnstile(path)
    try:
        turnstile.take(monotonic() + patience)
        yield
    finally:
        turnstile.close()
