"""Takes connections, gives each a place and a task, and lets them end."""

import asyncio
import logging
import socket
from typing import Any

from service.api.errors import UNAVAILABLE
from service.server.channel import Gone
from service.server.client import Client
from service.server.connection import Connection
from service.server.refusals import Refusal
from service.server.shared import Shared
from service.server.tls import Certificate

OUT_OF_FILES_SECONDS = 0.5
CLOSE_SECONDS = 5.0
MOST_TURNED_AWAY = 64
LONGEST_REASON = 300
FULL = "There are too many connections; try again in a moment."
logger = logging.getLogger("glycol_fleet.server")


class Accepting:
    """The listening sockets and the tasks of the connections that came by them."""

    def __init__(self, shared: Shared, listeners: list[socket.socket], certificate: Certificate | None) -> None:
        self._shared = shared
        self._listeners = listeners
        self._certificate = certificate
        self._loop = asyncio.get_running_loop()
        self._tasks: set[asyncio.Task[None]] = set()

    def begin(self) -> None:
        """Take connections as they come, one a turn of the loop, so that those that are held get their turn."""
        for listener in self._listeners:
            self._loop.add_reader(listener, self._take, listener)

    def stop(self) -> None:
        """Take what waits already, and no more."""
        for listener in self._listeners:
            self._loop.remove_reader(listener)
            while self._take(listener):
                pass
            listener.close()

    async def finish(self, seconds: float) -> None:
        """Wait for the connections, at most so long; end those that are left."""
        for connection in self._shared.places:
            connection.hurry()
        if self._tasks:
            await asyncio.wait(self._tasks, timeout=seconds)
        for connection in self._shared.places:
            connection.drop("the server ended")
        while self._tasks:
            await asyncio.wait(self._tasks)

    def _take(self, listener: socket.socket) -> bool:
        """Take one connection, if one waits."""
        try:
            accepted, address = listener.accept()
        except (BlockingIOError, InterruptedError, ConnectionAbortedError):
            return False
        except OSError as fault:  # no more files: those that wait are taken when some have been closed
            logger.error("a connection could not be taken", exc_info=fault)
            self._pause(listener)
            return False
        accepted.setblocking(False)
        client = Client(self._shared, str(address[0]))
        task = self._loop.create_task(self._serve(client, accepted))
        client.task = task
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return True

    def _pause(self, listener: socket.socket) -> None:
        self._loop.remove_reader(listener)

        def resume() -> None:
            if listener.fileno() >= 0:
                self._loop.add_reader(listener, self._take, listener)

        self._loop.call_later(OUT_OF_FILES_SECONDS, resume)

    async def _serve(self, client: Client, accepted: socket.socket) -> None:
        try:
            if self._shared.places.enter(client):
                await self._open(client, accepted)
                await Connection(client).serve()
            else:
                await self._turn_away(client, accepted)
        except (asyncio.CancelledError, Gone):
            client.channel.abort()
        except Exception as fault:
            client.channel.abort()
            logger.error("a connection ended by a fault", exc_info=fault)
        finally:
            try:
                await client.channel.close(CLOSE_SECONDS)
            finally:
                accepted.close()
                self._shared.places.leave(client)

    async def _open(self, client: Client, accepted: socket.socket) -> None:
        """Put the transport over the socket; with TLS after its handshake, for which no other connection waits."""
        tls: dict[str, Any] = {}
        if self._certificate is not None:
            seconds = self._shared.settings.tls_handshake_seconds
            tls = {
                "ssl": self._certificate.context,
                "ssl_handshake_timeout": seconds,
                "ssl_shutdown_timeout": CLOSE_SECONDS,
            }
        try:
            await self._loop.connect_accepted_socket(lambda: client.channel, accepted, **tls)
        except OSError as fault:
            reason = f"no TLS handshake: {fault.strerror or fault}" if tls else f"the socket failed: {fault}"
            client.lost(reason[:LONGEST_REASON])
            raise Gone from fault

    async def _turn_away(self, client: Client, accepted: socket.socket) -> None:
        """All places are at work: say so, unless that is said to many already, or would take a handshake."""
        if self._certificate is not None or len(self._tasks) - len(self._shared.places) > MOST_TURNED_AWAY:
            client.lost(FULL)
            return
        await self._open(client, accepted)
        await Connection(client).refuse(Refusal(UNAVAILABLE, FULL, retry=True))
