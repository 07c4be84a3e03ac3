"""Writes malformed requests to a real server: `python -m tests.fuzz_sockets [--requests N] [--seed S]`.

Each must be answered by 2xx, or by 4xx or 505 with a problem document, or the connection must end, within 2 s of the
client's end; nothing may be logged as an error. Ends with 1 when something else came.
"""

import argparse
import json
import random
import socket
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic

from tests.server.conftest import Server

SECONDS = 2.0
CLIENTS = 8
METHODS = (b"GET", b"POST", b"HEAD", b"PATCH", b"DELETE", b"OPTIONS", b"TRACE", b"get", b"", b"\xff", b"G(T")
TARGETS = (
    b"/healthz",
    b"/v1/echo",
    b"/v1/units?limit=2",
    b"/v1/imports",
    b"/v1/visits",
    b"/",
    b"*",
    b"//[x",
    b"/%00",
    b"/%zz",
    b"",
    b"http://[x/",
    b"http://localhost/healthz",
    b"http://localhost:99999999/",
    b"/\xff",
    b"/a b",
    b"/#",
    b"/v1/../healthz",
)
VERSIONS = (b"HTTP/1.1",) * 6 + (b"HTTP/1.0", b"HTTP/2.0", b"HTTP/1.9", b"HTTP/1.", b"http/1.1", b"", b"HTTP/11")
FIELDS = (
    b"Host: localhost",
    b"Host: evil.example",
    b"Host: [",
    b"Connection: close",
    b"Connection: upgrade",
    b"Expect: 100-continue",
    b"Content-Type: application/json",
    b"Transfer-Encoding: chunked",
    b"Transfer-Encoding: gzip",
    b"Transfer-Encoding:\x0bchunked",
    b"Content-Length: 0",
    b"Content-Length: 7",
    b"Content-Length: -1",
    b"Content-Length: 9999999999999999999",
    b"X: " + b" " * 9000 + b"x",
    b"Content-Length: " + b"1" * 5000,
    b"X" * 20000 + b": y",
    b" folded",
    b"X : y",
    b"X",
    b": y",
    b"X: \x00",
    b"X: \r y",
    b"X_Y: z",
    b"Authorization: Bearer x",
    b"Authorization: Basic \xe9",
    b"Upgrade: websocket",
    b"Cookie: a=b; c",
    b"TE: trailers",
    b"Range: bytes=0-",
)
BODIES = (
    b"",
    b"7",
    b'"abcd"x',
    b'7\r\n"abcde"\r\n0\r\n\r\n',
    b"0\r\n\r\n",
    b"zz\r\n",
    b"-1\r\n\r\n",
    b"0x7\r\n1234567\r\n0\r\n\r\n",
    b'7;a="\nb"\r\n1234567\r\n0\r\n\r\n',
    b"ffffffffffffffff\r\nx",
    b"11111111111111111\r\nx",
    b"3\r\nabcd\r\n0\r\n\r\n",
    b"0\r\nX: y\r\n\r\n",
    b"0\r\nX\r\n\r\n",
    b"x" * 3000,
    b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n" * 3,
    b"\n\n",
    b"\r\n" * 9,
)


def request(chance: random.Random, token: str) -> bytes:
    """A request of random parts, or a right one; a few bytes of some are changed, lost or doubled."""
    whole = _right(chance, token) if chance.random() < 0.5 else _wild(chance, token)
    return _damaged(chance, whole) if chance.random() < 0.4 else whole


def _right(chance: random.Random, token: str) -> bytes:
    """One or more requests as they should be, with at most one field too many."""
    host = b"Host: localhost\r\nAuthorization: Bearer " + token.encode()
    strange = b"\r\n" + chance.choice(FIELDS) if chance.random() < 0.2 else b""
    post = b"POST /v1/echo HTTP/1.1\r\n" + host + strange + b"\r\nContent-Type: application/json\r\n"
    text = b'"%s"' % (b"x" * chance.randint(0, 3000))
    cut = chance.randint(1, len(text) - 1)
    made = (
        post + b"Content-Length: %d\r\n\r\n" % len(text) + text,
        post + b"Transfer-Encoding: chunked\r\n\r\n" + _chunk(text[:cut]) + _chunk(text[cut:]) + b"0\r\n\r\n",
        b"GET /v1/units?limit=2 HTTP/1.1\r\n" + host + strange + b"\r\n\r\n",
    )
    return b"".join(chance.choices(made, k=chance.choice((1, 1, 1, 2, 5))))


def _chunk(data: bytes) -> bytes:
    return b"%x\r\n%b\r\n" % (len(data), data)


def _wild(chance: random.Random, token: str) -> bytes:
    method, target, version = chance.choice(METHODS), chance.choice(TARGETS), chance.choice(VERSIONS)
    fields = chance.sample(FIELDS, chance.randint(0, 4))
    if chance.random() < 0.7:
        fields.insert(0, b"Host: localhost")
    if chance.random() < 0.5:
        fields.append(f"Authorization: Bearer {token}".encode())
    if chance.random() < 0.02:
        fields += [b"X: y"] * 120
    chance.shuffle(fields)
    end = b"\r\n" if chance.random() < 0.95 else chance.choice((b"\n", b"\r", b"\r\r\n", b"\n\r"))
    return end.join([b" ".join((method, target, version)), *fields, b"", chance.choice(BODIES)])


def _damaged(chance: random.Random, whole: bytes) -> bytes:
    changed = bytearray(whole)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(changed) + 1)
        kind = chance.randrange(4)
        if kind == 0:
            changed[at : at + 1] = bytes([chance.randrange(256)])
        elif kind == 1:
            del changed[at : at + chance.randint(1, 20)]
        elif kind == 2:
            changed[at:at] = changed[max(0, at - 10) : at]
        else:
            del changed[at:]
    return bytes(changed)


def outcome(port: int, sent: bytes) -> str:
    """What became of a request: its last status, "closed", or what is wrong with the answer."""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
            connection.sendall(sent)
            connection.shutdown(socket.SHUT_WR)
            return judged(_answer(connection))
    except (ConnectionResetError, BrokenPipeError):
        return "reset"
    except TimeoutError:
        return "WRONG: no end in time"
    except OSError as fault:
        return f"reset: {fault.strerror}" if fault.errno == 107 else f"WRONG: {fault}"


def _answer(connection: socket.socket) -> bytes:
    got, until = b"", monotonic() + SECONDS
    while True:
        connection.settimeout(max(0.001, until - monotonic()))
        piece = connection.recv(65536)
        if not piece:
            return got
        got += piece


def judged(answer: bytes) -> str:
    """The status of the first answer that is no `100 Continue`, "closed" without one, "WRONG: ..." otherwise."""
    answer = answer.removeprefix(b"HTTP/1.1 100 \r\n\r\n")
    if not answer:
        return "closed"
    head, _, body = answer.partition(b"\r\n\r\n")
    status = int(head[9:12])
    if 200 <= status < 300:
        return str(status)
    if b"application/problem+json" not in head or not (400 <= status < 500 or status == 505):
        return f"WRONG: {head[:200]!r}"
    if body and not body.startswith((b'{"type":"/problems/', b"HTTP/1.1 ")):  # to HEAD there is none
        return f"WRONG: {body[:200]!r}"
    return str(status)


def run(server: Server, requests: int, seed: int) -> tuple[Counter[str], list[tuple[bytes, str]]]:
    """Send so many; how many of each outcome, and those that are wrong."""
    chance = random.Random(seed)
    made = [request(chance, server.tokens["owner"]) for _ in range(requests)]
    with ThreadPoolExecutor(CLIENTS) as clients:
        found = list(clients.map(lambda sent: outcome(server.port, sent), made))
    wrong = [(sent, what) for sent, what in zip(made, found, strict=True) if what.startswith("WRONG")]
    return Counter(found), wrong


def faults_logged(server: Server) -> list[str]:
    """Lines of the log that no request should cause."""
    lines = server.log.read_text().splitlines()
    return [line for line in lines if "Traceback" in line or '"level":"ERROR"' in line or not line.startswith("{")]


def main() -> None:
    """Start a server, send, print what came."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz_sockets", description=__doc__)
    parser.add_argument("--requests", type=int, default=11_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    start = monotonic()
    with TemporaryDirectory() as folder:
        server = Server(Path(folder), idle_seconds=1, max_connections_per_address=500)
        try:
            counts, wrong = run(server, options.requests, options.seed)
            faults = faults_logged(server)
        finally:
            server.process.terminate()
            server.process.communicate()
    print(json.dumps(dict(sorted(counts.items()))))
    for sent, what in wrong[:20]:
        print(what, repr(sent[:300]))
    print(*faults[:5], sep="\n")
    print(f"{options.requests} requests, {len(wrong)} wrong, {len(faults)} faults logged, {monotonic() - start:.0f} s")
    sys.exit(1 if wrong or faults else 0)


if __name__ == "__main__":
    main()
