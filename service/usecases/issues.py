"""Keep a service summary as it was handed out, and read it back."""

from hashlib import sha256
from uuid import uuid4

from service.domain.audit import Actor
from service.domain.summary.document import ServiceSummary
from service.domain.summary.issues import Issue
from service.storage.store import Store
from service.usecases import audit


def keep(store: Store, actor: Actor, summary: ServiceSummary, form: str, body: bytes) -> Issue:
    """Keep the document's bytes, as handed out now."""
    made = Issue(
        id=str(uuid4()),
        customer=summary.customer,
        year=summary.year,
        issued_at=actor.at,
        issued_by=actor.name,
        as_of=summary.as_of,
        form=form,
        digest=summary.data_state.digest,
        program_version=summary.program_version,
        sha256=sha256(body).hexdigest(),
        size=len(body),
    )
    store.issues.add(made, body)
    audit.created(store, actor, "issue", made.id, made)
    return made
