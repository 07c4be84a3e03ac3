"""The office: taking a call, the day by technician, registering, decisions, documents, access."""

import re

import pytest

from tests.api.resources.burnt_switches import burn_switches
from tests.web.conftest import Browser, technician_of

CALL = {
    "unit": "GU-0007", "received_at": "2026-06-09T20:50:00+00:00", "symptom": "warm_pour", "words": "warm since noon",
    "urgency": "now", "by.name": "bar", "by.phone": "303 555 0100",
}  # fmt: skip


def take(office, **changes):
    form_id = re.search(r'name="id" value="([^"]+)"', office.open("/calls/new?unit=GU-0007").text)[1]
    return office.send("/calls/new", CALL | {"id": form_id} | changes)


def version_on(page: str) -> str:
    return re.search(r'name="version" value="(\d+)"', page)[1]


def test_a_call_is_taken_with_what_to_ask_first(office, site) -> None:
    place = take(office).headers["Location"]
    page = office.page(place)
    call = site.get("/v1" + place)
    asked = site.ask("POST", "/v1/triage", {"unit": "GU-0007", "symptom": "warm_pour"}).json["next"][0]

    assert (call["symptom"], call["urgency"], call["by"]["phone"], call["unit"]) == (
        "warm_pour", "now", "303 555 0100", "GU-0007",
    )  # fmt: skip
    assert asked["do"] in page
    assert "warm since noon" in office.page("/calls")


def test_a_call_says_what_skills_it_asks_for(office, site) -> None:
    answer = take(office, skills="refrigerant, electrical")
    made = site.get("/v1" + answer.headers["Location"])
    assert made["skills"] == ["refrigerant", "electrical"]
    assert "It asks for: refrigerant, electrical" in office.page(answer.headers["Location"])


def test_sending_the_call_again_makes_no_second_one(office, site) -> None:
    form = CALL | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b70"}

    assert [office.send("/calls/new", form).status_code for _ in range(2)] == [303, 303]
    assert len(site.walk("/v1/calls")) == 1


def test_a_call_without_a_symptom_is_asked_for_again_and_keeps_what_was_typed(office, site) -> None:
    answer = take(office, symptom="")

    assert answer.status_code == 422
    assert "warm since noon" in answer.text
    assert site.walk("/v1/calls") == []


@pytest.mark.parametrize(
    ("form", "state"),
    [
        ({"do": "assign", "technician": "rhea", "day": "2026-06-10"}, "assigned"),
        ({"do": "answered", "advice": "switch it on again"}, "answered"),
        ({"do": "cancelled", "why": "solved itself"}, "cancelled"),
    ],
)
def test_a_call_goes_on(office, site, form, state) -> None:
    place = take(office).headers["Location"]
    version = version_on(office.open(place).text)

    assert office.send(place, form | {"version": version}).status_code == 303
    assert site.get("/v1" + place)["state"] == state
    assert office.send(place, form | {"version": version}).status_code == 422  # it has changed since


def test_a_call_cancelled_without_a_reason_stays(office, site) -> None:
    place = take(office).headers["Location"]
    version = version_on(office.open(place).text)
    answer = office.send(place, {"do": "cancelled", "version": version})

    assert answer.status_code == 422
    other = office.send(place, {"do": "cancelled", "version": "99", "why": "solved itself"})
    assert (other.status_code, 'value="solved itself"' in other.text) == (422, True)
    assert site.get("/v1" + place)["state"] == "open"


def test_the_day_goes_by_technician_and_is_assigned_and_postponed_by_form(office, site) -> None:
    take(office)
    site.unit("GU-0008", installed_on=None, components=[], trunks=[], registered_on="2026-06-09")
    before = office.page("/plan")
    assign = {"do": "assign", "site": "lantern-quay", "technician": "rhea", "day": "2026-06-09"}

    assert before.index("Nobody yet") < before.index("open call")
    assert office.send("/plan", assign).headers["Location"] == "/plan"
    assert [stop["technician"] for stop in site.get("/v1/pm-list")["stops"]] == ["rhea"]
    later = {"do": "postpone", "site": "lantern-quay", "unit": "GU-0008", "postponed_to": "2026-06-10", "why": "closed"}
    refused = office.send("/plan", later | {"share": "rhea"}).text
    assert "an owner may go beyond with a note" in refused
    assert 'value="GU-0008" selected' in refused
    assert 'name="postponed_to" type="date" value="2026-06-10"' in refused
    assert Browser(site, site.tokens["owner"]).send("/plan", later | {"note": "it is new"}).status_code == 303
    plans = site.walk("/v1/assignments")
    assert [(plan["technician"], plan["unit"], plan["postponed_to"]) for plan in plans] == [
        ("rhea", None, None),
        (None, "GU-0008", "2026-06-10"),
    ]
    assert office.send("/plan", assign | {"technician": "nobody"}).status_code == 422
    assert office.send("/plan", assign | {"day": "2026-06-10"}).status_code == 303
    assert [plan["day"] for plan in site.walk("/v1/assignments")] == ["2026-06-10", None]
    assert office.send("/plan", later | {"why": ""}).status_code == 422


def test_a_customer_a_site_and_a_unit_are_registered_one_after_the_other(office, site) -> None:
    customer = {"code": "pier", "name": "The Pier", "units_shown": "us"}
    place = {"customer": "pier", "code": "pier-end", "name": "Pier End", "time_zone": "America/Denver"}
    unit = {"tag": "GU-0100", "site": "pier-end", "bath.volume": "10 gal", "components": "pump"}

    assert office.send("/register/customer", customer).headers["Location"] == "/register/site?customer=pier"
    assert office.send("/register/site", place | {"closed_weekdays": "monday"}).headers["Location"] == (
        "/register/unit?site=pier-end"
    )
    assert office.send("/register/unit", unit).headers["Location"] == "/units/GU-0100"
    made = site.get("/v1/units/GU-0100?units=us")
    assert (made["bath"]["volume"]["entered"], [part["code"] for part in made["components"]]) == ("10 gal", ["pump-1"])


def test_a_unit_of_a_model_seen_before_gets_its_parts(office, site) -> None:
    like = site.get("/v1/units/GU-0007")
    form = office.open("/register/unit?like=GU-0007").text
    office.send("/register/unit", {"like": "GU-0007", "tag": "GU-0101", "site": "lantern-quay", "serial": "77"})
    made = site.get("/v1/units/GU-0101")

    assert f'value="{like["maker"]}"' in form
    assert 'name="components"' not in form
    assert [part["code"] for part in made["components"]] == [part["code"] for part in like["components"]]
    assert (made["bath"], made["serial"], made["maker"]) == (like["bath"], "77", like["maker"])


def test_a_wrong_field_is_named_and_what_was_typed_is_kept(office) -> None:
    answer = office.send("/register/site", {"customer": "lantern", "code": "x", "name": "X", "time_zone": "Denver"})

    assert answer.status_code == 422
    assert 'href="#f-time_zone"' in answer.text
    assert 'value="Denver"' in answer.text


def test_a_root_cause_is_decided_with_a_note(owner, site) -> None:
    burn_switches(site)
    page = owner.open("/root-causes").text
    number = re.search(r'action="/root-causes/(\d+)"', page)[1]
    decision = {"state": "confirmed", "note": "seen it", "version": version_on(page)}

    assert owner.send(f"/root-causes/{number}", decision | {"note": ""}).status_code == 422
    kept = owner.send(f"/root-causes/{number}", decision | {"state": "solved"})
    assert (kept.status_code, ">seen it</textarea>" in kept.text) == (422, True)
    assert owner.send(f"/root-causes/{number}", decision).status_code == 303
    assert site.get(f"/v1/root-causes/{number}")["state"] == "confirmed"
    assert owner.send(f"/root-causes/{number}", decision).status_code == 422  # it has changed since


def test_access_is_given_by_a_link_that_signs_in_once(owner, site) -> None:
    made = owner.send("/tokens", {"name": "Rhea", "role": "technician", "technician": "rhea", "units_shown": "us"})
    link = re.search(r"http://localhost(/link/[\w-]+)", made.text)[1]
    phone = Browser(site)

    assert "<svg" in made.text
    assert "style=" not in made.text  # which the policy of the pages would block
    assert phone.send(link, {}).status_code == 303
    assert "Rhea, technician" in phone.page("/devices")
    token_id = next(token["id"] for token in site.walk("/v1/tokens") if token["name"] == "Rhea")
    assert owner.send(f"/tokens/{token_id}/revoke", {}).status_code == 303
    assert phone.open("/devices").status_code == 401


def test_the_years_documents_are_pdf_files(owner) -> None:
    assert 'href="/years/2026/lantern"' in owner.open("/years").text
    for path in ("/years/2026", "/years/2026/lantern"):
        answer = owner.open(path)
        assert (answer.status_code, answer.mimetype) == (200, "application/pdf")
        assert answer.data.startswith(b"%PDF")


def test_triage_asks_one_question_after_another(office, site) -> None:
    first = office.open("/units/GU-0007/triage?symptom=warm_pour").text
    asked = site.ask("POST", "/v1/triage", {"unit": "GU-0007", "symptom": "warm_pour"}).json["next"]
    skipped = office.page(f"/units/GU-0007/triage?symptom=warm_pour&skip={asked[0]['code']}")
    read = office.page("/units/GU-0007/triage?symptom=warm_pour&read:bath_temperature:=11,5")

    assert asked[0]["do"] in first
    assert asked[1]["do"] in skipped
    assert "bath temperature: 11,5 °C" in read
    assert "What does the customer notice?" in office.page("/units/GU-0007/triage")


def test_a_technician_takes_calls_and_plans_nothing(site) -> None:
    site.unit()
    browser = technician_of(site)

    assert take(browser).status_code == 303
    assert "Assign or postpone" not in browser.open("/").text
    assert browser.open("/plan").status_code == 403
