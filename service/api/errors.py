"""Every error as one problem document (RFC 9457)."""

import json
import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

import orjson
from flask import Flask, Response, g
from werkzeug.exceptions import HTTPException

from service.domain import errors
from service.domain.errors import Fault

MEDIA_TYPE = "application/problem+json"
LONGEST_VALUE = 200
LONGEST_FIELD = 300
RETRY_AFTER_SECONDS = "1"
WRITER = json.JSONEncoder(default=str, separators=(",", ":"))
logger = logging.getLogger("glycol_fleet.errors")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: its name makes the `type`, `/problems/<name>`."""

    name: str
    status: int
    title: str
    meaning: str


INVALID = Kind("invalid", 422, "Not acceptable as it is", "Each entry of `errors` names field, value and rule.")
MALFORMED = Kind("malformed", 400, "Not readable", "The request could not be read.")
UNAUTHENTICATED = Kind(
    "unauthenticated", 401, "Who calls?", "Send a valid token, as a bearer token or as the password of HTTP Basic."
)
FORBIDDEN = Kind("forbidden", 403, "Not for this role", "The token's role may not do this.")
NOT_FOUND = Kind("not-found", 404, "Not found", "There is nothing at this path.")
METHOD_NOT_ALLOWED = Kind(
    "method-not-allowed", 405, "Method not allowed", "The header Allow lists what may be done here."
)
NOT_ACCEPTABLE = Kind("not-acceptable", 406, "No such form", "The answer is not offered in the form asked for.")
TOO_SLOW = Kind("too-slow", 408, "Too slow", "The request did not arrive in the time allowed for it.")
CONFLICT = Kind("conflict", 409, "Contradicts the record", "What is already recorded does not allow this.")
STALE = Kind("stale", 412, "Changed meanwhile", "The record has changed since it was read; read it again.")
TOO_LARGE = Kind("too-large", 413, "Body too large", "The body is larger than this installation accepts.")
UNSUPPORTED = Kind("unsupported-media-type", 415, "Body of another type", "The body is not of a type accepted here.")
UNKNOWN_HOST = Kind("unknown-host", 421, "Not the name of this server", "The header Host names another server.")
HEADER_TOO_LARGE = Kind("header-too-large", 431, "Header too large", "The header has too many bytes or fields.")
KEY_REUSED = Kind(
    "key-reused", 422, "Key used for something else", "A visit id or Idempotency-Key came back with another body."
)
PRECONDITION_REQUIRED = Kind(
    "precondition-required", 428, "If-Match is needed", "Send If-Match with the ETag of the record as last read."
)
TOO_MANY_ATTEMPTS = Kind(
    "too-many-attempts", 429, "Too many unknown tokens", "Too many unknown tokens came from this address; wait."
)
INTERNAL = Kind("internal", 500, "A fault of ours", "Something went wrong here; the log has it under `instance`.")
UNAVAILABLE = Kind("unavailable", 503, "Not available just now", "The record cannot be reached; try again later.")
VERSION = Kind("http-version", 505, "Not HTTP/1.1", "The server speaks HTTP/1.0 and HTTP/1.1.")

KINDS = (
    MALFORMED,
    UNAUTHENTICATED,
    FORBIDDEN,
    NOT_FOUND,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    TOO_SLOW,
    CONFLICT,
    STALE,
    TOO_LARGE,
    UNSUPPORTED,
    UNKNOWN_HOST,
    INVALID,
    KEY_REUSED,
    PRECONDITION_REQUIRED,
    TOO_MANY_ATTEMPTS,
    HEADER_TOO_LARGE,
    INTERNAL,
    UNAVAILABLE,
    VERSION,
)
BY_NAME = {kind.name: kind for kind in KINDS}
BY_STATUS = {kind.status: kind for kind in KINDS if kind is not KEY_REUSED}
OF_REFUSAL: Mapping[type[errors.DomainError], Kind] = {
    errors.Invalid: INVALID,
    errors.NotFound: NOT_FOUND,
    errors.Conflict: CONFLICT,
    errors.KeyReused: KEY_REUSED,
    errors.Stale: STALE,
    errors.Unavailable: UNAVAILABLE,
}


def problem(
    kind: Kind, detail: str, *, faults: Iterable[Fault] = (), headers: Iterable[tuple[str, str]] = ()
) -> Response:
    """One problem document."""
    g.setdefault("reason", kind.name)
    document: dict[str, Any] = {
        "type": f"/problems/{kind.name}",
        "title": kind.title,
        "status": kind.status,
        "detail": readable(detail),
        "instance": g.get("request_id", "none"),
    }
    if listed := [_fault_to_json(fault) for fault in faults]:
        document["errors"] = listed
    return Response(orjson.dumps(document), kind.status, list(headers), content_type=MEDIA_TYPE)


def readable(text: str, longest: int = 2000) -> str:
    """Text that any JSON reader takes, shortened when huge."""
    whole = text[: longest + 1].encode("utf-8", "backslashreplace").decode()
    return whole if len(whole) <= longest else whole[:longest] + "…"


def _fault_to_json(fault: Fault) -> dict[str, Any]:
    return {
        "field": readable(fault.field, LONGEST_FIELD),
        "value": _shown(fault.value),
        "message": readable(fault.message),
    }


def _shown(value: object) -> object:
    """The value given, or its beginning as text when it is long."""
    if isinstance(value, str):
        return readable(value, LONGEST_VALUE)
    written = "".join(islice(WRITER.iterencode(value), LONGEST_VALUE))  # no more of a large value than is shown
    return orjson.Fragment(written) if len(written) < LONGEST_VALUE else readable(written, LONGEST_VALUE)


def register(app: Flask) -> None:
    """Handle every exception that a request can raise."""
    app.register_error_handler(errors.DomainError, _refused)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _unexpected)


def answer_to(fault: Exception) -> Response:
    """The problem document of a refusal, or of a fault of ours, which is logged."""
    if isinstance(fault, HTTPException):
        return _http(fault)
    return _refused(fault) if isinstance(fault, errors.DomainError) else _unexpected(fault)


def _refused(refusal: errors.DomainError) -> Response:
    kind = next((OF_REFUSAL[cls] for cls in type(refusal).__mro__ if cls in OF_REFUSAL), CONFLICT)
    headers = [("Retry-After", RETRY_AFTER_SECONDS)] if kind is UNAVAILABLE else []
    return problem(kind, str(refusal), faults=getattr(refusal, "faults", ()), headers=headers)


def _http(refusal: HTTPException) -> Response:
    status = refusal.code or INTERNAL.status
    kind = BY_STATUS.get(status) or Kind("other", status, refusal.name, refusal.name)
    ours = refusal.description != type(refusal).description
    headers = [(name, value) for name, value in refusal.get_headers() if name.lower() != "content-type"]
    return problem(kind, refusal.description if ours and refusal.description else kind.meaning, headers=headers)


def _unexpected(fault: Exception) -> Response:
    logger.error("unexpected fault", exc_info=fault)
    return problem(INTERNAL, INTERNAL.meaning)
