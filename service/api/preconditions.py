"""ETags and what callers say about them (RFC 9110, sections 8.8.3, 13.1.1 and 13.1.2)."""

import re
from typing import Any

from flask import Response, request
from werkzeug.exceptions import BadRequest, PreconditionRequired

from service.api import wire
from service.domain.errors import Stale

ENTITY_TAG = r'(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"'
TAG_LIST = re.compile(rf"{ENTITY_TAG}(?:\s*,\s*{ENTITY_TAG})*")
OURS = re.compile(r'"([0-9]{1,18})"')
ANY = "*"


def etag(version: int) -> str:
    """The strong ETag of a record's version."""
    return f'"{version}"'


def expected() -> frozenset[int] | None:
    """The versions that If-Match names; None for `*`, which any version fits.

    A weak or foreign tag fits no version. Raises 428 without the header, 400 when it cannot be read.
    """
    given = request.headers.get("If-Match")
    if given is None:
        raise PreconditionRequired()
    if given.strip() == ANY:
        return None
    if not TAG_LIST.fullmatch(given.strip()):
        raise BadRequest('If-Match must be "*" or ETags in double quotes, such as "3".')
    tags = re.findall(ENTITY_TAG, given)
    return frozenset(int(match[1]) for tag in tags if (match := OURS.fullmatch(tag)))


def tagged(payload: Any, version: int, status: int = 200) -> Response:
    """The payload under its ETag; 304 without it when a GET says that the caller has this version."""
    tag = etag(version)
    headers = {"ETag": tag}
    if request.method in ("GET", "HEAD") and _has(tag):
        return wire.answer(None, 304, headers)
    return wire.answer(payload, status, headers)


def _has(tag: str) -> bool:
    given = request.headers.get("If-None-Match", "")
    return given.strip() == ANY or tag in (found.removeprefix("W/") for found in re.findall(ENTITY_TAG, given))


def unchanged(version: int, resource: str, key: str) -> None:
    """Stale when the record is at another version than If-Match names."""
    versions = expected()
    if versions is not None and version not in versions:
        raise Stale(resource, key)
