"""Which names the server answers to, and whose word about a client's address it takes."""

from collections.abc import Iterable
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network


class Hosts:
    """The names in Host that are answered: any IP address, localhost, and those given.

    A page of another site whose name was made to lead here cannot speak to us: its browser sends that site's name.

    >>> hosts = Hosts(["fleet.example"])
    >>> [hosts.allow(name) for name in ("192.0.2.1:8410", "[::1]", "Fleet.Example.:443", "other.example", None)]
    [True, True, True, False, True]
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._names = frozenset(name.lower().rstrip(".") for name in names) | {"localhost"}

    def allow(self, host: str | None) -> bool:
        """Whether this value of Host is answered; an HTTP/1.0 request may have none."""
        if host is None:
            return True
        name = host.partition("]")[0].lstrip("[") if host.startswith("[") else host.partition(":")[0]
        return name.lower().rstrip(".") in self._names or _parsed(name) is not None


class Proxies:
    """The proxies whose X-Forwarded-For is believed.

    >>> proxies = Proxies(["10.0.0.0/8"])
    >>> proxies.client("10.0.0.1", "192.0.2.1, 198.51.100.7, 10.0.0.9"), proxies.client("192.0.2.1", "198.51.100.7")
    ('198.51.100.7', '192.0.2.1')
    """

    def __init__(self, networks: Iterable[str]) -> None:
        self._networks = tuple(ip_network(each) for each in networks)

    def trust(self, address: str) -> bool:
        """Whether this address is one of them."""
        known = _parsed(address) if self._networks else None
        return known is not None and any(known in network for network in self._networks)

    def client(self, peer: str, forwarded: str) -> str:
        """The client: the last address of the list that is no trusted proxy; the peer itself if it is none."""
        address = peer
        for text in reversed(forwarded.split(",")):
            if not self.trust(address) or _parsed(text.strip()) is None:
                break
            address = text.strip()
        return address


def _parsed(text: str) -> IPv4Address | IPv6Address | None:
    try:
        return ip_address(text)
    except ValueError:
        return None
