"""A real server in a process of its own, with settings by test, and what it logged."""

import http.client
import json
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

PATIENCE = 30.0  # [s] a test waits at most so long for anything
PROGRAM = Path(__file__).with_name("program.py")
Start = Callable[..., "Server"]


class Server:
    """A running server: its process, port, tokens and log."""

    def __init__(self, home: Path, **settings: Any) -> None:
        self.log = home / "log"
        self.home = home
        with self.log.open("wb") as log:
            self.process = subprocess.Popen(
                [sys.executable, str(PROGRAM), str(home), json.dumps(settings)],
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
                cwd=Path(__file__).parents[2],
            )
        first = self.line()
        if not first:
            self.process.communicate()
            raise AssertionError(self.log.read_text())
        started = json.loads(first)
        self.port: int = started["port"]
        self.tokens: dict[str, str] = started["tokens"]

    def line(self) -> str:
        """The next line that the program printed."""
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()

    def connect(self, timeout: float = PATIENCE) -> socket.socket:
        """A new connection."""
        return socket.create_connection(("127.0.0.1", self.port), timeout=timeout)

    def raw(self, sent: bytes, *, end: bool = False) -> bytes:
        """Everything that is answered to these bytes until the server closes."""
        with self.connect() as connection:
            connection.sendall(sent)
            if end:
                connection.shutdown(socket.SHUT_WR)
            return read_all(connection)

    def ask(
        self, method: str, path: str, body: bytes | None = None, role: str | None = None
    ) -> tuple[int, str, bytes, dict[str, str]]:
        """Status, media type, body and headers of one answer."""
        headers = {"Content-Type": "application/json"}
        if role:
            headers["Authorization"] = f"Bearer {self.tokens[role]}"
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)) as connection:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            return answer.status, answer.headers["Content-Type"], answer.read(), dict(answer.headers)

    def log_lines(self) -> list[dict[str, Any]]:
        """What was logged so far."""
        return [json.loads(line) for line in self.log.read_text().splitlines() if line.startswith("{")]

    def logged(self, **fields: Any) -> dict[str, Any]:
        """The first line with these fields, waited for."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            for line in self.log_lines():
                if all(line.get(name) == value for name, value in fields.items()):
                    return line
            time.sleep(0.02)
        raise AssertionError(f"no line with {fields} in {self.log.read_text()[-3000:]}")

    def end(self) -> tuple[str, str]:
        """Ask it to end; what it printed since, and what it logged that is no request."""
        self.process.send_signal(signal.SIGTERM)
        rest, _ = self.process.communicate(timeout=PATIENCE)
        faults = [line for line in self.log.read_text().splitlines() if "glycol_fleet.access" not in line]
        return rest, "\n".join(faults)


def read_all(connection: socket.socket | ssl.SSLSocket) -> bytes:
    """What comes until the other side closes."""
    got = []
    while piece := connection.recv(1 << 20):
        got.append(piece)
    return b"".join(got)


def status_of(answer: bytes) -> int:
    """The status of an answer."""
    return int(answer.split(b" ", 2)[1])


def problem_of(answer: bytes) -> dict[str, Any]:
    """The problem document of an answer, which is the last."""
    head, _, body = answer.partition(b"\r\n\r\n")
    assert b"content-type: application/problem+json" in head.lower()
    document: dict[str, Any] = json.loads(body)
    return document


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Starts servers; a test ends or forgets them."""
    running: list[Server] = []

    def run(**settings: Any) -> Server:
        home = tmp_path / f"server-{len(running)}"
        home.mkdir()
        running.append(Server(home, **settings))
        return running[-1]

    yield run
    for server in running:
        if server.process.poll() is None:
            server.process.kill()
        server.process.communicate()


@pytest.fixture(scope="session")
def shared_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One server with the default limits, for what leaves nothing behind."""
    server = Server(tmp_path_factory.mktemp("shared"), max_connections_per_address=500)
    yield server
    _, faults = server.end()
    assert faults == ""
