"""Runs the application under waitress and shuts it down gracefully."""

import logging
import signal
from collections.abc import Callable
from threading import Event
from time import monotonic
from types import FrameType
from typing import Any

import orjson
import waitress
from flask import Flask
from waitress import wasyncore
from waitress.channel import HTTPChannel
from waitress.task import ErrorTask

from service.api.errors import BY_STATUS, INTERNAL, MALFORMED, MEDIA_TYPE

GRACE_SECONDS = 10.0
PULSE_SECONDS = 1.0
SHORT_PULSE_SECONDS = 0.05
# A larger body is still read to its end before our own 413, so that its sender is there to see the answer.
LARGEST_READ = 4
LARGEST_IN_MEMORY = 64 * 1024 * 1024  # [B] an answer up to this size is not written to a file on its way out


def serve(
    app: Flask,
    *,
    host: str,
    port: int,
    threads: int,
    largest_body: int,
    ready: Callable[[str, int], None] = lambda _host, _port: None,
) -> None:
    """Answer requests until SIGTERM or SIGINT; then finish those in progress, and return.

    `largest_body` [bytes] is the most that any route takes; `ready` gets host and port once connections are taken.
    """
    # Its warning about every queued request is what the request's duration says anyway.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    sockets: dict[int, Any] = {}
    server: Any = waitress.create_server(
        app,
        map=sockets,
        host=host,
        port=port,
        threads=threads,
        ident=None,
        max_request_body_size=LARGEST_READ * largest_body,
        outbuf_overflow=LARGEST_IN_MEMORY,
    )
    listeners = [held for held in sockets.values() if held.accepting]
    for listener in listeners:
        listener.channel_class = Channel
    stopping = _stop_signal(listeners[0])
    ready(host, listeners[0].effective_port)
    while not stopping.is_set():
        _turn(sockets, PULSE_SECONDS)
    _finish(sockets, listeners)
    server.task_dispatcher.shutdown(timeout=1)


def _stop_signal(listener: Any) -> Event:
    stopping = Event()

    def stop(number: int, _frame: FrameType | None) -> None:
        stopping.set()
        listener.pull_trigger()
        signal.signal(number, signal.SIG_DFL)  # asked a second time, it ends at once

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, stop)
    return stopping


def _turn(sockets: dict[int, Any], seconds: float) -> None:
    wasyncore.loop(timeout=seconds, use_poll=True, map=sockets, count=1)


def _finish(sockets: dict[int, Any], listeners: list[Any]) -> None:
    """Take no more connections; answer what has come in, for at most the grace time; close the rest."""
    for listener in listeners:
        wasyncore.dispatcher.close(listener)
    deadline = monotonic() + GRACE_SECONDS
    _turn(sockets, SHORT_PULSE_SECONDS)
    while monotonic() < deadline and any(_busy(held) for held in sockets.values()):
        _turn(sockets, SHORT_PULSE_SECONDS)
    wasyncore.close_all(sockets)


def _busy(held: Any) -> bool:
    return isinstance(held, HTTPChannel) and bool(held.requests or held.total_outbufs_len)


class ProblemTask(ErrorTask):  # type: ignore[misc]
    """What waitress itself refuses, as a problem document like every other refusal."""

    def execute(self) -> None:
        """Write the document and close the connection."""
        error = self.request.error
        kind = BY_STATUS.get(error.code, INTERNAL if error.code >= 500 else MALFORMED)
        document = {
            "type": f"/problems/{kind.name}",
            "title": kind.title,
            "status": error.code,
            "detail": kind.meaning,
            "instance": "none",
        }
        body = orjson.dumps(document)
        self.status = f"{error.code} {error.reason}"
        self.response_headers.append(("Content-Type", MEDIA_TYPE))
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection."""

    error_task_class = ProblemTask
