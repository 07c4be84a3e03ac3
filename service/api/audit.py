"""Routes of /v1/audit."""

from collections.abc import Mapping
from typing import Any

import orjson
from flask import Response

from service.api import paging
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import database
from service.domain.audit import AuditFilter, Entry
from service.domain.instants import to_text
from service.schemas.audit import AuditPage, AuditQuery

routes = Routes("audit")
FILTERS = ("resource", "key", "actor", "since", "until")


@routes.get("/v1/audit", allow=OWNER, query=AuditQuery, answers={200: Answer(AuditPage, headers=("Link",))})
def list_changes(query: Mapping[str, Any]) -> Response:
    """List who changed what, newest first."""
    asked = AuditFilter(**{name: query[name] for name in FILTERS if name in query})
    behind = paging.after(query, int)
    with database().reading() as store:
        found = store.audit.page(asked, before=behind and behind[0], limit=query["limit"] + 1)
    return paging.page(found, query, key=lambda entry: (entry.id,), show=shown)


def shown(entry: Entry) -> dict[str, Any]:
    """The change as JSON."""
    return {
        "id": entry.id,
        "at": to_text(entry.at),
        "actor": entry.actor,
        "role": entry.role,
        "token_id": entry.token_id,
        "technician": entry.technician,
        "request_id": entry.request_id,
        "action": entry.action,
        "resource": entry.resource,
        "key": entry.key,
        "before": None if entry.before is None else orjson.Fragment(entry.before),
        "after": None if entry.after is None else orjson.Fragment(entry.after),
        "hash": entry.hash,
    }
