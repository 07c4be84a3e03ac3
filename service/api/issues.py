"""Routes of /v1/customers/{code}/service-summaries/{year}/issues: documents as they were handed out."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service import __version__
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database, now
from service.api.summaries import MEDIA, answered, checked, written
from service.domain.instants import to_text
from service.domain.plain import as_entered
from service.domain.summary.document import ServiceSummary
from service.domain.summary.issues import Issue
from service.rendering.year.formats import write_summary
from service.schemas.issues import IssueList, IssueRequest, IssueSchema
from service.usecases import issues, summaries

Body = Mapping[str, Any]
routes = Routes("issues")
PATH = "/v1/customers/{code}/service-summaries/{year:int}/issues"


@routes.post(PATH, allow=OWNER, body=IssueRequest, answers={201: Answer(IssueSchema)})
def keep_issue(code: str, year: int, body: Body) -> tuple[dict[str, Any], int]:
    """Keep a customer's year as it is handed out: the document is stored byte for byte and never changed."""
    form = body.get("format", "pdf")
    found = _summary(code, year, body, form)
    document = written(write_summary, found, form, body)
    with database().writing() as store:
        made = issues.keep(store, actor(), found, form, document)
    return _shown(made, found), 201


@routes.get(PATH, allow=OWNER, answers={200: Answer(IssueList)})
def list_issues(code: str, year: int) -> dict[str, Any]:
    """List the documents of a customer's year that were handed out; `differs` where the data have changed since."""
    found = _summary(code, year, {}, "json")
    with database().reading() as store:
        kept = store.issues.of_year(code, year)
    return {"items": [_shown(each, found) for each in kept]}


@routes.get(PATH + "/{id}", allow=OWNER, answers={200: Answer(media=MEDIA | {"application/json": {"type": "object"}})})
def get_issue(code: str, year: int, id: str) -> Response:  # noqa: A002 - the path's own name
    """Get a document with the bytes with which it was handed out."""
    with database().reading() as store:
        kept, document = store.issues.get(code, year, id.lower())
    return answered(document, kept.form, None, f"{code}-{year}-{kept.id[:8]}")


def _summary(code: str, year: int, body: Body, form: str) -> ServiceSummary:
    as_of = checked(body, form) if body else now()
    with database().reading() as store:
        return summaries.summarise(
            store, code, year, as_of=as_of, program_version=__version__, units_shown=body.get("units")
        )


def _shown(kept: Issue, found: ServiceSummary) -> dict[str, Any]:
    times = {"issued_at": to_text(kept.issued_at), "as_of": to_text(kept.as_of)}
    return as_entered(kept) | times | {"differs": kept.digest != found.data_state.digest}
