"""What is counted in memory, each within a bound: failed tokens by address, refusals recorded, uses of tokens."""

import hashlib
from collections import OrderedDict
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_network
from threading import Lock
from typing import Generic, TypeVar

K = TypeVar("K")
V = TypeVar("V")
WINDOW = timedelta(minutes=1)
HOUR = timedelta(hours=1)
MOST_KEPT = 4096
MOST_REFUSALS = 30  # recorded of one token in an hour
IPV6_PREFIX = 64  # one subscriber's network


class Recent(OrderedDict[K, V], Generic[K, V]):
    """A dict of the newest entries; the oldest are forgotten."""

    def __setitem__(self, key: K, value: V) -> None:
        super().__setitem__(key, value)
        self.move_to_end(key)
        if len(self) > MOST_KEPT:
            self.popitem(last=False)


def network_of(address: str | None) -> str:
    """Whom attempts are counted for: an IPv4 address, or the network of an IPv6 address.

    >>> network_of("192.0.2.7"), network_of("2001:db8:1:2:3::4")
    ('192.0.2.7', '2001:db8:1:2::/64')
    """
    try:
        return str(ip_network((IPv6Address(address or ""), IPV6_PREFIX), strict=False))
    except ValueError:
        return address or ""


class Attempts:
    """Tokens that opened nothing, by address within a minute.

    A token that has opened before from an address stays usable there, so that one misset screen does not shut out the
    office behind the same address.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self._lock = Lock()
        self._failed: Recent[str, tuple[datetime, int]] = Recent()
        self._opened: Recent[tuple[str, bytes], None] = Recent()

    def wait(self, address: str, text: str, now: datetime) -> int:
        """How many seconds this token has to wait at this address; 0 when it may be tried."""
        with self._lock:
            since, count = self._failed.get(address, (now, 0))
            left = since + WINDOW - now
            if count < self.most or not timedelta() < left <= WINDOW or (address, _digest(text)) in self._opened:
                return 0
            return -(-left // timedelta(seconds=1))

    def failed(self, address: str, now: datetime) -> None:
        """Count a token that opens nothing."""
        with self._lock:
            since, count = self._failed.get(address, (now, 0))
            within = since <= now < since + WINDOW
            self._failed[address] = (since, count + 1) if within else (now, 1)

    def opened(self, address: str, text: str) -> None:
        """Remember a token that is valid."""
        with self._lock:
            self._opened[address, _digest(text)] = None


def _digest(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "backslashreplace")).digest()


class Refusals:
    """Which refusals are recorded: one for each token, route and reason in an hour, so many of a token at most."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._recorded: Recent[str, tuple[datetime, set[tuple[str, str]]]] = Recent()

    def is_new(self, token_id: str, route: str, reason: str, now: datetime) -> bool:
        """Whether this one is to be recorded; the same question again in that hour is answered with False."""
        with self._lock:
            since, recorded = self._recorded.get(token_id, (now, set()))
            if not since <= now < since + HOUR:
                since, recorded = now, set()
            if (route, reason) in recorded or len(recorded) >= MOST_REFUSALS:
                return False
            recorded.add((route, reason))
            self._recorded[token_id] = since, recorded
            return True


class Uses:
    """When this process last recorded the use of a token, so that it does so once an hour at most."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._recorded: Recent[str, datetime] = Recent()

    def is_due(self, token_id: str, last: datetime | None, now: datetime) -> bool:
        """Whether the use is to be recorded now; `last` is the one that the database holds."""
        with self._lock:
            latest = max(filter(None, (last, self._recorded.get(token_id))), default=None)
            if latest is not None and latest <= now < latest + HOUR:
                return False
            if latest is not None and now < latest:
                return False  # the clock was set back
            self._recorded[token_id] = now
            return True
