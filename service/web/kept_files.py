"""Files that were chosen on a page, kept for its next steps: one for each session, in files without a name."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from tempfile import TemporaryFile
from threading import Lock
from typing import IO
from weakref import finalize

MOST, LONGEST = 8, timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class Kept:
    """A file: what it was called, its digest, since when it is kept, and where its bytes are."""

    name: str
    digest: str
    since: datetime
    file: IO[bytes]


class KeptFiles:
    """The latest file of each session, in this process alone, for half an hour or until that of a ninth session comes.

    What has ended is closed when the next file is kept or asked for.
    """

    def __init__(self) -> None:
        self._kept: dict[str, Kept] = {}
        self._lock = Lock()
        finalize(self, _close_all, self._kept)

    def keep(self, session: str, name: str, raw: bytes, now: datetime) -> str:
        """Keep a file instead of the session's former one; its digest."""
        file = TemporaryFile()  # noqa: SIM115 - closed when it goes
        file.write(raw)
        new = Kept(name, sha256(raw).hexdigest(), now, file)
        with self._lock:
            for gone in (session, *self._ended(now)):
                self._close(gone)
            self._kept[session] = new
            if len(self._kept) > MOST:
                self._close(next(iter(self._kept)))
        return new.digest

    def get(self, session: str, digest: str, now: datetime) -> tuple[str, bytes] | None:
        """(name, bytes) of the session's file, if it is this one and still kept."""
        with self._lock:
            for gone in list(self._ended(now)):
                self._close(gone)
            found = self._kept.get(session)
            if found is None or found.digest != digest:
                return None
            found.file.seek(0)
            return found.name, found.file.read()

    def _ended(self, now: datetime) -> Iterator[str]:
        return (session for session, kept in list(self._kept.items()) if now - kept.since > LONGEST)

    def _close(self, session: str) -> None:
        gone = self._kept.pop(session, None)
        if gone is not None:
            gone.file.close()


def _close_all(kept: dict[str, Kept]) -> None:
    for each in kept.values():
        each.file.close()
