"""The connections that are held: how many in all and of each address, and who has to go for a newcomer."""

from collections.abc import Iterator
from typing import Protocol

from service.api.limits import network_of


class Held(Protocol):
    """What the places need of a connection."""

    address: str
    counted: bool
    waiting: bool
    since: float

    def hurry(self) -> None:
        """The server ends: wait no longer for a request that has not begun."""

    def check(self, now: float) -> None:
        """End its wait if the time for it is over."""

    def drop(self, reason: str) -> None:
        """End it without an answer."""


class Places:
    """The connections held. One that is not `counted`, of a trusted proxy between two requests, has no address yet."""

    def __init__(self, most: int, most_of_address: int) -> None:
        self._most = most
        self._most_of_address = most_of_address
        self._held: set[Held] = set()

    def __iter__(self) -> Iterator[Held]:
        return iter(tuple(self._held))

    def __len__(self) -> int:
        return len(self._held)

    def enter(self, connection: Held) -> bool:
        """Whether the connection gets a place; where a limit is reached, the oldest that waits for its client goes."""
        allowed = self.allow(connection) and self._room(list(self._held), self._most, "the limit of connections")
        if allowed:
            self._held.add(connection)
        return allowed

    def allow(self, connection: Held) -> bool:
        """Whether its address may have one more."""
        if not connection.counted:
            return True
        of = network_of(connection.address)
        others = (each for each in self._held if each.counted and each is not connection)
        same = [each for each in others if network_of(each.address) == of]
        return self._room(same, self._most_of_address, "the limit of connections of an address")

    def leave(self, connection: Held) -> None:
        """Give the place up."""
        self._held.discard(connection)

    def _room(self, held: list[Held], most: int, limit: str) -> bool:
        if len(held) < most:
            return True
        waiting = [each for each in held if each.waiting]
        if not waiting:
            return False
        oldest = min(waiting, key=lambda each: each.since)
        self._held.discard(oldest)
        oldest.drop(f"{limit} was reached")
        return True
