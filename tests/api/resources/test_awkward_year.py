"""One awkward year, whose figures were worked out by hand from the definitions in the document.

New Year in another zone, two calls before one visit, advice by phone, a correction, a void, a visit posted late, a
move to another customer, a retirement and its successor, a pause, others' work, imprecise days, one attendance at
three units.
"""

from datetime import datetime

import pytest

PM = [{"task": "pump_check", "result": "done"}, {"task": "bath_level_check", "result": "done"}]
PUMP, BATH = PM[:1], PM[1:]
PARTS = {"switch-1": "power_switch", "pump-1": "pump", "fan-1": "condenser_fan"}
REPORTED = {"reason": "failed", "condition": "seized", "evidence": "reported", "by": "others"}
BURNT = [{"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}]
WORN = [{"component": "fan-1", "reason": "precaution", "condition": "worn", "evidence": "seen"}]
DEN, APIA, BERLIN = "harbor-den", "harbor-apia", "elm-berlin"
SITES = {DEN: "America/Denver", APIA: "Pacific/Apia", BERLIN: "Europe/Berlin"}


def at(shop, text):
    shop.now = datetime.fromisoformat(f"{text}:00+00:00")
    return f"{text}:00Z"


def uuid(number):
    return f"00000000-0000-4000-8000-{number:012}"


def changed(shop, path, body, method="PATCH"):
    assert shop.ask(method, path, body, If_Match="*").status_code == 200


def unit(shop, tag, site, on):
    at(shop, f"{on}T18:00")
    parts = [{"code": code, "kind": kind} for code, kind in PARTS.items()]
    shop.post("/v1/units", {"tag": tag, "site": site, "installed_on": on, "registered_on": on, "components": parts})


def called(shop, number, tag, site, text, symptom="warm_pour"):
    asked = {"received_at": at(shop, text), "site": site, "unit": tag, "symptom": symptom, "urgency": "today"}
    shop.post("/v1/calls", {"id": uuid(number), "by": {"name": "bar"}} | asked)


def visited(shop, number, tag, arrived, left, posted=None, **more):
    of = {"technician": "rhea"} if "by" not in more else {}
    body = {"id": uuid(number), "unit": tag, "kind": "maintenance", "outcome": "running"} | of
    at(shop, posted or left)
    shop.post("/v1/visits", body | {"arrived_at": f"{arrived}:00Z", "left_at": f"{left}:00Z"} | more)


def set_up(shop):
    at(shop, "2025-11-20T12:00")
    for task in [each["code"] for each in shop.get("/v1/tasks")["items"]]:
        if task not in ("pump_check", "bath_level_check", "follow_up"):
            changed(shop, f"/v1/tasks/{task}", {"applies": False})
    for code in ("rhea", "tobin"):
        shop.post("/v1/technicians", {"code": code, "name": code})
    for code in ("harbor", "elm"):
        shop.post("/v1/customers", {"code": code, "name": code})
    for code, zone in SITES.items():
        shop.post("/v1/sites", {"code": code, "customer": code.split("-")[0], "name": code, "time_zone": zone})
    for tag in ("H1", "H2", "H3", "H4", "H7", "E1"):
        unit(shop, tag, APIA if tag == "H3" else DEN, "2025-12-01")


def first_half(shop):
    visited(shop, 1, "H3", "2025-12-31T13:00", "2025-12-31T14:00", tasks=PM)  # 2026-01-01 in Apia
    complaint = {"symptom": "unit_dead", "reported_at": "2026-02-10T13:00:00Z"}
    visited(shop, 2, "E1", "2026-02-10T15:00", "2026-02-10T16:00", kind="service_call", tasks=PM, complaint=complaint)
    called(shop, 101, "H1", DEN, "2026-03-01T15:00")
    called(shop, 102, "H1", DEN, "2026-03-01T20:00")
    answers = {"kind": "service_call", "calls": [uuid(101), uuid(102)]}
    visited(shop, 3, "H1", "2026-03-02T16:00", "2026-03-02T18:00", tasks=PM, replacements=BURNT, **answers)
    at(shop, "2026-03-20T12:00")
    shop.post("/v1/units/H7/pauses", {"from": "2026-04-01", "until": "2026-09-30", "reason": "bar closed"})
    visited(shop, 4, "H4", "2026-04-10T15:00", "2026-04-10T16:00", tasks=PM, replacements=WORN, outcome="down")
    changed(shop, f"/v1/visits/{uuid(4)}", {"outcome": "running", "why": "typed wrong"})
    called(shop, 103, "H2", DEN, "2026-05-10T18:00", symptom="no_flow")
    advised = {"state": "answered", "how": "phone_advice", "at": at(shop, "2026-05-10T18:20")}
    changed(shop, f"/v1/calls/{uuid(103)}", advised)
    at(shop, "2026-06-20T12:00")
    shop.post("/v1/units/E1/locations", {"site": BERLIN, "from": "2026-07-01", "reason": "sold"})


def second_half(shop):
    visited(shop, 5, "H2", "2026-07-01T15:00", "2026-07-01T18:00", outcome="down", replacements=BURNT)
    changed(shop, f"/v1/visits/{uuid(5)}/void", {"reason": "wrong unit"}, "POST")
    unit(shop, "H6", DEN, "2026-08-15")
    changed(shop, "/v1/units/H4", {"retired_on": "2026-08-15"})
    theirs = {"by": "others", "evidence": "reported", "firm": "Nordkalt", "kind": "service_call", "tasks": PUMP}
    fan = [{"component": "fan-1", "on": "2026-09-09"} | REPORTED]
    visited(shop, 6, "H1", "2026-09-09T15:00", "2026-09-09T16:30", replacements=fan, **theirs)
    visited(shop, 7, "E1", "2026-09-15T08:00", "2026-09-15T09:00", tasks=PUMP, replacements=BURNT)
    remembered = [{"component": "pump-1", "on": "2026-10"} | REPORTED, {"component": "fan-1", "on": "2025"} | REPORTED]
    done = {"H1": {"tasks": PUMP}, "H2": {"tasks": BATH, "replacements": remembered}, "H6": {"tasks": PUMP}}
    plain = {"kind": "maintenance", "outcome": "running"}
    each = [{"id": uuid(50 + n), "unit": tag} | plain | more for n, (tag, more) in enumerate(done.items())]
    times = {"arrived_at": "2026-11-20T16:00:00Z", "left_at": at(shop, "2026-11-20T19:00")}
    crew = {"id": uuid(60), "site": DEN, "crew": ["rhea", "tobin"], "access": "done"}
    shop.post("/v1/attendances", crew | times | {"visits": each})
    called(shop, 104, "H3", APIA, "2026-12-31T10:30")
    answers = {"kind": "service_call", "calls": [uuid(104)]}
    visited(shop, 8, "H3", "2026-12-31T12:00", "2026-12-31T13:00", **answers)  # 2027-01-01 in Apia
    warm = {"quantity": "beer_temperature_at_tap", "tap": "1", "value": "48 degF", "when": "as_found"}
    pours = [warm, warm | {"value": "36 degF", "when": "as_left"}]
    late = "2027-01-10T12:00"
    visited(shop, 9, "H2", "2026-11-03T17:00", "2026-11-03T18:00", late, tasks=PUMP, readings=pours)
    at(shop, "2027-01-20T12:00")


@pytest.fixture
def played(shop):
    set_up(shop)
    first_half(shop)
    second_half(shop)
    return shop


def minutes(without):
    return [without[name]["value"] for name in ("seen", "estimated", "estimated_high")]


def states(pm):
    return [pm[name] for name in ("on_time", "late", "missed", "first", "never_recorded")]


def figures(of):
    """Breakdowns, minutes seen, estimated, at most; PM; visits, minutes on site; parts replaced, of them failed."""
    cold, time, parts = of["without_cold_beer"], of["time_on_site"], of["replaced"]
    return cold["outages"], minutes(cold), states(of["pm"]), time["visits"], time["total"]["value"], parts["failed"]


def test_the_figures_are_those_worked_out_by_hand(played):
    harbor, elm = (played.get(f"/v1/customers/{code}/service-summaries/2026") for code in ("harbor", "elm"))
    phoned = [0, 0.5 * (20 + 24 * 60), 20 + 24 * 60]  # half of the time to 24 h after the advice
    by_chance = (176 * 24 * 60) - 20  # found on 3 November, and not before the advice had ended the other one
    chance = [60, 12 * 60 + 60, by_chance]
    by_hand = {
        "E1": (1, [180] * 3, [0, 0, 2, 2, 0], 1, 60, 0),  # until 30 June
        "H1": (1, [27 * 60] * 3, [1, 1, 1, 2, 0], 3, 120 + 90 + 60, 2),  # a third of the attendance
        "H2": (
            2,
            [a + b for a, b in zip(phoned, chance, strict=True)],
            [0, 0, 0, 2, 0],
            2,
            120,
            1,
        ),  # one fan counts in 2025
        "H3": (1, [30] * 3, [0, 0, 2, 2, 0], 1, 60, 0),  # to midnight in Apia
        "H4": (0, [0] * 3, [0, 0, 2, 2, 0], 1, 60, 0),
        "H6": (0, [0] * 3, [0, 0, 0, 1, 1], 1, 60, 0),
        "H7": (0, [0] * 3, [0, 0, 0, 0, 2], 0, 0, 0),  # due on 1 March, before the pause
    }
    assert {each["tag"]: figures(each) for each in harbor["units"]} == by_hand
    assert figures(harbor) == (5, [1890, 2620 + 12 * 60, 3350 - 60 + by_chance], [1, 1, 7, 11, 3], 9, 630, 3)
    assert figures(elm) == (0, [0] * 3, [0, 1, 2, 0, 0], 1, 60, 1)
    assert harbor["headline"]["how_it_went"] == (
        "Five breakdowns in 2026; two of them at H2. Six maintenance tasks were overdue at the end of 2026, the oldest "
        "since 2026-03-01. Four were not done before their units left."
    )
    assert harbor["headline"]["figures"][0]["more"] == (  # a fan at H1, a pump at H2
        "not counted: 2 failed parts replaced by others, who reported no warm beer"
    )
    assert harbor["done"][0] == "6 visits to 6 units, 2 of them because you called."  # one arrival at three units
    assert {each["tag"]: each["out_of_service"] for each in harbor["units"] if each["out_of_service"]} == {
        "H7": [{"first": "2026-04-01", "last": "2026-09-30", "of": "unit"}]
    }
    gaps = [each["sentence"] for each in harbor["gaps"]]
    assert gaps[:2] == [
        "Units without a visit in this period: 1 of 7.",
        "Units out of service for a part of this period: 1 of 7.",
    ]
    assert harbor["done"][1].startswith("12 maintenance tasks done: pump check 7,")


def test_the_year_as_it_was_known_before_the_late_post_and_the_next_one(played):
    path = "/v1/customers/harbor/service-summaries"
    then, after = (played.get(f"{path}/{of}") for of in ("2026?as_of=2027-01-05T12:00:00Z", "2027"))

    assert (then["time_on_site"]["visits"], then["without_cold_beer"]["outages"]) == (8, 4)
    cold = after["without_cold_beer"]
    assert (cold["outages"], cold["carried_over"], minutes(cold)[0]) == (0, 1, 120)  # from midnight in Apia
    assert after["year_before"]["breakdowns"] == 5
