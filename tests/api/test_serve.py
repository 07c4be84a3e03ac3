"""The server on real sockets."""

import http.client
import json
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

PROGRAM = """
import sys, time
from pathlib import Path
from service.api import endpoint, serve, wire
from service.api.auth import OPEN
from service.app import create_app, open_database
from service.settings import Settings

home = Path(sys.argv[1])
settings = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home, max_import=8_000_000)
app = create_app(open_database(settings), settings)
routes = endpoint.Routes("toys")

@routes.get("/v1/slow", allow=OPEN, answers={200: None})
def slow():
    print("begun\\n", end="", flush=True)  # in one piece: two threads print
    time.sleep(0.7)
    return {"slow": "x" * 300_000}

@routes.post("/v1/echo", allow=OPEN, answers={200: None})
def echo():
    return {"length": len(wire.json_body())}

endpoint.register(app, [routes])
serve.serve(app, host="127.0.0.1", port=0, threads=2, largest_body=settings.max_import,
            ready=lambda host, port: print(port, flush=True))
print("ended", flush=True)
"""


HEAD = b"POST /v1/echo HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"


class Server:
    """A running server: its process and its port."""

    def __init__(self, home: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(home)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        self.port = int(self.line())

    def line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()

    def end(self) -> tuple[str, str]:
        self.process.send_signal(signal.SIGTERM)
        return self.process.communicate(timeout=20)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """A server that takes imports up to 8 MB, on two threads."""
    running = Server(tmp_path)
    yield running
    if running.process.poll() is None:
        running.process.kill()
    running.process.communicate()


def ask(port: int, method: str, path: str, body: bytes | None = None) -> tuple[int, str, bytes, dict[str, str]]:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
        connection.request(method, path, body, {"Content-Type": "application/json"})
        answer = connection.getresponse()
        return answer.status, answer.headers["Content-Type"], answer.read(), dict(answer.headers)


def raw(port: int, sent: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(sent)
        return connection.makefile("rb").read()


def test_a_body_of_20_mb_is_answered_by_a_problem_that_its_sender_sees(server: Server) -> None:
    status, kind, body, _ = ask(server.port, "POST", "/v1/echo", b'"' + b"x" * 20_000_000 + b'"')

    assert (status, kind) == (413, "application/problem+json")
    assert json.loads(body)["type"] == "/problems/too-large"


def test_a_body_said_to_be_of_a_terabyte_is_a_problem_at_once(server: Server) -> None:
    answer = raw(server.port, HEAD + b"Content-Length: 1000000000000\r\n\r\n")

    assert answer.startswith(b"HTTP/1.1 413 ")
    assert b"Content-Type: application/problem+json" in answer


def test_a_body_in_chunks_has_the_same_limit(server: Server) -> None:
    head = HEAD + b"Connection: close\r\nTransfer-Encoding: chunked\r\n\r\n"
    chunk = b"400000\r\n" + b" " * 0x400000 + b"\r\n"

    assert raw(server.port, head + chunk + b"0\r\n\r\n").startswith(b"HTTP/1.1 413 ")
    assert b'{"length":2}' in raw(server.port, head + b'4\r\n"ab"\r\n0\r\n\r\n')


def test_a_request_that_is_not_http_is_a_problem(server: Server) -> None:
    answer = raw(server.port, b"GET / HTTP/1.1\r\nHost: a\r\nContent-Length: x\r\n\r\n")

    assert answer.startswith(b"HTTP/1.1 400 ")
    assert b"application/problem+json" in answer


def test_the_server_does_not_name_itself(server: Server) -> None:
    assert "Server" not in ask(server.port, "GET", "/healthz")[3]


def test_what_was_asked_before_sigterm_is_answered_even_from_the_queue(server: Server) -> None:
    answers: list[tuple[int, int]] = []

    def slow() -> None:
        status, _, body, _ = ask(server.port, "GET", "/v1/slow")
        answers.append((status, len(body)))

    threads = [threading.Thread(target=slow) for _ in range(4)]
    for thread in threads:
        thread.start()
    begun = [server.line(), server.line()]
    time.sleep(0.2)  # long enough for the other two to be in the queue behind two busy threads
    rest, errors = server.end()
    for thread in threads:
        thread.join()

    assert begun == ["begun", "begun"]
    assert answers == [(200, 300_011)] * 4
    assert (rest.splitlines()[-1], errors, server.process.returncode) == ("ended", "", 0)


def test_an_idle_connection_does_not_hold_up_the_end(server: Server) -> None:
    with socket.create_connection(("127.0.0.1", server.port)) as connection:
        connection.sendall(b"GET /healthz HTTP/1.1\r\nHost: a\r\n\r\n")
        assert connection.recv(65536).startswith(b"HTTP/1.1 200 OK")
        server.process.send_signal(signal.SIGTERM)

        assert server.process.wait(timeout=5) == 0  # half of the grace time


def test_a_second_signal_ends_it_at_once(server: Server) -> None:
    asked = http.client.HTTPConnection("127.0.0.1", server.port)
    asked.request("GET", "/v1/slow")
    assert server.line() == "begun"
    server.process.send_signal(signal.SIGTERM)
    time.sleep(0.2)  # the first signal must have been taken
    server.process.send_signal(signal.SIGTERM)

    assert server.process.wait(timeout=5) == -signal.SIGTERM
    asked.close()
