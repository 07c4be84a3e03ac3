"""Bodies: who may send one is decided before it is read, one that is cut off is never used, memory is bounded."""

import json
import socket
import time
from pathlib import Path

import pytest

from tests.server.conftest import Server, Start, problem_of, read_all, status_of

HEAD = b"POST /v1/echo HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
OWNED = b"POST /v1/owned HTTP/1.1\r\nHost: localhost\r\n"
CHUNKED = b"Transfer-Encoding: chunked\r\n\r\n"
IMPORT = b"POST /v1/imports HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/x-ndjson\r\n"


def authorized(server: Server, role: str) -> bytes:
    return f"Authorization: Bearer {server.tokens[role]}\r\n".encode()


def lines(named: str) -> bytes:
    """40 records, each of which could be stored."""
    made = ({"record": "customer", "code": f"{named}-{n}", "name": f"Customer {n}"} for n in range(40))
    return b"".join(json.dumps(record).encode() + b"\n" for record in made)


def first_answer(connection: socket.socket) -> bytes:
    """What has come after the first bytes of an answer; the connection stays open."""
    got = b""
    while b"\r\n\r\n" not in got:
        piece = connection.recv(65536)
        assert piece, "closed without an answer"
        got += piece
    return got


def sent_before_the_answer(connection: socket.socket, piece: bytes, most: int) -> int:
    """Send until the server answers; how many bytes that took."""
    connection.setblocking(False)
    sent, until = 0, time.monotonic() + 30
    while sent < most and time.monotonic() < until:
        try:
            if connection.recv(1, socket.MSG_PEEK):
                break
        except BlockingIOError:
            pass
        try:
            sent += connection.send(piece)
        except BlockingIOError:
            time.sleep(0.001)
    connection.setblocking(True)
    connection.settimeout(30)
    return sent


LARGE = 120_000_000
REFUSED = {
    "no token": (OWNED, None, 401),
    "false token": (OWNED + b"Authorization: Bearer gf_0_x\r\n", None, 401),
    "another role": (OWNED, "technician", 403),
    "too large": (OWNED, "owner", 413),
    "no such path": (b"POST /v1/nothing HTTP/1.1\r\nHost: localhost\r\n", "owner", 404),
    "no such method": (b"POST /healthz HTTP/1.1\r\nHost: localhost\r\n", "owner", 405),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_large_body_is_refused_by_its_header(shared_server: Server, name: str) -> None:
    head, role, status = REFUSED[name]
    head += authorized(shared_server, role) if role else b""
    with shared_server.connect() as connection:
        connection.sendall(head + b"Content-Length: %d\r\n\r\n" % LARGE)
        sent = sent_before_the_answer(connection, b"x" * 65536, LARGE)
        answer = read_all(connection)

    assert sent < 16_000_000  # what the buffers of both sides take
    assert status_of(answer) == status
    assert problem_of(answer)["status"] == status
    line = shared_server.logged(request_id=problem_of(answer)["instance"])
    assert (line["address"], line["status"]) == ("127.0.0.1", status)


@pytest.mark.parametrize("name", [name for name in REFUSED if name != "too large"])
def test_nothing_of_a_refused_body_needs_to_come(shared_server: Server, name: str) -> None:
    head, role, status = REFUSED[name]
    head += authorized(shared_server, role) if role else b""
    for framing in (b"Content-Length: 20\r\n\r\n", CHUNKED, b"Expect: 100-continue\r\nContent-Length: 20\r\n\r\n"):
        with shared_server.connect() as connection:
            connection.sendall(head + framing)
            assert status_of(first_answer(connection)) == status


def test_continue_is_said_to_those_who_may_send(shared_server: Server) -> None:
    with shared_server.connect() as connection:
        connection.sendall(
            OWNED + authorized(shared_server, "owner") + b"Expect: 100-continue\r\nContent-Length: 3\r\n\r\n"
        )
        assert first_answer(connection).startswith(b"HTTP/1.1 100 ")
        connection.sendall(b"abc")
        assert b'{"length":3}' in first_answer(connection)


def test_a_token_that_was_revoked_sends_no_further_body(shared_server: Server) -> None:
    made = json.loads(
        shared_server.ask("POST", "/v1/tokens", b'{"name": "x", "role": "owner", "units_shown": "si"}', "owner")[2]
    )
    request = OWNED + f"Authorization: Bearer {made['token']}\r\nContent-Length: 3\r\n\r\n".encode()
    with shared_server.connect() as kept:
        kept.sendall(request)
        time.sleep(0.1)  # the header alone is decided on
        kept.sendall(b"abc")
        assert status_of(first_answer(kept)) == 200
        assert shared_server.ask("DELETE", f"/v1/tokens/{made['id']}", role="owner")[0] == 204
        kept.sendall(request)
        assert status_of(first_answer(kept)) == 401


@pytest.mark.parametrize("framing", ["length", "chunked", "chunked, bad size", "chunked, no last chunk"])
@pytest.mark.parametrize("reset", [False, True])
def test_an_import_that_was_cut_off_at_a_line_end_is_not_used(shared_server: Server, framing: str, reset: bool) -> None:
    server = shared_server
    whole = lines("cut")
    part = b"".join(whole.splitlines(keepends=True)[:21])
    head = IMPORT + authorized(server, "owner")
    chunk = b"%x\r\n%b\r\n" % (len(part), part)
    sent = {
        "length": head + b"Content-Length: %d\r\n\r\n" % len(whole) + part,
        "chunked": head + CHUNKED + b"%x\r\n" % len(whole) + part,
        "chunked, bad size": head + CHUNKED + chunk + b"zz\r\n",
        "chunked, no last chunk": head + CHUNKED + chunk,
    }[framing]
    if reset:
        with server.connect() as connection:
            connection.sendall(sent)
    else:
        assert status_of(server.raw(sent, end=True)) == 400

    assert server.ask("GET", "/v1/customers/cut-0", role="owner")[0] == 404


def test_a_whole_import_is_used_in_either_framing(shared_server: Server) -> None:
    server = shared_server
    whole = lines("whole")
    head = IMPORT + authorized(server, "owner") + b"Connection: close\r\n"
    chunked = b"".join(b"%x\r\n%b\r\n" % (len(line), line) for line in whole.splitlines(keepends=True))

    assert status_of(server.raw(head + b"Content-Length: %d\r\n\r\n" % len(whole) + whole)) == 201
    assert b'"unchanged":{"customer":40}' in server.raw(head + CHUNKED + chunked + b"0\r\n\r\n")


def test_a_body_of_20_mb_is_answered_by_a_problem_that_its_sender_sees(shared_server: Server) -> None:
    status, kind, body, _ = shared_server.ask("POST", "/v1/echo", b'"' + b"x" * 20_000_000 + b'"')

    assert (status, kind) == (413, "application/problem+json")
    assert json.loads(body)["type"] == "/problems/too-large"


def test_a_body_said_to_be_of_a_terabyte_is_a_problem_at_once(shared_server: Server) -> None:
    answer = shared_server.raw(HEAD + b"Content-Length: 1000000000000\r\n\r\n")

    assert status_of(answer) == 413
    assert b"Content-Type: application/problem+json" in answer


def test_a_body_in_chunks_has_the_same_limit(shared_server: Server) -> None:
    head = HEAD + b"Connection: close\r\n" + CHUNKED
    chunk = b"400000\r\n" + b" " * 0x400000 + b"\r\n"

    assert status_of(shared_server.raw(head + chunk + b"0\r\n\r\n")) == 413
    assert b'{"length":2}' in shared_server.raw(head + b'4\r\n"ab"\r\n0\r\n\r\n')


def test_a_body_that_drips_is_ended(start: Start) -> None:
    server = start(body_seconds=0.5, body_rate=1_000_000)
    with server.connect() as connection:
        connection.sendall(OWNED + authorized(server, "owner") + b"Content-Length: 100000\r\n\r\n")
        answer = drip(connection, b"x")

    assert status_of(answer) == 408
    assert problem_of(answer)["type"] == "/problems/too-slow"


def test_a_header_that_drips_is_ended(start: Start) -> None:
    server = start(header_seconds=0.5)
    with server.connect() as connection:
        connection.sendall(b"GET /healthz HTTP/1.1\r\nX-Name: ")
        answer = drip(connection, b"x")

    assert status_of(answer) == 408
    assert server.logged(status=408)["reason"] == problem_of(answer)["detail"]


def drip(connection: socket.socket, byte: bytes) -> bytes:
    """Send a byte every 50 ms until the server answers."""
    connection.settimeout(0.05)
    for _ in range(600):
        try:
            if connection.recv(1, socket.MSG_PEEK):
                break
        except TimeoutError:
            connection.send(byte)
    connection.settimeout(30)
    return read_all(connection)


def test_a_body_that_keeps_the_rate_may_take_longer(start: Start) -> None:
    server = start(body_seconds=1, body_rate=1000)
    body = b"x" * 3000
    with server.connect() as connection:
        connection.sendall(OWNED + authorized(server, "owner") + b"Content-Length: 3000\r\n\r\n")
        for n in range(0, 3000, 300):
            connection.sendall(body[n : n + 300])
            time.sleep(0.15)
        assert b'{"length":3000}' in first_answer(connection)


def test_beyond_the_budget_a_body_is_refused_for_the_moment(start: Start) -> None:
    server = start(body_memory=1_500_000)
    status, _, body, headers = server.ask("POST", "/v1/owned", b"x" * 1_900_000, "owner")

    assert (status, headers["Retry-After"]) == (503, "1")
    assert json.loads(body)["type"] == "/problems/unavailable"
    assert server.ask("POST", "/v1/owned", b"x" * 1_400_000, "owner")[0] == 200  # by a file, and then read
    assert server.ask("POST", "/v1/owned", b"x" * 1_400_000, "owner")[0] == 200  # the room was given back


def test_a_large_body_lies_in_a_file_without_a_name(start: Start) -> None:
    server = start()
    folders = [Path("/tmp"), server.home]
    before = [sorted(folder.iterdir()) for folder in folders]
    with server.connect() as connection:
        connection.sendall(IMPORT + authorized(server, "owner") + b"Content-Length: 7000000\r\n\r\n")
        connection.sendall(b"\n" * 6_000_000)
        held = wait_for_file(server)
        during = [sorted(folder.iterdir()) for folder in folders]

    assert held
    assert [set(now) - set(then) for now, then in zip(during, before, strict=True)][1] == set()


def wait_for_file(server: Server) -> bool:
    """Whether the process holds a deleted file of a body."""
    folder = Path(f"/proc/{server.process.pid}/fd")
    until = time.monotonic() + 30
    while time.monotonic() < until:
        if any("(deleted)" in str(link.readlink()) for link in folder.iterdir() if link.is_symlink()):
            return True
        time.sleep(0.02)
    return False


def test_what_the_application_reads_is_what_was_sent(shared_server: Server) -> None:
    for size in (1, 65_535, 65_536, 65_537, 1_048_576, 1_900_000):
        assert shared_server.ask("POST", "/v1/owned", b"x" * size, "owner")[2] == b'{"length":%d}' % size
