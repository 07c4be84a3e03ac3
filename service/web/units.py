"""Units: searching them, and the page of one: what was found, done, left, what is open, and its history."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import Response, request

from service.api.auth import STAFF
from service.api.state import caller, database, now
from service.domain.condition.condition import condition_of
from service.domain.instants import local_day
from service.domain.maintenance.due import DueItem
from service.domain.maintenance.tasks import Task
from service.domain.record.fleet import UnitFilter
from service.domain.record.unit_log import UnitLog
from service.rendering.pm_list.wording import how_late, weekday_and_date
from service.schemas.reading import read
from service.schemas.root_causes import shown_root_cause
from service.schemas.units import UnitQuery
from service.usecases.maintenance.due import due_at, fleet_tasks
from service.usecases.maintenance.learning import learned_now
from service.usecases.root_causes.root_causes import at_unit
from service.usecases.system import Store
from service.web.charts import charts_of, drawing
from service.web.page import Pages
from service.web.render import show

MOST_FOUND = 40
LATEST_VISITS = 12
LATEST_PHOTOS = 12
pages = Pages("units")


@dataclass(frozen=True, slots=True)
class Due:
    """A due item in words."""

    item: DueItem
    task: Task
    late: str
    day: str


@pages.get("/units", allow=STAFF)
def search() -> Response:
    """Units by a part of tag, name, street, phone, maker or serial number."""
    sought = request.args.get("q", "").strip()
    with database().reading() as store:
        found = find(store, sought) if sought else []
        sites = {unit.site: store.sites.get(unit.site) for unit in found}
    return show("units.html", sought=sought, found=found[:MOST_FOUND], sites=sites, more=len(found) > MOST_FOUND)


@pages.get("/units/<tag>", allow=STAFF)
def unit_page(tag: str) -> Response:
    """All about one unit, found by its present or a former tag."""
    with database().reading() as store:
        log, learned = store.log_of(tag), learned_now(store)
        values = {**facts_of(store, log), "calls": [call for call in log.calls if call.waiting]}
        names = {each.code: each.name for each in store.technicians.by_id().values()}
        customer = store.customers.get(log.site.customer)
        photos = store.photos.of_unit(log.unit.tag, LATEST_PHOTOS)
    visits, system = list(reversed(log.all_visits)), caller().units_shown
    charts = charts_of(log, values["today"], system)
    ours = [visit for visit in visits if visit.void is None]
    return show(
        "unit.html", log=log, unit=log.unit, site=log.site, customer=customer,
        condition=condition_of(log, learned, system), visits=visits[:LATEST_VISITS], older=len(visits) > LATEST_VISITS,
        last=ours[0] if ours else None, names=names, system=system, charts=charts, drawing=drawing, photos=photos,
        days={visit.id: visit.day for visit in visits}, **values,
    )  # fmt: skip


def find(store: Store, sought: str) -> list[Any]:
    """One more unit than is shown at most, by tag."""
    text = read(UnitQuery(), {"text": sought})["text"]
    today_in = {zone: local_day(now(), zone) for zone in store.sites.zones()}
    return store.units.page(UnitFilter(text=text, today_in=today_in), after=None, limit=MOST_FOUND + 1)


def facts_of(store: Store, log: UnitLog) -> dict[str, Any]:
    """What is due at a unit, and its root causes that nobody dismissed."""
    tag = log.unit.tag
    items, today = due_at(store, tag, now())
    causes = [shown_root_cause(each) for each in at_unit(store, tag)]
    return {"due": in_words(store, items, today), "root_causes": causes, "today": today}


def in_words(store: Store, items: list[DueItem], today: date) -> list[Due]:
    """Due items with their tasks, soonest first."""
    tasks = fleet_tasks(store)
    return [
        Due(item, tasks[item.task], how_late((today - item.due_on).days), weekday_and_date(item.due_on))
        for item in items
        if not item.ended(today)
    ]
