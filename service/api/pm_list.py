"""The route of /v1/pm-list: the day's work in its formats."""

import zlib
from base64 import b64decode, urlsafe_b64encode
from collections.abc import Mapping, Set
from dataclasses import replace
from typing import Any

from flask import Response

from service.api import paging
from service.api.auth import ALL_ROLES
from service.api.endpoint import Answer, Routes
from service.api.headers import attachment
from service.api.negotiation import accepted
from service.api.state import database, now
from service.domain.errors import Fault, Invalid
from service.rendering.pm_list.formats import FORMATS
from service.schemas.pm_list import PmListQuery, PmListSchema
from service.usecases.planning import pm_list
from service.usecases.planning.shifts import Drive

routes = Routes("pm_list")
OFFERED = {media: form for form, (media, _) in FORMATS.items()}
TEXT = {"type": "string"}


ASKED = ("on", "horizon_days", "technician", "unassigned", "limit")
MOST_SITES = 8_000_000


def cursor_of(shown: Set[int]) -> str:
    """The sites shown so far as text: a bit for each identity, compressed.

    >>> sorted(sites_in(cursor_of({3, 70})))
    [3, 70]
    """
    bits = sum(1 << site for site in shown)
    return urlsafe_b64encode(zlib.compress(bits.to_bytes(bits.bit_length() // 8 + 1, "little"))).rstrip(b"=").decode()


def sites_in(cursor: str | None) -> frozenset[int]:
    """The inverse of `cursor_of`; none without a cursor, Invalid for one of another list."""
    if cursor is None:
        return frozenset()
    try:
        packed = b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True)
        raw = zlib.decompressobj().decompress(packed, MOST_SITES // 8)
    except (ValueError, zlib.error) as refusal:
        message = "not a cursor of this list; take it from the `next` of an answer"
        raise Invalid([Fault("cursor", cursor, message)]) from refusal
    return frozenset(8 * n + bit for n, byte in enumerate(raw) if byte for bit in range(8) if byte >> bit & 1)


def drive_of(query: Mapping[str, Any]) -> Drive | None:
    """How the day is to be laid out; None where neither beginning nor hours are asked for."""
    if "start" not in query and "hours" not in query:
        return None
    return Drive(start=query.get("start"), hours=query.get("hours"))


@routes.get(
    "/v1/pm-list",
    allow=ALL_ROLES,
    query=PmListQuery,
    answers={
        200: Answer(
            PmListSchema,
            media={"text/csv": TEXT, "text/calendar": TEXT, "text/html": TEXT, "text/plain": TEXT},
            headers=("Link",),
        )
    },
)
def pull_list(query: Mapping[str, Any]) -> Response:
    """Get the PM list by site, what is most at stake first: calls, due work, root causes. Format by Accept or ?format=.

    A site comes once and whole; `counts` are those of the whole list. A past day is answered from what was known when
    it ended, a later one from the plan. With `start` or `hours` the day is laid out: stops in the order of driving with
    their times, within opening hours, promises, hours and skills; what does not fit is in `day.left_over`.
    """
    form = query.get("format") or accepted(OFFERED, "list")
    with database().reading() as store:
        asked = pm_list.Asked(**{name: query[name] for name in ASKED if name in query}, drive=drive_of(query))
        pulled, shown = pm_list.pull(store, now(), asked, sites_in(query.get("cursor")))
    following = None if shown is None else paging.path_with(cursor_of(shown))
    headers = {"Vary": "Accept"} | ({"Link": f'<{following}>; rel="next"'} if following else {})
    headers |= attachment("pm-list.csv") if form == "csv" else {}
    media, render = FORMATS[form]
    charset = "" if form == "json" else "; charset=utf-8"
    return Response(render(replace(pulled, next=following), now()), 200, headers, content_type=media + charset)
