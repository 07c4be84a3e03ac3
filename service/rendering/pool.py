"""Documents written in a few processes of their own, so that typesetting neither blocks the server nor makes it grow.

The typesetter keeps memory after every document and gives none of it back: the processes are renewed after some.
"""

import os
import signal
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection, get_context, parent_process
from threading import BoundedSemaphore, Lock, Thread

from service.domain.errors import Unavailable

PROCESSES = 2
DOCUMENTS = 50  # written until the processes are renewed
WAITING = 16  # documents under way and waiting, beyond which a request is refused
SECONDS = 120  # a document that takes longer ends its process
NICENESS = 10  # added: visits are posted while documents are written, and go first where processors are few
STOPPED = "The server is being stopped; send it again to the next."


class DocumentPool:
    """Runs functions that return the bytes of a document in worker processes, which start with the first one."""

    def __init__(
        self, *, processes: int = PROCESSES, documents: int = DOCUMENTS, waiting: int = WAITING, seconds: int = SECONDS
    ) -> None:
        self._processes, self._documents, self._seconds = processes, documents, seconds
        self._room = BoundedSemaphore(waiting)
        self._lock = Lock()
        self._written = 0
        self._executor: ProcessPoolExecutor | None = None
        self._closed = False

    def __call__(self, write: Callable[..., bytes], *arguments: object) -> bytes:
        """What `write(*arguments)` returns; both are pickled, and what it raises is raised here.

        Raises Unavailable where too many wait, where it took too long, where its process died and where the pool is
        closed before it was begun.
        """
        if not self._room.acquire(blocking=False):
            raise Unavailable("Too many documents are being written at once; try again later.")
        try:
            return self._written_in(write, arguments)
        except CancelledError as fault:
            raise Unavailable(STOPPED) from fault
        finally:
            self._room.release()

    def close(self) -> None:
        """End the processes, once what they write is written; what waits is given up."""
        with self._lock:
            self._closed = True
            executor, self._executor = self._executor, None
        if executor is not None:
            executor.shutdown(wait=True, cancel_futures=True)

    def _written_in(self, write: Callable[..., bytes], arguments: tuple[object, ...]) -> bytes:
        try:
            return self._submitted(write, arguments).result()
        except BrokenProcessPool:  # perhaps by another document: the processes of a pool end together
            pass
        try:
            return self._submitted(write, arguments).result()
        except BrokenProcessPool as fault:
            raise Unavailable("The document could not be written: it takes too long, or too much memory.") from fault

    def _submitted(self, write: Callable[..., bytes], arguments: tuple[object, ...]) -> Future[bytes]:
        with self._lock:
            if self._closed:
                raise Unavailable(STOPPED)
            if self._executor is not None and self._written >= self._documents:
                self._renew()
            executor = self._executor or self._renew()
            self._written += 1
            try:
                return executor.submit(_write, self._seconds, write, arguments)
            except BrokenProcessPool:
                return self._renew().submit(_write, self._seconds, write, arguments)

    def _renew(self) -> ProcessPoolExecutor:
        """New processes; the former ones end after what was given to them."""
        if self._executor is not None:
            self._executor.shutdown(wait=False)
        self._written = 0
        self._executor = ProcessPoolExecutor(self._processes, get_context("spawn"), initializer=_start)
        return self._executor


def _start() -> None:
    """Prepare a worker process: it leaves Ctrl-C to the server, comes after it, and ends with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):  # not on Windows
        os.nice(NICENESS)
    Thread(target=_end_with_the_server, daemon=True).start()


def _end_with_the_server() -> None:
    server = parent_process()
    if server is not None:
        connection.wait([server.sentinel])
        os._exit(1)


def _write(seconds: int, write: Callable[..., bytes], arguments: tuple[object, ...]) -> bytes:
    alarm = getattr(signal, "alarm", None)  # not on Windows
    if alarm is not None:
        alarm(seconds)  # ends the process, native code included
    try:
        return write(*arguments)
    finally:
        if alarm is not None:
            alarm(0)
