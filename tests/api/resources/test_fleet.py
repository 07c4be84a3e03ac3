"""Customers, technicians and sites over HTTP, and who may do what."""

import pytest

from service.app import RESOURCES

EVERYWHERE = {"technician", "dispatcher", "owner"}
OFFICE = {"dispatcher", "owner"}
# The contract's table of paths and who may call them. Reads that technicians need on the road are wider than its
# "dispatcher, owner": a site's address and access, the colleagues, the catalogue of tasks.
ALLOWED = [
    ("GET", "/v1/customers", OFFICE),
    ("POST", "/v1/customers", OFFICE),
    ("GET", "/v1/customers/lantern", OFFICE),
    ("PATCH", "/v1/customers/lantern", OFFICE),
    ("GET", "/v1/sites", EVERYWHERE),
    ("POST", "/v1/sites", OFFICE),
    ("GET", "/v1/sites/lantern-quay", EVERYWHERE),
    ("PATCH", "/v1/sites/lantern-quay", OFFICE),
    ("GET", "/v1/units", EVERYWHERE),
    ("POST", "/v1/units", OFFICE),
    ("GET", "/v1/units/GU-0007", EVERYWHERE),
    ("PATCH", "/v1/units/GU-0007", OFFICE),
    ("GET", "/v1/units/GU-0007/history", EVERYWHERE),
    ("GET", "/v1/units/GU-0007/due", EVERYWHERE),
    ("GET", "/v1/units/GU-0007/tasks", EVERYWHERE),
    ("PATCH", "/v1/units/GU-0007/tasks/pump_check", OFFICE),
    ("GET", "/v1/visits", EVERYWHERE),
    ("POST", "/v1/visits", EVERYWHERE),
    ("PATCH", "/v1/visits/0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", EVERYWHERE),
    ("POST", "/v1/visits/0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77/void", EVERYWHERE),
    ("GET", "/v1/pm-list", EVERYWHERE | {"reader"}),
    ("GET", "/v1/tasks", EVERYWHERE),
    ("PATCH", "/v1/tasks/pump_check", OFFICE),
    ("GET", "/v1/technicians", EVERYWHERE),
    ("POST", "/v1/technicians", {"owner"}),
    ("PATCH", "/v1/technicians/rhea", {"owner"}),
    ("GET", "/v1/tokens", {"owner"}),
    ("POST", "/v1/tokens", {"owner"}),
    ("GET", "/v1/audit", {"owner"}),
]


@pytest.mark.parametrize(("method", "path", "roles"), ALLOWED, ids=lambda part: part if isinstance(part, str) else "")
def test_each_role_may_do_what_the_contract_says(shop, method, path, roles) -> None:
    for role in EVERYWHERE | {"reader"}:
        status = shop.ask(method, path, {} if method != "GET" else None, role=role, If_Match='"1"').status_code

        assert (status != 403) == (role in roles), (role, status)


def test_what_is_got_changes_nothing(stocked) -> None:
    """RFC 9110, 9.2.1: GET is safe."""
    before = stocked.get("/v1/audit")["items"], stocked.ask("GET", "/v1/exports").data, stocked.counted()
    for operation in (each for routes in RESOURCES for each in routes.operations if each.method == "GET"):
        path = operation.path.replace("{tag}", "GU-0007").replace("{year:int}", "2026").replace("{id:int}", "1")
        assert stocked.ask("GET", path.replace("{code}", "lantern")).status_code < 500

    assert before == (stocked.get("/v1/audit")["items"], stocked.ask("GET", "/v1/exports").data, stocked.counted())


def test_nobody_is_let_in_without_a_token(stocked) -> None:
    answers = [stocked.app.test_client().open(path, method=method) for method, path, _ in ALLOWED]

    assert {answer.status_code for answer in answers} == {401}


@pytest.mark.parametrize(("resource", "path"), [("customer", "customers"), ("technician", "technicians")])
def test_a_record_is_reported_as_it_was_given(shop, resource, path) -> None:
    given = shop.example(resource)
    shop.post(f"/v1/{path}", given)
    shown = shop.get(f"/v1/{path}/{given['code']}")

    assert given.items() <= shown.items()
    assert shown["version"] == 1


def test_the_site_of_the_contract_is_reported_as_it_was_given(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    shop.post("/v1/sites", shop.example("site"))

    assert shop.example("site").items() <= shop.get("/v1/sites/lantern-quay").items()


def test_a_code_is_given_once(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    again = shop.ask("POST", "/v1/customers", shop.example("customer", name="Another"))

    assert (again.status_code, again.json["type"]) == (409, "/problems/conflict")
    assert shop.get("/v1/customers/lantern")["name"] == "The Lantern Room"


def test_a_site_needs_a_customer_and_a_technician_that_exist(shop) -> None:
    refused = shop.ask("POST", "/v1/sites", shop.example("site", technician="nobody"))

    assert refused.status_code == 422
    assert {fault["field"] for fault in refused.json["errors"]} == {"customer", "technician"}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("time_zone", "America/Denvr"),
        ("time_zone", "../../etc/passwd"),
        ("time_zone", 7),
        ("latitude", 90.5),
        ("latitude", "39.74"),
        ("longitude", -181),
        ("longitude", True),
        ("surroundings", "sticky"),
        ("closed_weekdays", ["funday"]),
        ("closed_weekdays", None),
        ("code", "lantern quay"),
        ("code", "lantern-quay\n"),
        ("code", "x" * 65),
        ("name", ""),
        ("name", None),
        ("colour", "red"),
    ],
)
def test_a_site_that_cannot_be_is_refused_by_field_and_value(stocked, field, value) -> None:
    before = stocked.counted()
    refused = stocked.ask("POST", "/v1/sites", stocked.example("site") | {"code": "pier", field: value})

    assert refused.status_code == 422
    assert {(fault["field"].split(".")[0]) for fault in refused.json["errors"]} == {field}
    assert stocked.counted() == before


def test_a_wrong_word_is_answered_with_the_list(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    refused = shop.ask("POST", "/v1/sites", shop.example("site", surroundings="sticky"))

    assert all(word in refused.json["errors"][0]["message"] for word in ("clean", "dusty", "greasy", "outdoor"))


def test_a_change_needs_if_match_and_the_version_last_read(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    change = {"phone": "303 555 0134"}

    assert shop.ask("PATCH", "/v1/customers/lantern", change).status_code == 428
    assert shop.ask("PATCH", "/v1/customers/lantern", change, If_Match='"7"').status_code == 412
    changed = shop.ask("PATCH", "/v1/customers/lantern", change, If_Match='"1"')
    assert (changed.status_code, changed.headers["ETag"]) == (200, '"2"')
    assert shop.ask("PATCH", "/v1/customers/lantern", change, If_Match='"1"').status_code == 412


def test_a_record_that_is_known_is_not_sent_again(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    read = shop.ask("GET", "/v1/customers/lantern")
    again = shop.ask("GET", "/v1/customers/lantern", If_None_Match=read.headers["ETag"])
    shop.patch("/v1/customers/lantern", {"phone": "1"}, 1)
    changed = shop.ask("GET", "/v1/customers/lantern", If_None_Match=read.headers["ETag"])

    assert (again.status_code, again.data) == (304, b"")
    assert changed.status_code == 200


def test_what_names_a_record_stays(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    shop.post("/v1/customers", shop.example("customer", code="other"))
    shop.post("/v1/sites", shop.example("site"))
    renamed = shop.ask("PATCH", "/v1/customers/lantern", {"code": "lamp"}, If_Match='"1"')
    moved = shop.ask("PATCH", "/v1/sites/lantern-quay", {"customer": "other"}, If_Match='"1"')

    assert (renamed.status_code, moved.status_code) == (422, 422)


def test_a_field_given_as_null_is_forgotten_and_others_stay(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    changed = shop.patch("/v1/customers/lantern", {"email": None}, 1)

    assert (changed["email"], changed["contact"]) == (None, "...")


def test_a_technician_who_has_left_keeps_the_record(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    shop.patch("/v1/technicians/rhea", {"left_on": "2026-06-09"}, 1)

    assert shop.get(f"/v1/visits/{shop.example('visit')['id']}")["technician"] == "rhea"
    assert shop.get("/v1/technicians/rhea")["left_on"] == "2026-06-09"


def test_every_change_of_the_fleet_is_in_the_audit_trail(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"), role="dispatcher")
    shop.patch("/v1/customers/lantern", {"phone": "303 555 0134"}, 1)
    changed, made = shop.get("/v1/audit?resource=customer")["items"]

    assert (made["actor"], made["action"], made["before"]) == ("the dispatcher", "created", None)
    assert (changed["actor"], changed["before"]["phone"], changed["after"]["phone"]) == (
        "the owner",
        "...",
        "303 555 0134",
    )


@pytest.mark.parametrize("path", ["customers", "technicians"])
def test_a_walk_through_a_list_meets_all_once_while_others_are_added(shop, path) -> None:
    resource = path.removesuffix("s")
    codes = [f"c{n:02}" for n in range(10, 30)]
    for code in codes:
        shop.post(f"/v1/{path}", shop.example(resource, code=code))
    page, met = shop.get(f"/v1/{path}?limit=3"), []
    while True:
        met += [item["code"] for item in page["items"]]
        shop.post(f"/v1/{path}", shop.example(resource, code=f"a{len(met)}"))  # before the cursor
        if page["next"] is None:
            break
        page = shop.get(page["next"])

    assert met == codes


def test_sites_are_listed_for_one_customer(shop) -> None:
    for customer in ("lantern", "anchor"):
        shop.post("/v1/customers", shop.example("customer", code=customer))
        for n in range(3):
            shop.post("/v1/sites", shop.example("site", code=f"{customer}-{n}", customer=customer))
    found = [site["code"] for site in shop.walk("/v1/sites?customer=anchor&limit=2")]

    assert found == ["anchor-0", "anchor-1", "anchor-2"]


def test_a_cursor_of_another_list_is_refused(shop) -> None:
    for n in range(2):
        shop.unit(f"GU-{n}")
    of_visits = shop.get("/v1/units/GU-0/history?limit=1")["next"].partition("cursor=")[2]

    assert shop.ask("GET", f"/v1/units?cursor={of_visits}").status_code == 422


@pytest.mark.parametrize("query", ["limit=0", "limit=501", "limit=x", "colour=red", "customer=a&customer=b"])
def test_a_list_is_asked_for_in_its_own_words(stocked, query) -> None:
    assert stocked.ask("GET", f"/v1/sites?{query}").status_code == 422


def test_opening_hours_are_times_of_the_day_of_a_weekday(shop) -> None:
    shop.unit()
    for wrong in ({"from": "8:00"}, {"until": "24:30"}, {"weekday": "mon"}):
        hours = {"weekday": "monday", "from": "08:00", "until": "02:00"} | wrong
        answer = shop.ask("PATCH", "/v1/sites/lantern-quay", {"opening_hours": [hours]}, If_Match='"1"')
        assert [answer.status_code, answer.json["errors"][0]["field"]] == [422, f"opening_hours.0.{next(iter(wrong))}"]
