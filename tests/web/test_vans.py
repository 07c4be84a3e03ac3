"""Vans and the weeks ahead, by page: what is shown is what the API answers, and each movement is recorded once."""

import re

import pytest

from tests.web.conftest import Browser, technician_of
from tests.web.test_pages import EVIL

MOVES = "/v1/vans/rhea/movements"
CHANGE = "/vans/rhea/change"


@pytest.fixture
def rhea(site) -> Browser:
    """A technician's browser, with work today."""
    site.unit()
    site.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    return technician_of(site)


def id_on(browser) -> str:
    return re.search(r'name="id" value="([^"]+)"', browser.open(CHANGE).text)[1]


def test_what_is_taken_and_counted_is_shown_and_recorded_once(rhea, site) -> None:
    taken = {"id": id_on(rhea), "action": "take", "item": "Power switch", "count": "3"}
    for _ in range(2):
        assert rhea.send(CHANGE, taken).headers["Location"] == "/vans/rhea"
    counted = {"id": id_on(rhea), "action": "count", "item": "coil cleaner", "quantity": "2 L"}
    assert rhea.send(CHANGE, counted).status_code == 303
    page = rhea.page("/vans/rhea")

    assert [each["count"] for each in site.get(MOVES)["items"]] == [3, None]
    stock = page.partition("Last counted")[2]
    assert "Power switch 3 never Take power switch Count power switch" in stock
    assert "Coil cleaner 67.6 fl oz 2026-06-09 15:00 " in stock
    assert "2026-06-09 15:00, rhea: taken into the van, Power switch, 3" in stock
    assert 'value="power switch"' in rhea.open("/vans/rhea/change?action=count&item=power+switch").text


def test_a_wrong_movement_is_named_at_its_field_and_kept(rhea, site) -> None:
    answer = rhea.send(CHANGE, {"action": "take", "item": "pump", "count": "2,5"})
    assert (answer.status_code, 'value="2,5"' in answer.text, 'id="fault-count"' in answer.text) == (422, True, True)
    assert rhea.send(CHANGE, {"action": "take", "item": "pump"}).status_code == 422
    assert site.get(MOVES)["items"] == []


def test_a_technician_changes_no_other_van(rhea, site) -> None:
    site.post("/v1/technicians", {"code": "otto", "name": "Otto"})
    assert "/vans/otto/change" not in rhea.open("/vans/otto").text
    answer = rhea.send("/vans/otto/change", {"action": "take", "item": "pump", "count": "1"})
    assert (answer.status_code, "moves what is in their van alone" in answer.text) == (422, True)
    assert rhea.open("/vans").headers["Location"] == "/vans/rhea"
    assert rhea.open("/vans/nobody").status_code == 404


def test_the_chance_of_running_short_is_that_of_the_api(rhea, site) -> None:
    for month in (1, 2, 3, 4):
        replaced = {"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}
        site.visit(f"2026-0{month}-10", replacements=[replaced])
    (load,) = site.get("/v1/vans")["vans"]
    pump = next(each for each in load["items"] if each["item"] == "pump")

    shown = f"Pump {pump['bring']:g} none recorded {round(100 * pump['chance_short'])} % {pump['why'][0]}"
    assert shown in rhea.page("/vans/rhea")
    assert shown in Browser(site, site.tokens["dispatcher"]).page("/vans")
    assert "Work of 2026-07-09 is likely to need" in rhea.page("/vans/rhea?on=2026-07-09")


def test_the_weeks_ahead_are_those_of_the_api(rhea, site) -> None:
    leave = [{"from": "2026-07-06", "until": "2026-07-12"}]
    site.patch("/v1/technicians/rhea", {"hours_per_day": 1, "leave": leave}, 1)
    plan = site.get("/v1/pm-plan")
    office = Browser(site, site.tokens["dispatcher"])
    page = office.page("/weeks")

    assert plan["first_overload"]
    assert plan["moved"]
    assert f"the first from {plan['first_overload']}" in page
    for week in plan["weeks"]:
        due, planned, available = (f"{round(week[f'hours_{name}'], 1):g}" for name in ("due", "planned", "available"))
        over = " overloaded by [0-9.]+ h" if week["overloaded"] else ""
        shown = rf"{week['from']} to {week['until']}{over} {due} of {available} h {planned} of {available} h "
        assert re.search(shown, page), shown
    for moved in plan["moved"]:
        assert f"{moved['due_on']} , plan that day {moved['to_week']} {moved['limit']}" in page
    assert office.open("/weeks?from=2026-06-01").status_code == 422
    assert rhea.open("/weeks").status_code == 403


def test_nothing_of_the_record_is_run(rhea, site) -> None:
    site.patch("/v1/technicians/rhea", {"name": EVIL, "hours_per_day": 0}, 1)
    site.patch("/v1/sites/lantern-quay", {"name": EVIL}, 2)
    site.post(MOVES, {"action": "take", "item": EVIL, "count": 1})
    office = Browser(site, site.tokens["dispatcher"])
    for path in ("/vans", "/vans/rhea", CHANGE, "/weeks"):
        answer = office.open(path)
        assert (answer.status_code, "<script>alert" in answer.text) == (200, False), path
