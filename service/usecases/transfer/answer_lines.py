"""The first answers to keys as lines of a file; an imported one is for the tokens that have its token's name."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.storage.answers import KeptAnswer
from service.storage.store import Store
from service.usecases.record.line_authors import check_not_ahead

CHUNK = 200


def lines(store: Store) -> Iterator[dict[str, Any]]:
    """All answers in the order in which they were given, each with the text that was sent."""
    behind = ("", "", "")
    while True:
        found, behind = store.answers.page(behind, CHUNK)
        if not found:
            return
        for each in found:
            yield {"record": "answer", **{name: part for name, part in asdict(each).items() if part is not None}}


def take(store: Store, actor: Actor, line: Mapping[str, Any]) -> str:
    """Keep the answer of a line: "added", "unchanged", or "left_out" where the key has another answer here."""
    check_not_ahead(actor, "given_at", line)
    new = KeptAnswer(**{"token": None, **line, "given_at": to_text(line["given_at"])})
    if faults := list(_faults(store, new)):
        raise Invalid(faults)
    known = store.answers.known(new)
    if known is None:
        store.answers.restore(new)
        return "added"
    return "unchanged" if known == (new.fingerprint, new.id, new.body) else "left_out"


def _faults(store: Store, new: KeptAnswer) -> Iterator[Fault]:
    kept = (store.visits, store.calls, store.attendances)
    if all(each.fingerprint(new.id) is None for each in kept):
        yield Fault("id", new.id, f"there is no visit, call or attendance {new.id!r}")
    try:
        shown = orjson.loads(new.body)
    except orjson.JSONDecodeError:
        shown = None
    if not isinstance(shown, dict):
        yield Fault("body", None, "is not the text of a JSON object")
