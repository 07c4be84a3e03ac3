"""A client that costs little: one process, prepared bytes, kept connections, one loop."""

import gc
import multiprocessing
import selectors
import socket
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from time import perf_counter, sleep

FORK = multiprocessing.get_context("fork")
PATIENCE = 60.0  # [s] for one answer


@dataclass(slots=True)
class Outcome:
    """What a client saw: how long each answer took [s], how long it all took [s], and the answers that were no 2xx."""

    latencies: list[float] = field(default_factory=list)
    seconds: float = 0.0
    refusals: list[bytes] = field(default_factory=list)

    @property
    def rate(self) -> float:
        """Answers in a second."""
        return len(self.latencies) / self.seconds


class Client:
    """A client at work in a process of its own."""

    def __init__(self, port: int, requests: Sequence[bytes], *, connections: int = 1, pause: float = 0.0) -> None:
        self._ours, theirs = FORK.Pipe()
        work = (theirs, port, requests, connections, pause)
        self._process = FORK.Process(target=_work, args=work)
        self._process.start()

    def wait(self) -> Outcome:
        """The outcome, once every request is answered; RuntimeError when one was refused."""
        outcome = self._outcome()
        if outcome.refusals:
            raise RuntimeError(f"{len(outcome.refusals)} refusals, the first: {outcome.refusals[0][:500]!r}")
        return outcome

    def stop(self) -> Outcome:
        """The outcome so far, refusals included; what is under way is still answered."""
        self._ours.send("stop")
        return self._outcome()

    def _outcome(self) -> Outcome:
        outcome: Outcome = self._ours.recv()
        self._process.join()
        return outcome


def _work(pipe: Connection, port: int, requests: Sequence[bytes], connections: int, pause: float) -> None:
    gc.disable()
    waiting = _until_stopped(pipe, requests)
    outcome = Outcome()
    start = perf_counter()
    if pause:
        _one_by_one(port, waiting, outcome, pause)
    else:
        _all_at_once(port, waiting, outcome, connections)
    outcome.seconds = perf_counter() - start
    pipe.send(outcome)


def _until_stopped(pipe: Connection, requests: Sequence[bytes]) -> Iterator[bytes]:
    for request in requests:
        if pipe.poll(0):
            return
        yield request


def _one_by_one(port: int, waiting: Iterator[bytes], outcome: Outcome, pause: float) -> None:
    channel = _connected(port)
    for request in waiting:
        sent = perf_counter()
        channel.sendall(request)
        _take(channel, outcome, sent)
        sleep(pause)
    channel.close()


def _all_at_once(port: int, waiting: Iterator[bytes], outcome: Outcome, connections: int) -> None:
    watched = selectors.DefaultSelector()
    for _ in range(connections):
        channel = _connected(port)
        watched.register(channel, selectors.EVENT_READ, _send(channel, waiting))
    while watched.get_map():
        for key, _ in watched.select(PATIENCE):
            channel = key.fileobj  # type: ignore[assignment]  # we registered sockets only
            _take(channel, outcome, key.data)
            sent = _send(channel, waiting)
            if sent:
                watched.modify(channel, selectors.EVENT_READ, sent)
            else:
                watched.unregister(channel)
                channel.close()


def _connected(port: int) -> socket.socket:
    channel = socket.create_connection(("127.0.0.1", port), PATIENCE)
    channel.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return channel


def _send(channel: socket.socket, waiting: Iterator[bytes]) -> float:
    """When the next request was sent, 0 when there is none."""
    request = next(waiting, None)
    if request is None:
        return 0.0
    sent = perf_counter()
    channel.sendall(request)
    return sent


def _take(channel: socket.socket, outcome: Outcome, sent: float) -> None:
    """Read one whole answer."""
    answer = channel.recv(65536)
    while (end := answer.find(b"\r\n\r\n")) < 0:
        answer += _more(channel, 65536)
    length = int(answer[:end].lower().split(b"content-length:")[1].split(b"\r\n")[0])
    parts, missing = [answer], end + 4 + length - len(answer)
    while missing > 0:
        parts.append(_more(channel, missing))
        missing -= len(parts[-1])
    outcome.latencies.append(perf_counter() - sent)
    if answer[9:10] != b"2":
        outcome.refusals.append(b"".join(parts))


def _more(channel: socket.socket, most: int) -> bytes:
    part = channel.recv(most)
    if not part:
        raise ConnectionError("the server closed the connection in the middle of an answer")
    return part
