"""Many threads, one SQLite connection, one COMMIT for all whose turns came together (group commit)."""

from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock
from time import monotonic
from typing import Any

from sqlalchemy import Connection

from service.domain.errors import Unavailable
from service.storage.engine.faults import LOCKED, Translating, translated
from service.storage.engine.link import Link
from service.storage.engine.sqlite_log import count_commit
from service.storage.engine.turnstile import Turnstile

UNKNOWN = "The database is slow; what was sent may or may not be stored. Send it again with the same id or key."
SLOW_COMMIT = 15.0  # [s] to wait for one under way: a slow disk is no reason to refuse
LOST = "The database could not store what was sent."


class _Batch:
    """The bodies that share one COMMIT. Until that has returned, nothing counts as stored."""

    __slots__ = ("cause", "committed", "connection", "members", "suspect", "turns_left")

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.members: list[Lock] = []
        self.committed = False
        self.turns_left: int | None = None  # how many more may join, or fail in joining, before the COMMIT
        self.suspect = False  # the connection has failed someone: open another for the next batch
        self.cause: BaseException | None = None

    def run(self, sql: str) -> None:
        """Run SQL that steers the transaction."""
        _run(self.connection, sql)


class GroupWriter:
    """Threads take turns; who finds others waiting leaves its work uncommitted, and the last one commits for all.

    Each thread has a lock of its own, its turn, which it holds from the start. Others release it: once to hand over
    the turn, a second time when the batch is settled. Only the holder of the turn uses `_batch` and `_connection`;
    `_mutex` guards `_taken` and `_queue`.

    Constraints must be immediate: a deferred one would fail at the COMMIT, and with it everybody who shares that.
    """

    def __init__(
        self,
        connect: Callable[[], Connection],
        turnstile: Turnstile,
        *,
        patience: float,
        limit: int = 64,
        before_commit: Callable[[], None] = lambda: None,
    ) -> None:
        self.patience, self.limit = patience, limit
        self._before_commit = before_commit
        self._turnstile = turnstile
        self._connect = connect
        self._connection: Connection | None = None
        self._batch: _Batch | None = None
        self._mutex = Lock()
        self._taken = False
        self._queue: deque[Lock] = deque()
        self._committing = False

    @property
    def waiting(self) -> int:
        """How many threads wait for their turn."""
        return len(self._queue)

    @contextmanager
    def writing(self) -> Iterator[Link]:
        """A turn: committed on leaving, taken back on any exception; Unavailable when it cannot be had or stored."""
        deadline = monotonic() + self.patience
        turn = self._take_turn(deadline)
        try:
            batch = self._join_batch(deadline)
            with self._body(batch) as link:
                yield link
            batch.members.append(turn)
        finally:
            self._hand_on()
        self._confirm(turn, batch)

    def close(self) -> None:
        """Close the connection, which takes back what is uncommitted; the next batch opens a new one."""
        if self._connection is not None:
            _dbapi(self._connection).close()
            self._connection = None
        self._turnstile.release()

    def _take_turn(self, deadline: float) -> Lock:
        turn = Lock()
        turn.acquire()
        with self._mutex:
            if not self._taken:
                self._taken = True
                return turn
            self._queue.append(turn)
        if turn.acquire(timeout=max(0.0, deadline - monotonic())):
            return turn
        if self._committing and turn.acquire(timeout=SLOW_COMMIT):
            return turn
        with self._mutex:
            if turn in self._queue:
                self._queue.remove(turn)
                raise Unavailable(LOCKED)
        turn.acquire()  # it was handed over at the last moment: whoever did so relies on us to go on
        return turn

    def _join_batch(self, deadline: float) -> _Batch:
        if self._batch is None:
            try:
                with Translating():
                    self._batch = self._begin(deadline)
            except BaseException:
                self.close()
                raise
        return self._batch

    def _begin(self, deadline: float) -> _Batch:
        if self._connection is None:
            self._connection = self._connect()
        self._turnstile.take(deadline)
        left = max(0.0, deadline - monotonic())
        _run(self._connection, f"PRAGMA busy_timeout={int(left * 1000)}")
        _run(self._connection, "BEGIN IMMEDIATE")
        count_commit(_dbapi(self._connection).execute)
        return _Batch(self._connection)

    @contextmanager
    def _body(self, batch: _Batch) -> Iterator[Link]:
        shared = bool(batch.members)  # the first goes without a savepoint, a sixth faster: undoing it undoes all
        link = Link(batch.connection)
        try:
            if shared:
                link.plain("SAVEPOINT body")
            yield link
            link.must_be_whole()
            if shared:
                link.plain("RELEASE body")
        except BaseException as error:
            batch.suspect |= isinstance(error, Unavailable)
            self._take_back(batch)
            raise
        finally:
            link.close()

    def _take_back(self, batch: _Batch) -> None:
        """Undo one body. When SQLite has undone the whole transaction, all who shared it have failed."""
        if not batch.members:
            return self._end(batch)
        try:
            batch.run("ROLLBACK TO body")
            batch.run("RELEASE body")
        except Exception as error:  # settled as a failure of the batch, with this as its cause
            self._settle(batch, error)

    def _hand_on(self) -> None:
        """Give the turn to the next in line, or, when nobody waits or the batch is full, commit first.

        A batch is open to those who wait when its first member is done, and to nobody who comes later: bodies that fail
        and try again (a stale If-Match) would otherwise keep it from ever being committed.
        """
        batch = self._batch
        if batch is not None and batch.members:
            left = min(len(self._queue), self.limit - 1) if batch.turns_left is None else batch.turns_left - 1
            batch.turns_left = left
            if left <= 0:
                self._end(batch)
        while (unfinished := self._hand_over()) is not None:
            self._end(unfinished)

    def _hand_over(self) -> _Batch | None:
        """Pass the turn to the next thread, or lay it down; the batch, when nobody is left to commit it but us."""
        with self._mutex:
            if self._queue:
                self._queue.popleft().release()
                return None
            self._taken = self._batch is not None
            return self._batch

    def _end(self, batch: _Batch) -> None:
        try:
            if batch.members:
                self._before_commit()
            self._committing = True
            batch.run("COMMIT" if batch.members else "ROLLBACK")
            batch.committed = True
        except BaseException as error:  # kept as the cause of every member's Unavailable
            self._committing = False
            self._settle(batch, error)
        else:
            self._committing = False
            self._settle(batch, None)

    def _settle(self, batch: _Batch, cause: BaseException | None) -> None:
        self._batch = None
        batch.cause = cause
        if batch.suspect or cause is not None:
            self.close()
        else:
            self._turnstile.release()
        for turn in batch.members:
            turn.release()

    def _confirm(self, turn: Lock, batch: _Batch) -> None:
        """Wait for the COMMIT; counted from the end of the body, so that a long one does not fail for its length."""
        if not turn.acquire(timeout=self.patience) and not (self._committing and turn.acquire(timeout=SLOW_COMMIT)):
            raise Unavailable(UNKNOWN)
        if not batch.committed:
            raise _failure(batch.cause) from batch.cause


def _failure(cause: BaseException | None) -> Unavailable:
    if isinstance(cause, Unavailable):
        return Unavailable(str(cause))
    known = None if cause is None else translated(cause)
    return known if isinstance(known, Unavailable) else Unavailable(LOST)


def _dbapi(connection: Connection) -> Any:
    return connection.connection.dbapi_connection


def _run(connection: Connection, sql: str) -> None:
    _dbapi(connection).execute(sql)
