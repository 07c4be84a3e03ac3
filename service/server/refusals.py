"""What the server itself refuses: a problem document and a line in the access log."""

import logging
import os
from collections.abc import Callable
from http import HTTPStatus

import orjson

from service.api.errors import MEDIA_TYPE, Kind
from service.api.headers import protecting

logger = logging.getLogger("glycol_fleet.access")
BUSY_RETRY_SECONDS = "1"
DROPPED = "dropped"
Count = Callable[[str], None]


class Refusal(Exception):
    """The request is refused; the connection ends after the answer."""

    def __init__(self, kind: Kind, detail: str = "", *, retry: bool = False) -> None:
        super().__init__(detail or kind.meaning)
        self.kind = kind
        self.retry = retry


def document(refusal: Refusal, request_id: str, *, secure: bool, with_body: bool = True) -> bytes:
    """The whole answer, ready to be sent."""
    kind = refusal.kind
    problem = {
        "type": f"/problems/{kind.name}",
        "title": kind.title,
        "status": kind.status,
        "detail": str(refusal),
        "instance": request_id,
    }
    body = orjson.dumps(problem)
    lines = [
        f"HTTP/1.1 {kind.status} {HTTPStatus(kind.status).phrase}",
        f"Content-Type: {MEDIA_TYPE}",
        f"Content-Length: {len(body)}",
        f"X-Request-ID: {request_id}",
        *(f"{name}: {value}" for name, value in protecting(page=False, secure=secure).items()),
        "Cache-Control: no-store",
        "Connection: close",
        *([f"Retry-After: {BUSY_RETRY_SECONDS}"] if refusal.retry else []),
    ]
    return "\r\n".join([*lines, "", ""]).encode() + (body if with_body else b"")


def log_refusal(refusal: Refusal, *, address: str, method: str | None, count: Count) -> str:
    """Count and log it; the id that the answer carries."""
    request_id = os.urandom(12).hex()
    count(refusal.kind.name)
    _log("refused", method, refusal.kind.status, address=address, reason=str(refusal), request_id=request_id)
    return request_id


def log_dropped(reason: str, *, address: str, count: Count) -> None:
    """Count and log a connection that was ended without an answer."""
    count(DROPPED)
    _log(DROPPED, None, None, address=address, reason=reason, request_id=None)


def _log(
    message: str, method: str | None, status: int | None, *, address: str, reason: str, request_id: str | None
) -> None:
    fields = {
        "method": method,
        "route": "unmatched",
        "status": status,
        "caller": None,
        "address": address,
        "reason": reason,
        "request_id": request_id,
    }
    logger.info(message, extra={"fields": fields})
