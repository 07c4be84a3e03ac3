"""Keep a service summary as it was handed out; such documents as lines of a file, and imported again."""

from base64 import b64decode
from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import Any
from uuid import uuid4

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid, KeyReused
from service.domain.instants import to_text
from service.domain.plain import to_plain
from service.domain.summary.issues import Edition, Issue
from service.storage.store import Store
from service.usecases import audit
from service.usecases.record.line_authors import check_not_ahead


def keep(store: Store, actor: Actor, edition: Edition, form: str, body: bytes) -> Issue:
    """Keep the document's bytes, as handed out now."""
    made = Issue(
        id=str(uuid4()),
        customer=edition.customer,
        year=edition.year,
        issued_at=actor.at,
        issued_by=actor.name,
        as_of=edition.as_of,
        form=form,
        digest=edition.digest,
        program_version=edition.program_version,
        sha256=sha256(body).hexdigest(),
        size=len(body),
    )
    store.issues.add(made, body)
    audit.created(store, actor, "issue", made.id, made)
    return made


def lines(store: Store) -> Iterator[dict[str, Any]]:
    """All documents as lines of an export, the oldest first, each with its bytes in base 64."""
    for each, body in store.issues.in_order():
        about = {name: part for name, part in to_plain(each).items() if name != "size"}
        times = {"issued_at": to_text(each.issued_at), "as_of": to_text(each.as_of)}
        yield {"record": "issue", **about, **times, "content": body}


def take(store: Store, actor: Actor, line: Mapping[str, Any]) -> str:
    """Keep the document of an import line: "added", or "unchanged" where it is there."""
    check_not_ahead(actor, "issued_at", line)
    about = {name: part for name, part in line.items() if name != "content"}
    body = _bytes_of(line)
    made = Issue(**about, size=len(body))
    if known := store.issues.find(made.id):
        if known != made:
            raise KeyReused(f"The document {made.id!r} is already kept with other content.")
        return "unchanged"
    store.issues.add(made, body)
    audit.imported(store, actor, "issue", made.id, before=None, after=audit.text_of(made))
    return "added"


def _bytes_of(line: Mapping[str, Any]) -> bytes:
    try:
        body = b64decode(line["content"], validate=True)
    except ValueError as fault:
        raise Invalid([Fault("content", None, f"is not in base 64: {fault}")]) from fault
    if sha256(body).hexdigest() != line["sha256"]:
        raise Invalid([Fault("sha256", line["sha256"], "is not the SHA-256 of the document")])
    return body
