"""A few worker processes that take jobs in turn. They start when they are needed, and are renewed after some jobs.

Each has a pipe of its own, on which the thread that asks waits without the interpreter. So one that dies takes one job
with it, and one that takes too long is killed alone.
"""

import os
import pickle
import sys
from collections.abc import Callable
from contextlib import suppress
from math import inf
from multiprocessing import get_context
from threading import BoundedSemaphore, Condition, Event, Thread
from time import monotonic
from typing import TypeVar

from service.domain.errors import Unavailable
from service.processes.worker import job, work

T = TypeVar("T")
STOPPED = "The server is being stopped; send it again to the next."
CROWDED = "Too much of this is being done at once; try again later."
NONE_STARTS = "No process can be started for it just now; try again later."
GIVEN_UP = "It could not be done: it takes too long, or too much memory."
LOOK = 0.5  # [s] between two looks for what takes too long, and for what has ended
PATIENCE = 2.0  # [s] for an idle process to end
MANY = 1000  # more jobs at once than a server has threads


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):  # not on macOS and Windows
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def memory() -> int:
    """The memory of the machine [B]; as much as is ever needed where that cannot be asked (Windows)."""
    if not hasattr(os, "sysconf"):
        return sys.maxsize
    return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")


class NoWorker(Unavailable):
    """No worker process could do it: none starts, two died at it, or it takes too long."""


class _Died(Exception):
    """The process ended at its job, by itself or by somebody else."""


class _Worker:
    """A process and the pipe to it. `until` is when its job, or its end, takes too long."""

    def __init__(self, niceness: int) -> None:
        context = get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self.process = context.Process(target=work, args=(theirs, niceness), daemon=True)
        self.done, self.until = 0, inf
        try:
            self.process.start()
        except BaseException:
            self._pipe.close()
            raise
        finally:
            theirs.close()

    def ask(self, message: bytes) -> bytes:
        """Its answer."""
        self.done += 1
        try:
            self._pipe.send_bytes(message)
            return self._pipe.recv_bytes()
        except (EOFError, OSError) as fault:
            raise _Died from fault

    def end(self) -> None:
        """Let it end, which it does when it is idle."""
        self._pipe.close()
        self.until = monotonic() + PATIENCE


class Pool:
    """Runs functions in worker processes; what they take, return and raise is pickled."""

    def __init__(
        self, *, processes: int, jobs: float = inf, waiting: int = MANY, seconds: float, niceness: int = 0
    ) -> None:
        """`jobs` of a process until it is renewed; `waiting` and under way, beyond which a job is refused."""
        self._processes, self._jobs, self._seconds, self._niceness = processes, jobs, seconds, niceness
        self._room = BoundedSemaphore(waiting)
        self._changed = Condition()
        self._starting = 0
        self._idle: list[_Worker] = []
        self._busy: list[_Worker] = []
        self._ending: list[_Worker] = []
        self._closed = Event()
        self._watch: Thread | None = None

    def __call__(self, function: Callable[..., T], *arguments: object) -> T:
        """What `function(*arguments)` returns or raises there.

        NoWorker where no process can do it, Unavailable where too many wait or the pool is closed before it is done.
        """
        if not self._room.acquire(blocking=False):
            raise Unavailable(CROWDED)
        try:
            answer = self._answer(job(function, arguments))
        finally:
            self._room.release()
        result: T
        result, fault = pickle.loads(answer)  # noqa: S301 - from a process that this one has started
        if fault is not None:
            raise fault
        return result

    def close(self) -> None:
        """End the processes; what is under way or waits is given up: who asked for it is gone."""
        with self._changed:
            self._closed.set()
            self._changed.notify_all()
            for worker in self._busy:
                worker.process.kill()
            while self._busy or self._starting:
                self._changed.wait()
            for worker in self._idle:
                worker.end()
            self._ending += self._idle
            self._idle.clear()
        if self._watch is not None:
            self._watch.join()
        for worker in self._ending:
            worker.process.join(PATIENCE)
            worker.process.kill()
            worker.process.join()
        self._ending.clear()

    def _answer(self, message: bytes) -> bytes:
        with suppress(_Died):  # perhaps not by its job: where memory is short the kernel ends what is largest
            return self._answer_of_one(message)
        try:
            return self._answer_of_one(message)
        except _Died as fault:
            raise NoWorker(GIVEN_UP) from fault

    def _answer_of_one(self, message: bytes) -> bytes:
        worker = self._taken()
        try:
            answer = worker.ask(message)
        except BaseException:
            worker.process.kill()
            late = worker.until < monotonic()
            self._given_back(worker, ends=True)
            if self._closed.is_set():
                raise Unavailable(STOPPED) from None
            if late:
                raise NoWorker(GIVEN_UP) from None
            raise
        self._given_back(worker, ends=worker.done >= self._jobs)
        return answer

    def _taken(self) -> _Worker:
        """A worker for one job, once one is free."""
        with self._changed:
            while True:
                if self._closed.is_set():
                    raise Unavailable(STOPPED)
                if self._idle:
                    worker = self._idle.pop()  # the one used last: its memory is at hand
                    if worker.process.is_alive():
                        return self._begun(worker)
                    worker.end()
                    self._ending.append(worker)
                elif len(self._busy) + self._starting < self._processes:
                    self._starting += 1
                    break
                else:
                    self._changed.wait()
        return self._started()

    def _started(self) -> _Worker:
        worker = None
        try:
            self._watched()
            worker = _Worker(self._niceness)
        except OSError as fault:
            raise NoWorker(NONE_STARTS) from fault
        finally:
            with self._changed:
                self._starting -= 1
                if worker is None:
                    self._one_is_free()
                else:
                    self._begun(worker)
        return worker

    def _watched(self) -> None:
        """Begin to look after the processes before there is one: where threads are short, none could be ended."""
        with self._changed:
            if self._watch is None:
                watch = Thread(target=self._look, name="processes", daemon=True)
                try:
                    watch.start()
                except RuntimeError as fault:
                    raise NoWorker(NONE_STARTS) from fault
                self._watch = watch

    def _begun(self, worker: _Worker) -> _Worker:
        worker.until = monotonic() + self._seconds
        self._busy.append(worker)
        if self._closed.is_set():
            worker.process.kill()
        return worker

    def _given_back(self, worker: _Worker, *, ends: bool) -> None:
        with self._changed:
            self._busy.remove(worker)
            if ends:
                worker.end()
                self._ending.append(worker)
            else:
                worker.until = inf
                self._idle.append(worker)
            self._one_is_free()

    def _one_is_free(self) -> None:
        """Wake one who waits for a worker; while the pool is closed all, of whom one waits for the last to be free."""
        if self._closed.is_set():
            self._changed.notify_all()
        else:
            self._changed.notify()

    def _look(self) -> None:
        """Kill what takes too long, and take note of what has ended: it would stay in the table of processes."""
        while not self._closed.wait(LOOK):
            with self._changed:
                for worker in (*self._busy, *self._ending):
                    if worker.until < monotonic():
                        worker.process.kill()
                self._ending = [each for each in self._ending if each.process.is_alive()]
                dead = [each for each in self._idle if not each.process.is_alive()]
                self._idle = [each for each in self._idle if each not in dead]
                for worker in dead:
                    worker.end()
