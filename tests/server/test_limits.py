"""Who may hold what, and for how long: connections, silence, answers that nobody reads, requests in the queue."""

import json
import socket
import time
from collections.abc import Iterable
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.server.conftest import Server, Start, problem_of, read_all, status_of

GET = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"
LARGE_ANSWER = 30_000_000


def answers(server: Server) -> bool:
    return server.ask("GET", "/healthz")[0] == 200


def is_closed(connection: socket.socket) -> bool:
    """Whether the server has closed it, waited for."""
    try:
        return read_all(connection) == b""
    except ConnectionResetError:
        return True


def small_window(server: Server) -> socket.socket:
    """A connection whose client takes little at a time."""
    connection = socket.socket()
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    connection.settimeout(30)
    connection.connect(("127.0.0.1", server.port))
    return connection


@pytest.mark.parametrize("sent", [b"", b"\r\n", GET], ids=["nothing", "an empty line", "after an answer"])
def test_a_silent_connection_ends(start: Start, sent: bytes) -> None:
    server = start(idle_seconds=0.3)
    with server.connect() as connection:
        connection.sendall(sent)
        answer = read_all(connection)

    assert (status_of(answer) == 200) if sent == GET else (answer == b"")


def test_100_silent_connections_keep_nobody_out(shared_server: Server) -> None:
    server = shared_server
    with ExitStack() as held:
        for _ in range(100):
            held.enter_context(server.connect())
        assert answers(server)


@pytest.mark.parametrize(
    "begun", [b"GET /healthz HT", b"POST /v1/echo HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9\r\n\r\nab"]
)
def test_half_requests_hold_no_thread(shared_server: Server, begun: bytes) -> None:
    server = shared_server
    with ExitStack() as held:
        for _ in range(100):
            held.enter_context(server.connect()).sendall(begun)
        assert answers(server)


def test_of_an_address_the_oldest_that_waits_for_its_client_goes(start: Start) -> None:
    server = start(max_connections_per_address=4)
    with ExitStack() as held:
        busy = held.enter_context(server.connect())
        busy.sendall(b"GET /v1/slow HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        assert server.line() == "begun"
        silent = []
        for _ in range(3):
            silent.append(held.enter_context(server.connect()))
            time.sleep(0.05)
        assert answers(server)

        assert is_closed(silent[0])
        assert len(read_all(busy)) > 300_000
        silent[2].sendall(GET)
        assert silent[2].recv(100).startswith(b"HTTP/1.1 200 ")
    line = server.logged(message="dropped")
    assert line["address"] == "127.0.0.1"
    assert "of an address was reached" in line["reason"]
    assert b'glycol_fleet_http_refusals_total{kind="dropped"} 1.0' in server.ask("GET", "/metrics")[2]


def test_of_all_connections_too(start: Start) -> None:
    server = start(max_connections=3)
    with ExitStack() as held:
        silent = [held.enter_context(server.connect()) for _ in range(3)]
        assert answers(server)
        assert is_closed(silent[0])
    assert "the limit of connections was reached" in server.logged(message="dropped")["reason"]


def test_where_all_are_at_work_a_newcomer_is_refused_for_the_moment(start: Start) -> None:
    server = start(max_connections_per_address=2)
    with ExitStack() as held:
        for _ in range(2):
            held.enter_context(server.connect()).sendall(b"GET /v1/slow HTTP/1.1\r\nHost: localhost\r\n\r\n")
            assert server.line() == "begun"
        status, _, body, headers = server.ask("GET", "/healthz")

    assert (status, headers["Retry-After"]) == (503, "1")
    assert server.logged(request_id=json.loads(body)["instance"])["address"] == "127.0.0.1"


def test_beyond_the_queue_a_request_is_refused_for_the_moment(start: Start) -> None:
    server = start(queue=1)
    with ExitStack() as held:
        asked = [held.enter_context(server.connect()) for _ in range(6)]
        for connection in asked:
            connection.sendall(b"GET /v1/slow HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        got = [read_all(connection) for connection in asked]

    assert sorted(status_of(answer) for answer in got) == [200] * 3 + [503] * 3
    refused = next(answer for answer in got if status_of(answer) == 503)
    assert b"Retry-After: 1\r\n" in refused
    assert problem_of(refused)["type"] == "/problems/unavailable"


@pytest.mark.parametrize("path", ["/v1/large", "/v1/pieces"])
def test_readers_that_do_not_read_hold_no_thread_and_no_memory_and_are_dropped(start: Start, path: str) -> None:
    server = start(stall_seconds=1)
    assert answers(server)
    before = megabytes(server)
    with ExitStack() as held:
        stalled = [held.enter_context(small_window(server)) for _ in range(8)]
        for connection in stalled:
            connection.sendall(f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        assert answers(server)
        while sum(line.get("reason") == "the client did not read its answer" for line in server.log_lines()) < 8:
            time.sleep(0.05)
        assert peak_megabytes(server) - before < 8 * LARGE_ANSWER / 1e6 / 2
        for connection in stalled:
            assert len(taken(connection)) < LARGE_ANSWER


def taken(connection: socket.socket) -> bytes:
    """What can still be read of an answer that was given up."""
    got = b""
    try:
        while piece := connection.recv(1 << 20):
            got += piece
    except ConnectionResetError:
        pass
    return got


def megabytes(server: Server, field: str = "VmRSS") -> float:
    status = Path(f"/proc/{server.process.pid}/status").read_text()
    return int(status.partition(f"{field}:")[2].split()[0]) / 1000


def peak_megabytes(server: Server) -> float:
    return megabytes(server, "VmHWM")


def test_a_slow_reader_that_goes_on_gets_everything(start: Start) -> None:
    server = start(stall_seconds=1)
    got = 0
    with small_window(server) as connection:
        connection.sendall(b"GET /v1/slow HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        while piece := connection.recv(16_384):
            got += len(piece)
            time.sleep(0.1)

    assert got > 300_000


def test_pipelined_requests_are_answered_in_their_order(shared_server: Server) -> None:
    asked = b"".join(b"GET /v1/seen HTTP/1.1\r\nHost: localhost\r\nX-Name: n%d\r\n\r\n" % n for n in range(1000))
    got = shared_server.raw(asked, end=True)

    places = [got.find(b'"HTTP_X_NAME":"n%d"' % n) for n in range(1000)]
    assert got.count(b"HTTP/1.1 200 OK\r\n") == 1000
    assert places == sorted(places)
    assert min(places) > 0


def test_pipelined_bodies_are_kept_apart(shared_server: Server) -> None:
    post = b"POST /v1/echo HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
    chunked = post + b"Transfer-Encoding: chunked\r\n\r\n"
    asked = (
        post + b'Content-Length: 5\r\n\r\n"abc"' + chunked + b'3\r\n"ab\r\n1\r\n"\r\n0\r\nX-Trailer: y\r\n\r\n' + GET
    )
    got = shared_server.raw(asked * 3, end=True)

    assert lengths(got) == [b'{"length":3}', b'{"length":2}', b'{"status":"ok"}'] * 3


def lengths(got: bytes) -> list[bytes]:
    """The bodies of small answers."""
    return [part.rpartition(b"\r\n\r\n")[2] for part in got.split(b"HTTP/1.1 200 OK")[1:]]


def test_a_connection_is_kept_by_http_1_1_alone(shared_server: Server) -> None:
    with shared_server.connect() as connection:
        for _ in range(3):
            connection.sendall(GET)
            assert b"connection: close" not in connection.recv(65536).lower()
    for asked in (b"GET /healthz HTTP/1.0\r\n\r\n", GET.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")):
        assert b"connection: close" in shared_server.raw(asked).lower()


def test_a_head_request_has_the_headers_of_the_answer_and_no_body(shared_server: Server) -> None:
    got = shared_server.raw(b"HEAD /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n" + GET, end=True)

    assert got.count(b"Content-Length: 15\r\n") == 2
    assert lengths(got) == [b"", b'{"status":"ok"}']


def test_a_fault_midway_is_no_part_of_an_answer_and_the_names_of_the_server_are_set(start: Start) -> None:
    server = start(allowed_hosts=["fleet.example"])
    status, kind, body, _ = server.ask("GET", "/v1/breaks")

    assert (status, kind) == (500, "application/problem+json")
    assert json.loads(body)["type"] == "/problems/internal"
    assert "planted" in server.log.read_text()

    for name in (b"fleet.example", b"Fleet.Example:8410", b"localhost", b"127.0.0.1", b"[::1]"):  # a further setting
        asked = b"GET /healthz HTTP/1.1\r\nHost: " + name + b"\r\n\r\n"
        assert status_of(server.raw(asked, end=True)) == 200
    assert status_of(server.raw(b"GET /healthz HTTP/1.1\r\nHost: fleet.example.org\r\n\r\n")) == 421


def test_the_server_does_not_name_itself(shared_server: Server) -> None:
    headers = shared_server.ask("GET", "/healthz")[3]

    assert "Server" not in headers
    assert headers["Date"].endswith(" GMT")  # RFC 9110, 6.6.1


@pytest.mark.parametrize(
    ("forwarded", "address"),
    [
        ([], "127.0.0.1"),
        (["198.51.100.7"], "198.51.100.7"),
        (["203.0.113.5, 198.51.100.7"], "198.51.100.7"),
        (["203.0.113.5", "198.51.100.7"], "198.51.100.7"),
        (["198.51.100.7, 127.0.0.1"], "198.51.100.7"),
        (["unknown"], "127.0.0.1"),
        (["2001:db8::7"], "2001:db8::7"),
    ],
)
def test_the_client_is_whom_a_trusted_proxy_names(proxied: Server, forwarded: Iterable[str], address: str) -> None:
    fields = "".join(f"X-Forwarded-For: {value}\r\n" for value in forwarded).encode()
    got = proxied.raw(b"GET /v1/seen HTTP/1.1\r\nHost: localhost\r\n" + fields + b"\r\n", end=True)

    assert f'"REMOTE_ADDR":"{address}"'.encode() in got
    assert proxied.logged(address=address)["status"] == 200
    refused = proxied.raw(b"GET /v1/seen HTTP/1.1\r\nHost: other.example\r\n" + fields + b"\r\n")
    assert proxied.logged(request_id=problem_of(refused)["instance"])["address"] == address


@pytest.fixture(scope="module")
def proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterable[Server]:
    """A server that trusts a proxy on this machine."""
    server = Server(tmp_path_factory.mktemp("proxied"), trusted_proxies=["127.0.0.0/8"], max_connections_per_address=3)
    yield server
    assert server.end()[1] == ""


def test_nobody_else_names_the_client(shared_server: Server) -> None:
    asked = b"GET /v1/seen HTTP/1.1\r\nHost: localhost\r\nX-Forwarded-For: 198.51.100.7\r\n\r\n"

    assert b'"REMOTE_ADDR":"127.0.0.1"' in shared_server.raw(asked, end=True)


@pytest.mark.parametrize(
    ("name", "forwarded", "scheme"),
    [
        ("proxied", "https", "https"),
        ("proxied", "http", "http"),
        ("proxied", "https, http", "http"),
        ("shared_server", "https", "http"),
    ],
)
def test_only_a_trusted_proxy_says_that_the_client_speaks_tls(request, name, forwarded, scheme) -> None:
    server: Server = request.getfixturevalue(name)
    asked = f"GET /v1/seen HTTP/1.1\r\nHost: localhost\r\nX-Forwarded-Proto: {forwarded}\r\n\r\n".encode()

    assert f'"wsgi.url_scheme":"{scheme}"'.encode() in server.raw(asked, end=True)


def test_behind_a_proxy_the_limit_is_that_of_the_client(proxied: Server) -> None:
    asked = b"GET /v1/slow HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nX-Forwarded-For: %b\r\n\r\n"
    with ExitStack() as held:
        kept = [held.enter_context(proxied.connect()) for _ in range(10)]  # of the proxy, idle
        asked_by = [b"198.51.100.7"] * 4 + [b"198.51.100.8"]
        for connection, address in zip(kept, asked_by, strict=False):
            connection.sendall(asked % address)
            time.sleep(0.05)
        got = [status_of(read_all(connection)) for connection in kept[:5]]

    assert got == [200, 200, 200, 503, 200]
