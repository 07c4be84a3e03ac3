"""JSON in and out. What JSON leaves open is closed here: names appear once, numbers fit what can be stored."""

from collections.abc import Mapping
from typing import Any

import orjson
from flask import Response, request
from werkzeug.exceptions import BadRequest, UnsupportedMediaType

from service.schemas.strict_json import LARGEST_INTEGER, TEXT_RULE, NotJson, parse, storable

__all__ = ["LARGEST_INTEGER", "TEXT_RULE", "answer", "json_body", "parse", "raw_body", "storable"]


def answer(payload: Any, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """The payload as JSON; None is an empty body."""
    if payload is not None:
        return Response(orjson.dumps(payload), status, headers, content_type="application/json")
    empty = Response(b"", status, headers)
    del empty.headers["Content-Type"]
    return empty


def raw_body(limit: int | None = None) -> bytes:
    """The body as it came, for what is not one JSON document; at most `limit` bytes, by default as any body."""
    if limit is not None:
        request.max_content_length = limit
    return request.get_data(cache=False)


def json_body() -> Any:
    """The request's one JSON document.

    Raises a 415 for another type or encoding, 413 beyond the size limit, 400 for what is not JSON, and Invalid, with
    the place, for JSON that cannot be kept as it is.
    """
    _require_json_type()
    try:
        return parse(raw_body())
    except NotJson as fault:
        raise BadRequest(str(fault)) from fault


def _require_json_type() -> None:
    kind = request.mimetype
    if kind != "application/json" and not (kind.startswith("application/") and kind.endswith("+json")):
        raise UnsupportedMediaType(f"The body must be application/json, not {kind[:100] or 'untyped'}.")
    if request.mimetype_params.get("charset", "utf-8").lower() not in ("utf-8", "utf8"):
        raise UnsupportedMediaType("JSON is UTF-8 here; leave the charset out.")
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise UnsupportedMediaType("Send the body uncompressed.")
