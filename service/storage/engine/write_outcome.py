"""How the last write ended, so that the question whether a visit could be stored costs no write of its own."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock
from time import monotonic

from service.domain.errors import Unavailable

FRESH = 60.0  # [s] for which a success answers the question
AGAIN = 1.0  # [s] for which a failure does


class WriteOutcome:
    """The last success or failure of any thread, and when it was, by the monotonic clock."""

    def __init__(self) -> None:
        self._failure: str | None = None
        self._at: float | None = None
        self._probing = Lock()

    @contextmanager
    def noted(self) -> Iterator[None]:
        """Note how a write ends; an exception of the caller's own says nothing of the database."""
        try:
            yield
        except Unavailable as failure:
            self._failure, self._at = str(failure), monotonic()
            raise
        self._failure, self._at = None, monotonic()

    def check(self, write: Callable[[], None]) -> None:
        """Unavailable when the last write failed; writes only when that is long ago, and one caller at a time."""
        age = None if self._at is None else monotonic() - self._at
        if age is not None and age < (FRESH if self._failure is None else AGAIN):
            return self._raise_failure()
        if not self._probing.acquire(blocking=False):
            return self._raise_failure()
        try:
            write()
        finally:
            self._probing.release()

    def _raise_failure(self) -> None:
        if self._failure is not None:
            raise Unavailable(self._failure)
