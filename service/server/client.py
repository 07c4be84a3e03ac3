"""The other side of a connection: its address, its channel, and whose turn it is."""

import asyncio

from service.server.channel import Channel
from service.server.refusals import log_dropped
from service.server.shared import Shared

DRAIN_IDLE_SECONDS = 1.0


class Client:
    """`waiting`: it is the client's turn, since `since`; `idle`: no byte of a request has come.

    `counted` is false for a trusted proxy between two requests, which stands for no client then.
    """

    def __init__(self, shared: Shared, peer: str) -> None:
        self.shared = shared
        self.peer = peer
        self.address = peer
        self.counted = not shared.proxies.trust(peer)
        self.waiting = self.idle = True
        self.now = asyncio.get_running_loop().time
        self.since = self.now()
        self.task: asyncio.Task[None] | None = None
        self.channel = Channel(half_open=shared.scheme == "http", stall_seconds=shared.settings.stall_seconds)

    def turn(self, *, to_client: bool) -> None:
        """Whose turn it is, from now on."""
        self.waiting, self.since = to_client, self.now()

    def named(self, address: str) -> bool:
        """Whether another connection is allowed to the client that a trusted proxy named for this request."""
        self.address = address
        self.counted = address != self.peer
        return self.shared.places.allow(self)

    def between_requests(self) -> None:
        """Its turn; of a proxy nobody knows yet for whom."""
        self.address = self.peer
        self.counted = not self.shared.proxies.trust(self.peer)
        self.turn(to_client=True)

    def idle_seconds(self) -> float:
        """How long it may keep silent between two requests."""
        return DRAIN_IDLE_SECONDS if self.shared.draining else self.shared.settings.idle_seconds

    def check(self, now: float) -> None:
        """End the wait whose time is over."""
        self.channel.check(now)

    def hurry(self) -> None:
        """The server ends: a client that has sent nothing yet has a moment for its next request."""
        if self.idle:
            self.channel.deadline = min(self.channel.deadline, self.now() + DRAIN_IDLE_SECONDS)

    def drop(self, reason: str) -> None:
        """End the connection without an answer."""
        self.lost(reason)
        if self.task is not None:
            self.task.cancel()

    def lost(self, reason: str) -> None:
        """Log and count a connection that ends without an answer."""
        log_dropped(reason, address=self.address, count=self.shared.count)
