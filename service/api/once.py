"""What is posted once: the client's id or its Idempotency-Key makes a repeated POST the same one."""

import secrets
from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

import orjson
from flask import Response, g, request

from service.api import preconditions
from service.api.state import caller, database, now
from service.domain.errors import Conflict, Fault, Invalid
from service.usecases import posted_once
from service.usecases.system import Store

Body = Mapping[str, Any]
Record = Callable[[Store, Body, str, str], str]
KEY = "Idempotency-Key"
LONGEST_KEY = 255


def headers(what: str) -> dict[str, str]:
    """The header of such a POST, as documented."""
    return {KEY: f"any text, best a UUID; a {what} with a key needs no id, and posting it twice makes one {what}"}


def post(body: Body, what: str, record: Record) -> Response:
    """Answer 201 with what `record` gives for (store, body with id, fingerprint, text), or with the first answer."""
    key = _key(body)
    if key is None:
        raise Invalid(_every_fault(body, what, record))
    new = body if "id" in body else {**body, "id": _new_id()}
    try:
        made_id, text = _first_answer(key, new, what, record)
    except Conflict:  # on PostgreSQL the same body may have been stored at the same moment
        made_id, text = _first_answer(key, new, what, record)
    where = {"Location": f"/v1/{what}s/{made_id}", "ETag": preconditions.etag(1)}
    return Response(text, 201, where, content_type="application/json")


def without_id(document: Any, what: str) -> list[Fault]:
    """The fault of a document that has neither id nor key."""
    if KEY in request.headers or not isinstance(document, dict) or "id" in document:
        return []
    return [Fault("id", None, f"give the {what} a UUID as id, or send the header {KEY}")]


def _every_fault(body: Body, what: str, record: Record) -> list[Fault]:
    """That the id is missing, and what else is wrong; nothing stays stored."""
    text, fingerprint = _text(g.document)
    try:
        with database().writing() as store:
            record(store, {**body, "id": _new_id()}, fingerprint, text)
            raise Invalid([])
    except Invalid as refusal:
        return [*without_id(g.document, what), *refusal.faults]


def _text(document: Any) -> tuple[str, str]:
    """A document as text, whatever the order of its fields, and its fingerprint."""
    text = orjson.dumps(document, option=orjson.OPT_SORT_KEYS)
    return text.decode(), sha256(text).hexdigest()


def _key(body: Body) -> tuple[str, str] | None:
    """(owner of the key, key): a key in the header belongs to the caller, an id to everyone; None without either."""
    given = request.headers.get(KEY)
    if given is None:
        return ("", body["id"]) if "id" in body else None
    if not given.strip() or len(given) > LONGEST_KEY or not given.isprintable() or not given.isascii():
        raise Invalid([Fault(KEY, given, f"a key is 1 to {LONGEST_KEY} printable ASCII characters")])
    return caller().token_id, given


def _new_id() -> str:
    return posted_once.new_id(int(now().timestamp() * 1000), secrets.token_bytes(10))


def _first_answer(whose_key: tuple[str, str], new: Body, what: str, record: Record) -> posted_once.Answer:
    """The id and the answer to the first POST, former or new."""
    who, key = whose_key
    text, fingerprint = _text(g.document)
    with database().writing() as store:
        first = posted_once.answered(store, (who, caller().name), key, fingerprint, what)
        if first is not None:
            return first
        first = new["id"], record(store, new, fingerprint, text)
        posted_once.keep_answer(store, now(), caller=who, key=key, fingerprint=fingerprint, answer=first)
    return first
