"""The threads on which the application runs."""

import asyncio
from collections.abc import Callable
from queue import SimpleQueue
from threading import Thread
from typing import Any, TypeVar

T = TypeVar("T")
END_SECONDS = 1.0


class Busy(Exception):
    """All threads are at work and the queue is full."""


class Workers:
    """Threads that take calls in turn. They are daemons: a call that never ends does not keep the process."""

    def __init__(self, threads: int, queue: int) -> None:
        self._most = threads + queue
        self._held = 0
        self._calls: SimpleQueue[tuple[asyncio.Future[Any], Callable[..., Any], tuple[Any, ...]] | None] = SimpleQueue()
        self._loop = asyncio.get_running_loop()
        self._threads = [Thread(target=self._work, name=f"worker-{n}", daemon=True) for n in range(threads)]
        for thread in self._threads:
            thread.start()

    async def run(self, function: Callable[..., T], *arguments: Any) -> T:
        """What the function returns or raises, called on one of the threads; Busy when the queue is full."""
        if self._held >= self._most:
            raise Busy
        self._held += 1
        future: asyncio.Future[T] = self._loop.create_future()
        self._calls.put((future, function, arguments))
        return await future

    def end(self) -> None:
        """Let the threads end after the calls under way; those that take long are left behind."""
        for _ in self._threads:
            self._calls.put(None)
        for thread in self._threads:
            thread.join(END_SECONDS / len(self._threads))

    def _work(self) -> None:
        while call := self._calls.get():
            future, function, arguments = call
            result, fault = None, None
            try:
                result = function(*arguments)
            except BaseException as caught:
                fault = caught
            try:
                self._loop.call_soon_threadsafe(self._deliver, future, result, fault)
            except RuntimeError:  # the server has ended meanwhile; nobody waits for the result
                return

    def _deliver(self, future: asyncio.Future[Any], result: Any, fault: BaseException | None) -> None:
        self._held -= 1
        if future.done():  # whoever asked has gone
            if hasattr(result, "close"):
                result.close()
        elif fault is not None:
            future.set_exception(fault)
        else:
            future.set_result(result)
