"""One socket: bytes in and out, each wait with a limit that `check` applies from outside, once a moment."""

import asyncio
from math import inf
from typing import Any

AHEAD = 64 * 1024  # [B] read before anybody asks for it
LEAST_READ = 8 * 1024  # [B] that a reader must take in the time of a stall


class TooLate(Exception):
    """Nothing came in time."""


class Gone(Exception):
    """The client has gone, or reads too slowly; `reason` says so of the latter."""

    def __init__(self, reason: str = "") -> None:
        super().__init__(reason)
        self.reason = reason


class Channel(asyncio.Protocol):
    """Waits as coroutines over a transport."""

    def __init__(self, *, half_open: bool, stall_seconds: float) -> None:
        self.received = bytearray()
        self.ended = False  # the client sends no more
        self.deadline = inf  # of the read that waits [s, of the loop's clock]
        self._half_open = half_open
        self._stall_seconds = stall_seconds
        self._loop = asyncio.get_running_loop()
        self._transport: Any = None
        self._lost = False
        self._paused = self._blocked = False
        self._reader: asyncio.Future[None] | None = None
        self._writer: asyncio.Future[None] | None = None
        self._closed: asyncio.Future[None] | None = None
        self._written = 0
        self._mark = (0, 0.0)  # bytes taken by the client, and when that was

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Keep the transport; every write is waited for."""
        self._transport = transport
        self._transport.set_write_buffer_limits(high=1, low=0)

    def data_received(self, data: bytes) -> None:
        """Keep the bytes; read no further while many are waiting."""
        self.received += data
        if len(self.received) > AHEAD and not self._paused:
            self._paused = True
            self._transport.pause_reading()
        _wake(self._reader)

    def eof_received(self) -> bool:
        """The client sends no more; it may still read, except over TLS."""
        self.ended = True
        _wake(self._reader)
        return self._half_open

    def connection_lost(self, _: Exception | None) -> None:
        """Whoever waits learns that the client has gone."""
        self._lost = self.ended = True
        for waiter in (self._reader, self._writer, self._closed):
            _wake(waiter)

    def pause_writing(self) -> None:
        """The client does not take everything at once."""
        self._blocked = True

    def resume_writing(self) -> None:
        """The client has taken everything."""
        self._blocked = False
        _wake(self._writer)

    async def more(self, deadline: float) -> bool:
        """Wait for further bytes; False when there will be none. TooLate after the deadline."""
        if self._paused:
            self._paused = False
            self._transport.resume_reading()
        if self.ended:
            return False
        before = len(self.received)
        self.deadline = deadline
        self._reader = self._loop.create_future()
        try:
            await self._reader
        finally:
            self._reader, self.deadline = None, inf
        return len(self.received) > before

    def take(self, most: int) -> bytes:
        """At most so many of the bytes received."""
        taken = bytes(self.received[:most])
        del self.received[:most]
        return taken

    async def send(self, data: bytes) -> None:
        """Send, and wait until the client's side has taken it; Gone when it does not."""
        if self._lost:
            raise Gone
        self._transport.write(data)
        self._written += len(data)
        if not self._blocked:
            return
        self._mark = (self._taken(), self._loop.time())
        self._writer = self._loop.create_future()
        try:
            await self._writer
        finally:
            self._writer = None
        if self._lost:
            raise Gone

    def end_sending(self) -> None:
        """Say that nothing more comes, where the transport can say it without closing."""
        if self._lost or not self._transport.can_write_eof():
            return
        try:
            self._transport.write_eof()
        except OSError as fault:
            raise Gone from fault

    async def close(self, seconds: float) -> None:
        """Close the connection, which over TLS announces its end, in at most so many seconds."""
        if self._transport is None or self._lost:
            return
        self._transport.close()
        self._closed = self._loop.create_future()
        await asyncio.wait((self._closed,), timeout=seconds)
        self._transport.abort()

    def abort(self) -> None:
        """Close the connection at once."""
        if self._transport is not None:
            self._transport.abort()

    def check(self, now: float) -> None:
        """End the waits whose time is over."""
        if now >= self.deadline and self._reader and not self._reader.done():
            self._reader.set_exception(TooLate())
        if self._writer is None or self._writer.done():
            return
        taken, since = self._mark
        if self._taken() - taken >= LEAST_READ:
            self._mark = (self._taken(), now)
        elif now - since >= self._stall_seconds:
            self._writer.set_exception(Gone("the client did not read its answer"))

    def _taken(self) -> int:
        waiting: int = self._transport.get_write_buffer_size()
        return self._written - waiting


def _wake(waiter: asyncio.Future[None] | None) -> None:
    if waiter is not None and not waiter.done():
        waiter.set_result(None)
