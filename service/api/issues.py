"""Routes of /v1/customers/{code}/service-summaries/{year}/issues: documents as they were handed out."""

from collections.abc import Mapping
from functools import partial
from typing import Any

from flask import Response

from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database, now, state
from service.api.summaries import MEDIA, answered, checked, figures
from service.domain.instants import to_text
from service.domain.plain import as_entered
from service.domain.summary.issues import Edition, Issue, edition_of
from service.rendering.year.formats import write_edition
from service.schemas.issues import IssueList, IssueRequest, IssueSchema
from service.usecases.year import issues

Body = Mapping[str, Any]
routes = Routes("issues")
PATH = "/v1/customers/{code}/service-summaries/{year:int}/issues"


@routes.post(PATH, allow=OWNER, body=IssueRequest, answers={201: Answer(IssueSchema)})
def keep_issue(code: str, year: int, body: Body) -> tuple[dict[str, Any], int]:
    """Keep a customer's year as it is handed out: the document is stored byte for byte and never changed."""
    form = body.get("format", "pdf")
    read = figures(code, year, checked(body, form), body.get("units"))
    write = partial(write_edition, form=form, paper=body.get("paper"))
    edition, document = state().computing.document(read, write)
    with database().writing() as store:
        made = issues.keep(store, actor(), edition, form, document)
    return _shown(made, edition), 201


@routes.get(PATH, allow=OWNER, answers={200: Answer(IssueList)})
def list_issues(code: str, year: int) -> dict[str, Any]:
    """List the documents of a customer's year that were handed out; `differs` where the data have changed since."""
    current = state().computing.document(figures(code, year, now()), edition_of)
    with database().reading() as store:
        kept = store.issues.of_year(code, year)
    return {"items": [_shown(each, current) for each in kept]}


@routes.get(PATH + "/{id}", allow=OWNER, answers={200: Answer(media=MEDIA | {"application/json": {"type": "object"}})})
def get_issue(code: str, year: int, id: str) -> Response:  # noqa: A002 - the path's own name
    """Get a document with the bytes with which it was handed out."""
    with database().reading() as store:
        kept, document = store.issues.get(code, year, id.lower())
    return answered(document, kept.form, None, f"{code}-{year}-{kept.id[:8]}")


def _shown(kept: Issue, current: Edition) -> dict[str, Any]:
    times = {"issued_at": to_text(kept.issued_at), "as_of": to_text(kept.as_of)}
    return as_entered(kept) | times | {"differs": kept.digest != current.digest}
