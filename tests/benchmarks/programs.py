"""The product as its users run it: the command line and the server, each a process of its own, of one commit."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from time import perf_counter, sleep

PATIENCE = 60.0  # [s] until a server that has not answered is given up
LISTENING = re.compile(r"Serving on http://[\d.]+:(\d+)")


def environment(database: Path) -> dict[str, str]:
    """The environment of a process whose database is this file."""
    ours = {name: value for name, value in os.environ.items() if not name.startswith("GLYCOL_FLEET_")}
    return ours | {"GLYCOL_FLEET_DATABASE_URL": f"sqlite:///{database}", "GLYCOL_FLEET_HOME": str(database.parent)}


@dataclass(frozen=True, slots=True)
class Server:
    """A running server, an owner's token for it, and how long it took from its start to its first answer [s]."""

    process: subprocess.Popen[bytes]
    port: int
    token: str
    seconds_to_answer: float

    def request(self, method: str, path: str, body: bytes = b"") -> bytes:
        """The bytes of a request, ready to be sent."""
        head = f"{method} {path} HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {self.token}\r\n"
        if body:
            head += f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n"
        return head.encode() + b"\r\n" + body

    def get(self, path: str) -> bytes:
        """The body of an answer that must be 200."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        try:
            connection.request("GET", path, headers={"Authorization": f"Bearer {self.token}"})
            answer = connection.getresponse()
            body = answer.read()
        finally:
            connection.close()
        if answer.status != 200:
            raise RuntimeError(f"GET {path}: {answer.status} {body[:300]!r}")
        return body

    def processor_seconds(self) -> float:
        """The processor time that it has used [s]."""
        user, system = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()[11:13]
        return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")

    def megabytes(self) -> float:
        """The memory that it holds, resident [MB]."""
        return megabytes(self.process.pid)


@dataclass(frozen=True, slots=True)
class Checkout:
    """The folder of a commit, and the Python of its own environment."""

    folder: Path
    python: str

    def run(self, *arguments: str, database: Path | None = None) -> str:
        """Run this Python in the folder to its end; what it printed."""
        variables = None if database is None else environment(database)
        run = subprocess.run(
            (self.python, *arguments), cwd=self.folder, env=variables, capture_output=True, text=True, check=False
        )
        if run.returncode:
            raise RuntimeError(f"{' '.join(arguments)[:200]}: {run.stderr[-2000:]}")
        return run.stdout

    def command(self, database: Path, *arguments: str) -> str:
        """Run a command of the product to its end; what it printed."""
        return self.run("-m", "service", *arguments, database=database)

    def seconds_of(self, *arguments: str) -> float:
        """How long a process of this Python takes from its start to its end [s]."""
        start = perf_counter()
        self.run(*arguments)
        return perf_counter() - start

    @contextmanager
    def serving(self, database: Path) -> Iterator[Server]:
        """A server on this file, as `glycol-fleet serve` starts it, ended politely."""
        token = self.command(database, "token", "create", "--role", "owner", "--name", "benchmark").strip()
        serve = (self.python, "-m", "service", "serve", "--port", "0")
        log = database.with_suffix(".log")
        with log.open("wb") as errors:
            start = perf_counter()
            process = subprocess.Popen(serve, cwd=self.folder, env=environment(database), stderr=errors)
            try:
                port = _port(process, log, start)
                _first_answer(port, start)
                yield Server(process, port, token, perf_counter() - start)
            except BaseException as error:
                error.add_note("\n".join(line[:4000] for line in log.read_text().splitlines() if "ERROR" in line))
                raise
            finally:
                process.terminate()
                process.wait(PATIENCE)


OURS = Checkout(Path(__file__).parents[2], sys.executable)


def megabytes(process: int | str = "self") -> float:
    """The memory that a process holds, resident [MB]."""
    status = Path(f"/proc/{process}/status").read_text()
    return int(re.findall(r"VmRSS:\s+(\d+) kB", status)[0]) / 1000


def _port(process: subprocess.Popen[bytes], log: Path, start: float) -> int:
    while perf_counter() < start + PATIENCE and process.poll() is None:
        if found := LISTENING.search(log.read_text()):
            return int(found[1])
        sleep(0.002)
    raise RuntimeError(f"the server did not start: {log.read_text()[-2000:]}")


def _first_answer(port: int, start: float) -> None:
    while perf_counter() < start + PATIENCE:
        connection = HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
        try:
            connection.request("GET", "/healthz")
            if connection.getresponse().status == 200:
                return
        except (OSError, HTTPException):
            sleep(0.002)
        finally:
            connection.close()
    raise RuntimeError("the server does not answer")
