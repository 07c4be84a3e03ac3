"""The end of a server: what was asked is answered, what keeps silent is closed, a second signal ends at once."""

import http.client
import signal
import socket
import threading
import time
from contextlib import ExitStack

import pytest

from service.server.listening import close, listen
from tests.server.conftest import PATIENCE, Server, Start, read_all, status_of

GET = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"
SLOW = b"GET /v1/slow HTTP/1.1\r\nHost: localhost\r\n\r\n"
POST = b"POST /v1/echo HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 5\r\n\r\n"


def test_what_was_asked_before_sigterm_is_answered_even_from_the_queue(start: Start) -> None:
    server = start()
    with ExitStack() as held:
        asked = [held.enter_context(server.connect()) for _ in range(4)]
        for connection in asked:
            connection.sendall(SLOW)
        assert [server.line(), server.line()] == ["begun", "begun"]
        time.sleep(0.2)  # long enough for the other two to be in the queue behind two busy threads
        rest, faults = server.end()
        answers = [read_all(connection) for connection in asked]

    assert [(status_of(answer), b"\r\nConnection: close\r\n" in answer) for answer in answers] == [(200, True)] * 4
    assert all(len(answer) > 300_000 for answer in answers)
    assert (rest.splitlines()[-1], faults, server.process.returncode) == ("ended", "", 0)


def test_under_load_no_request_is_cut_off(start: Start) -> None:
    """Kept connections that ask without pause end with an answer that says so."""
    server = start()
    ended: list[str] = []

    def ask() -> None:
        with server.connect() as connection:
            while True:
                try:
                    connection.sendall(GET)
                    answer = connection.recv(65536)
                except OSError as fault:
                    return ended.append(f"cut off: {fault}")
                if b"\r\nConnection: close\r\n" in answer or status_of(answer) != 200:
                    return ended.append("said so" if status_of(answer) == 200 else "refused")

    clients = [threading.Thread(target=ask) for _ in range(16)]
    for client in clients:
        client.start()
    time.sleep(0.5)
    server.end()
    for client in clients:
        client.join(PATIENCE)

    assert ended == ["said so"] * 16


def test_a_body_that_was_begun_is_waited_for(start: Start) -> None:
    server = start()
    with server.connect() as body, server.connect() as head, server.connect() as kept:
        body.sendall(POST + b'"a')
        head.sendall(GET[:20])
        kept.sendall(GET)
        assert kept.recv(65536).startswith(b"HTTP/1.1 200 ")
        server.process.send_signal(signal.SIGTERM)
        time.sleep(0.3)
        body.sendall(b'bc"')
        head.sendall(GET[20:])
        kept.sendall(GET)  # of a client that has not heard of the end
        answers = [read_all(connection) for connection in (body, head, kept)]

    assert [(status_of(answer), b"\r\nConnection: close\r\n" in answer) for answer in answers] == [(200, True)] * 3
    assert server.process.wait(PATIENCE) == 0


def test_what_has_been_pipelined_is_answered_to_its_end(start: Start) -> None:
    server = start()
    with server.connect() as connection:
        connection.sendall(SLOW + GET * 5)
        assert server.line() == "begun"
        server.process.send_signal(signal.SIGTERM)
        answer = read_all(connection)

    assert answer.count(b"HTTP/1.1 200 OK\r\n") == 6
    assert answer.count(b"\r\nConnection: close\r\n") == 1


def test_an_idle_connection_does_not_hold_up_the_end(start: Start) -> None:
    server = start(grace_seconds=60)
    with server.connect() as connection:
        connection.sendall(GET)
        assert connection.recv(65536).startswith(b"HTTP/1.1 200 OK")
        server.process.send_signal(signal.SIGTERM)

        assert server.process.wait(PATIENCE) == 0


def test_after_the_grace_it_ends_whatever_is_under_way(start: Start) -> None:
    server = start(grace_seconds=0.5)
    with server.connect() as endless, server.connect() as half:
        endless.sendall(b"GET /v1/endless HTTP/1.1\r\nHost: localhost\r\n\r\n")
        half.sendall(GET[:20])
        assert server.line() == "begun"
        server.process.send_signal(signal.SIGTERM)

        assert server.process.wait(PATIENCE) == 0
    assert server.logged(reason="the server ended")["address"] == "127.0.0.1"


def test_a_second_signal_ends_it_at_once(start: Start) -> None:
    server = start()
    asked = http.client.HTTPConnection("127.0.0.1", server.port)
    asked.request("GET", "/v1/endless")
    assert server.line() == "begun"
    server.process.send_signal(signal.SIGTERM)
    wait_until_closed(server)  # the first signal must have been taken
    server.process.send_signal(signal.SIGTERM)

    assert server.process.wait(PATIENCE) == -signal.SIGTERM
    asked.close()


def wait_until_closed(server: Server) -> None:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        try:
            server.connect().close()
        except ConnectionRefusedError:
            return
        time.sleep(0.02)
    raise AssertionError("the server still takes connections")


def test_a_port_in_use_is_refused() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(OSError, match="in use"):
        listen("127.0.0.1", taken.getsockname()[1])


def test_all_addresses_of_a_name_share_one_port() -> None:
    listeners = listen("localhost", 0)

    assert len({listener.getsockname()[1] for listener in listeners}) == 1
    close(listeners)
