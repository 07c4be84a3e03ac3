"""Post a document to a webhook: signed, to a public address, without following a redirect, within a time.

Signature: the Standard Webhooks specification, version 1: HMAC-SHA256 over id, time and body, with the headers
webhook-id, webhook-timestamp and webhook-signature. A repeated post has the same id, by which a receiver knows it.
"""

import hmac
import socket
import ssl
import threading
from base64 import b64decode, b64encode
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import sha256
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import urlsplit

SECONDS = 10.0  # for each step: to connect, to send, to receive
DEADLINE = 20.0  # for all of it, the look-up of the name included [s]
MOST_READ = 64 * 1024
PREFIX = "whsec_"
PORTS = {"https": 443, "http": 80}
UNICAST = IPv6Network("2000::/3")  # RFC 4291, section 2.4, and the address space registry of IANA
NAT64 = IPv6Network("64:ff9b::/96")  # RFC 6052, section 2.1: an IPv4 address in its last 32 bits


class NotDelivered(Exception):
    """Why a document was not taken; the message names neither secret nor document."""


@dataclass(frozen=True, slots=True)
class Webhook:
    """Where documents are posted; `private` allows addresses that are not public, and plain HTTP."""

    url: str
    secret: str = field(repr=False)
    private: bool = False


def key_of(secret: str) -> bytes:
    """The key in a secret: Base64 behind the prefix, else the text itself."""
    if not secret.startswith(PREFIX):
        return secret.encode()
    try:
        return b64decode(secret.removeprefix(PREFIX), validate=True)
    except ValueError as fault:
        raise NotDelivered("the secret behind whsec_ is not Base64") from fault


def signature(secret: str, message_id: str, timestamp: int, body: bytes) -> str:
    """The value of webhook-signature."""
    signed = f"{message_id}.{timestamp}.".encode() + body
    return "v1," + b64encode(hmac.digest(key_of(secret), signed, sha256)).decode()


def post(to: Webhook, message_id: str, timestamp: int, body: bytes) -> None:
    """Post a JSON document once; NotDelivered unless it is taken with a status of success before the deadline.

    It is posted in a thread of its own: neither the look-up of a name nor an answer in drops can be bounded otherwise.
    """
    failures: list[Exception] = []
    opened: list[socket.socket] = []
    late = threading.Event()

    def note(connection: socket.socket) -> None:
        opened.append(connection)
        if late.is_set():
            raise TimeoutError("the deadline is over")

    def attempt() -> None:
        try:
            _post(to, message_id, timestamp, body, note)
        except Exception as failure:
            failures.append(failure)

    thread = threading.Thread(target=attempt, name="webhook", daemon=True)
    thread.start()
    thread.join(DEADLINE)
    if thread.is_alive():
        late.set()
        for each in opened:
            _end(each)
        raise NotDelivered(f"no answer within {DEADLINE:g} s")
    if failures:
        raise failures[0]


def _end(raw: socket.socket) -> None:
    """End a connection under another thread, which gets an error then."""
    try:
        raw.shutdown(socket.SHUT_RDWR)
    except OSError:  # the other side has ended it, or a TLS connection has taken its place
        return


def _post(to: Webhook, message_id: str, timestamp: int, body: bytes, opened: Callable[[socket.socket], None]) -> None:
    try:
        parts = urlsplit(to.url)
        port = parts.port or PORTS.get(parts.scheme, 0)
    except ValueError as fault:
        raise NotDelivered("the webhook has no valid address") from fault
    if parts.hostname is None or parts.scheme not in PORTS or (parts.scheme == "http" and not to.private):
        raise NotDelivered("the webhook needs an https address")
    headers = {
        "Content-Type": "application/json",
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": signature(to.secret, message_id, timestamp, body),
    }
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    try:
        connection = _connected(to, parts.scheme, parts.hostname, port, opened)
        try:
            connection.request("POST", path, body, headers)
            answer = connection.getresponse()
            answer.read1(MOST_READ)  # what there is: a long answer is not waited for
        finally:
            connection.close()
    except (OSError, HTTPException) as fault:
        raise NotDelivered(f"{parts.hostname}: {fault}") from fault
    except ValueError as fault:  # of a name that DNS cannot have, or a path that HTTP cannot have
        raise NotDelivered(f"{parts.hostname}: the address is not valid") from fault
    if not 200 <= answer.status < 300:
        raise NotDelivered(f"{parts.hostname} answered {answer.status}; redirects are not followed")


def _connected(
    to: Webhook, scheme: str, host: str, port: int, opened: Callable[[socket.socket], None]
) -> HTTPConnection:
    """A connection to the address that was checked: a name may lead elsewhere when it is asked for again."""
    address = _checked_address(host, port, private=to.private)
    made = HTTPConnection if scheme == "http" else HTTPSConnection
    connection = made(host, port, timeout=SECONDS)
    connection.sock = socket.create_connection((address, port), SECONDS)
    try:
        opened(connection.sock)
        if scheme == "https":
            context = ssl.create_default_context()
            connection.sock = context.wrap_socket(connection.sock, server_hostname=host, do_handshake_on_connect=False)
            opened(connection.sock)
            connection.sock.do_handshake()
    except OSError:
        connection.close()
        raise
    return connection


def _checked_address(host: str, port: int, *, private: bool) -> str:
    """The first address of a host; refused where one of them is not public."""
    found = [str(each[4][0]) for each in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
    closed = [text for text in found if not is_public(text)]
    if closed and not private:
        raise NotDelivered(f"{host} leads to {closed[0]}, which is not a public address")
    return found[0]


def is_public(text: str) -> bool:
    """Whether an address is one of the public internet; of one that holds an IPv4 address, whether that is.

    >>> [is_public(each) for each in ("1.1.1.1", "64:ff9b::1.1.1.1", "64:ff9b::10.0.0.1", "2002:a00:1::1", "224.0.0.1")]
    [True, True, False, False, False]
    """
    address = ip_address(text.partition("%")[0])
    if isinstance(address, IPv6Address):
        inside = IPv4Address(int(address) & 0xFFFFFFFF) if address in NAT64 else address.ipv4_mapped
        if inside is None:
            return address.is_global and address in UNICAST and address.sixtofour is None
        address = inside
    return address.is_global and not address.is_multicast
