"""The route of /v1/pm-list: the day's work in four forms."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from flask import Response

from service.api import paging
from service.api.auth import READERS
from service.api.endpoint import Answer, Routes
from service.api.headers import attachment
from service.api.negotiation import accepted
from service.api.state import database, now
from service.domain.maintenance.pm_list import PmList
from service.rendering.pm_list import calendar_feed as pm_list_calendar
from service.rendering.pm_list import csv_file as pm_list_csv
from service.rendering.pm_list import json_body as pm_list_json
from service.rendering.pm_list import page as pm_list_page
from service.schemas.pm_list import PmListQuery, PmListSchema
from service.usecases import pm_list

routes = Routes("pm_list")
FORMATS: Mapping[str, tuple[str, Callable[[PmList, datetime], bytes]]] = {
    "json": ("application/json", lambda pulled, _: pm_list_json.render(pulled)),
    "csv": ("text/csv", lambda pulled, _: pm_list_csv.render(pulled)),
    "ics": ("text/calendar", lambda pulled, instant: pm_list_calendar.render(pulled, stamp=instant)),
    "html": ("text/html", lambda pulled, _: pm_list_page.render(pulled)),
}
OFFERED = {media: form for form, (media, _) in FORMATS.items()}
TEXT = {"type": "string"}


@routes.get(
    "/v1/pm-list",
    allow=READERS,
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
    """Get the PM list by site: overdue, due today and, within the horizon, due soon. Format by Accept or ?format=."""
    form = query.get("format") or accepted(OFFERED, "list")
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
    headers |= attachment("pm-list.csv") if form == "csv" else {}
    media, render = FORMATS[form]
    charset = "" if form == "json" else "; charset=utf-8"
    return Response(render(replace(pulled, next=following), now()), 200, headers, content_type=media + charset)
