"""The route of /v1/pm-list: the day's work in four forms."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from flask import Response, request
from werkzeug.exceptions import NotAcceptable

from service.api import paging
from service.api.auth import EVERYONE
from service.api.endpoint import Answer, Routes
from service.api.state import database, now
from service.domain.maintenance.pm_list import PmList
from service.rendering.pm_list import calendar_feed as pm_list_calendar
from service.rendering.pm_list import csv_file as pm_list_csv
from service.rendering.pm_list import json_body as pm_list_json
from service.rendering.pm_list import page as pm_list_page
from service.schemas.pm_list import PmListQuery, PmListSchema
from service.usecases import pm_list

routes = Routes("pm_list")
TYPES = {"json": "application/json", "csv": "text/csv", "ics": "text/calendar", "html": "text/html"}
FORMS: Mapping[str, Callable[[PmList, datetime], bytes]] = {
    "json": lambda pulled, _: pm_list_json.render(pulled),
    "csv": lambda pulled, _: pm_list_csv.render(pulled),
    "ics": lambda pulled, instant: pm_list_calendar.render(pulled, stamp=instant),
    "html": lambda pulled, _: pm_list_page.render(pulled),
}
TEXT = {"schema": {"type": "string"}}


@routes.get(
    "/v1/pm-list",
    allow=EVERYONE,
    query=PmListQuery,
    answers={
        200: Answer(
            PmListSchema,
            media={"text/csv": TEXT, "text/calendar": TEXT, "text/html": TEXT},
            headers=("Link",),
        )
    },
)
def pull_list(query: Mapping[str, Any]) -> Response:
    """Pull the day: overdue, due today and, within the horizon, due soon, site by site. Send Accept or ?format=."""
    form = query.get("format") or _asked_for()
    with database().reading() as store:
        pulled, after = pm_list.pull(
            store,
            now(),
            on=query.get("on"),
            horizon_days=query["horizon_days"],
            technician=query.get("technician"),
            after=paging.after(query, str, int, int, str),
            limit=query["limit"],
        )
    following = None if after is None else paging.next_path(after)
    headers = {"Vary": "Accept"} | ({"Link": f'<{following}>; rel="next"'} if following else {})
    body = FORMS[form](replace(pulled, next=following), now())
    charset = "" if form == "json" else "; charset=utf-8"
    return Response(body, 200, headers, content_type=TYPES[form] + charset)


def _asked_for() -> str:
    best = request.accept_mimetypes.best_match(list(TYPES.values()))
    if best is None:
        if request.accept_mimetypes:
            raise NotAcceptable(f"The list comes as {', '.join(TYPES.values())}.")
        return "json"
    return next(form for form, kind in TYPES.items() if kind == best)
