"""Request ids, one log line a request, counters, and the headers that every answer carries."""

import logging
import os
import re
import sys
from contextvars import ContextVar
from datetime import UTC, datetime
from time import perf_counter
from typing import Any, TextIO

import orjson
from flask import Flask, Response, g, request

from service.api.headers import protecting
from service.api.state import state

REQUEST_ID = re.compile(r"[A-Za-z0-9._~-]{1,64}")
# What JSON leaves as it is and some reader takes for the end of a line, a terminal's command or a change of direction.
UNSHOWN = re.compile("[\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
UNMATCHED = "unmatched"
request_id: ContextVar[str | None] = ContextVar("request_id", default=None)
logger = logging.getLogger("glycol_fleet.access")


class JsonLines(logging.Formatter):
    """One JSON object a line: instant, level, logger, message, request id, and the `fields` of the call."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as a line of JSON."""
        line: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            "request_id": request_id.get(),
        }
        line |= getattr(record, "fields", {})
        if record.exc_info:
            line["traceback"] = self.formatException(record.exc_info)
        return UNSHOWN.sub(lambda found: f"\\u{ord(found[0]):04x}", orjson.dumps(line, default=str).decode())


def start_logging(level: str, stream: TextIO | None = None) -> None:
    """Send all logs, ours and the libraries', as JSON lines to the stream (standard error)."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level)
    logging.getLogger("alembic").setLevel(logging.WARNING)  # it logs every connection that it inspects


def register(app: Flask) -> None:
    """Watch every request of the application."""
    app.before_request(_begin)
    app.after_request(_finish)


def _begin() -> None:
    g.request_id = os.urandom(12).hex()  # never the client's: two requests could share it
    g.started = perf_counter()
    request_id.set(g.request_id)


def _finish(response: Response) -> Response:
    seconds = perf_counter() - g.started
    route = g.get("route", UNMATCHED)
    _add_headers(response)
    # Foreign method names are not counted one by one: a caller could make up any number of them.
    method = request.method if route != UNMATCHED else "any"
    state().metrics.answered(method, route, status=response.status_code, seconds=seconds)
    logger.info("request", extra={"fields": _line(route, response.status_code, seconds)})
    return response


def _line(route: str, status: int, seconds: float) -> dict[str, Any]:
    caller = g.get("caller")
    named = request.headers.get("X-Request-ID", "")
    return {
        "method": request.method[:20],
        "route": route,
        "status": status,
        "milliseconds": round(seconds * 1000, 2),
        "address": request.remote_addr,
        "caller": caller.name if caller else None,
        "token": caller.token_id if caller else None,
        "reason": g.get("reason"),
        "client_request_id": named if REQUEST_ID.fullmatch(named) else None,
    }


def _add_headers(response: Response) -> None:
    headers = response.headers
    headers["X-Request-ID"] = g.request_id
    headers.update(protecting(page=response.mimetype == "text/html", secure=request.is_secure))
    if request.path.startswith("/v1"):
        headers["Cache-Control"] = "no-store"  # names, telephone numbers, addresses
    headers.update(g.get("own_headers", {}))
