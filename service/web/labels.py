"""Labels for units: which units, which sheet, where on a sheet to begin."""

from urllib.parse import quote

from flask import Response, request

from service.api.auth import OFFICE
from service.api.headers import attachment
from service.api.state import database, now, state
from service.domain.errors import Fault, Invalid
from service.domain.instants import local_day
from service.domain.record.fleet import Unit, UnitFilter
from service.rendering.labels.sheets import SHEETS, Label, render
from service.usecases.system import Store
from service.web.page import Pages
from service.web.render import show

MOST = 1000
PDF = "application/pdf"
pages = Pages("labels")


@pages.get("/labels", allow=OFFICE)
def choose() -> Response:
    """The units, to tick."""
    with database().reading() as store:
        found = _units(store)
        sites = {site.code: site.name for site in store.sites.page(after=None, limit=MOST, customer_code=None)}
    return show(
        "labels.html", found=found, sites=sites, sheets=SHEETS, host=request.host, ticked=request.args.getlist("unit")
    )


@pages.post("/labels", allow=OFFICE)
def print_labels() -> Response:
    """The labels of the units ticked, as a PDF; the code leads to this server under the name it was opened by."""
    form = request.form
    sheet = SHEETS.get(form.get("sheet", ""))
    if sheet is None:
        raise Invalid([Fault("sheet", form.get("sheet"), "choose one of the sheets")])
    first = form.get("first", "1").strip() or "1"
    if not (first.isascii() and first.isdigit() and 1 <= int(first) <= sheet.across * sheet.down):
        raise Invalid([Fault("first", first, f"give a place from 1 to {sheet.across * sheet.down}")])
    with database().reading() as store:
        units = [store.units.get(tag) for tag in form.getlist("unit")[:MOST]]
        sites = {unit.site: store.sites.get(unit.site).name for unit in units}
    if not units:
        raise Invalid([Fault("unit", None, "tick at least one unit")])
    labels = [Label(each.tag, each.place or sites[each.site], _address(each.tag)) for each in units]
    body = state().computing.run(render, labels, sheet, int(first))
    return Response(body, 200, attachment("labels.pdf"), content_type=PDF)


def _address(tag: str) -> str:
    return f"{request.host_url}units/{quote(tag, safe='')}"


def _units(store: Store) -> list[Unit]:
    today_in = {zone: local_day(now(), zone) for zone in store.sites.zones()}
    return store.units.page(UnitFilter(today_in=today_in), after=None, limit=MOST)
