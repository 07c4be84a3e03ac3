"""Where a unit stands from which day, and the days on which a unit or its site is out of service."""

from collections.abc import Mapping
from typing import Any

from flask import Response, request

from service.api.auth import OFFICE
from service.api.state import actor, database
from service.domain.errors import Conflict, DomainError, Invalid
from service.domain.record.pauses import Of
from service.schemas.locations import LocationSchema, shown_locations
from service.schemas.pauses import ClosurePatch, ClosureSchema, PausePatch, PauseSchema
from service.schemas.reading import read
from service.usecases.record import locations, pauses
from service.usecases.system import Store
from service.web.page import Pages, see_other
from service.web.plain_form import CHANGED
from service.web.render import show

MOST = 1000
NEW: Mapping[Of, Any] = {"unit": PauseSchema(), "site": ClosureSchema()}
CHANGE: Mapping[Of, Any] = {"unit": PausePatch(partial=True), "site": ClosurePatch(partial=True)}
pages = Pages("whereabouts")


@pages.get("/units/<tag>/locations", allow=OFFICE)
def unit_locations(tag: str) -> Response:
    """Where a unit stands, stood and is to stand; the form for a move."""
    return _locations(tag)


@pages.post("/units/<tag>/locations", allow=OFFICE)
def move(tag: str) -> Response:
    """Move a unit from a day on."""
    try:
        given = read(LocationSchema(), _given("site", "from", "reason"))
        with database().writing() as store:
            locations.move(store, actor(), tag, given)
    except (Invalid, Conflict) as refusal:
        return _locations(tag, refusal)
    return see_other(f"/units/{tag}/locations")


@pages.get("/units/<tag>/pauses", allow=OFFICE)
def unit_pauses(tag: str) -> Response:
    """The pauses of a unit."""
    return _pauses("unit", tag)


@pages.post("/units/<tag>/pauses", allow=OFFICE)
def add_pause(tag: str) -> Response:
    """Take a unit out of service for some days."""
    return _add("unit", tag)


@pages.post("/units/<tag>/pauses/<int:number>", allow=OFFICE)
def change_pause(tag: str, number: int) -> Response:
    """End, correct or withdraw a pause."""
    return _change("unit", tag, number)


@pages.get("/sites/<code>/closures", allow=OFFICE)
def site_closures(code: str) -> Response:
    """The closures of a site."""
    return _pauses("site", code)


@pages.post("/sites/<code>/closures", allow=OFFICE)
def add_closure(code: str) -> Response:
    """Close a site for some days."""
    return _add("site", code)


@pages.post("/sites/<code>/closures/<int:number>", allow=OFFICE)
def change_closure(code: str, number: int) -> Response:
    """Correct or withdraw a closure."""
    return _change("site", code, number)


def _given(*names: str) -> dict[str, Any]:
    return {name: text for name in names if (text := request.form.get(name, "").strip())}


def _locations(tag: str, refusal: DomainError | None = None) -> Response:
    with database().reading() as store:
        log = store.log_of(tag)
        sites = store.sites.page(after=None, limit=MOST, customer_code=None)
    return show(
        "locations.html", status=422 if refusal else 200, unit=log.unit, refusal=refusal, sites=sites,
        names={site.code: site.name for site in sites}, found=shown_locations(log)["items"], given=request.form,
    )  # fmt: skip


def _pauses(of: Of, key: str, refusal: DomainError | None = None, changed: int | None = None) -> Response:
    """The page; after a refusal with what was sent, in the form for a new one or in that of the one changed."""
    with database().reading() as store:
        name, path, zone = _named(store, of, key)
        found = sorted(store.pauses.of(of, key), key=lambda each: each.text.first, reverse=True)
    return show(
        "pauses.html", status=422 if refusal else 200, of=of, name=name, path=path, found=found, refusal=refusal,
        given=request.form, zone=zone, changed=changed,
    )  # fmt: skip


def _named(store: Store, of: Of, key: str) -> tuple[str, str, str]:
    """What the page is about: its name, where its form is sent, its time zone."""
    if of == "unit":
        place = store.units.place(key)
        return place.tag, f"/units/{place.tag}/pauses", place.time_zone
    site = store.sites.get(key)
    return site.name, f"/sites/{site.code}/closures", site.time_zone


def _add(of: Of, key: str) -> Response:
    try:
        given = read(NEW[of], _given("from", "until", "reason"))
        with database().writing() as store:
            pauses.add_pause(store, actor(), of, key, given)
            path = _named(store, of, key)[1]
    except (Invalid, Conflict) as refusal:
        return _pauses(of, key, refusal)
    return see_other(path)


def _change(of: Of, key: str, number: int) -> Response:
    """Change a pause that was seen in the version of the form."""
    changes = _given("from", "until", "reason") | {"withdrawn": request.form.get("withdrawn") == "1"}
    if of == "unit":
        changes.setdefault("until", None)
    try:
        given = read(CHANGE[of], changes)
        with database().writing() as store:
            former = pauses.pause_of(store, of, key, number)
            if request.form.get("version") != str(former.version):
                raise Conflict(CHANGED)
            pauses.change_pause(store, actor(), of, key, former, given)
            path = _named(store, of, key)[1]
    except (Invalid, Conflict) as refusal:
        return _pauses(of, key, refusal, number)
    return see_other(path)
