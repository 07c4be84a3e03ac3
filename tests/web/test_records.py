"""The records behind the work, changed by form: fleet, whereabouts, PM settings, plan, technicians, company."""

import re

import pytest

from service.web.menu import ENTRIES
from tests.web.conftest import Browser, technician_of
from tests.web.test_pages import EVIL

OFFICE_PAGES = (
    "/customers/lantern/edit", "/sites/lantern-quay/edit", "/units/GU-0007/edit", "/units/GU-0007/components",
    "/units/GU-0007/new-component", "/units/GU-0007/components/pump-1", "/units/GU-0007/locations",
    "/units/GU-0007/trunks", "/units/GU-0007/new-trunk", "/units/GU-0007/trunks/bar",
    "/units/GU-0007/pauses", "/sites/lantern-quay/closures", "/sites/lantern-quay/hours",
    "/pm-settings", "/pm-settings/condenser_clean",
    "/units/GU-0007/pm-settings", "/units/GU-0007/pm-settings/condenser_clean", "/onboarding", "/register",
)  # fmt: skip
OWNER_PAGES = ("/company", "/technicians/rhea/edit", "/technicians/rhea/leave")


def version_of(browser, path) -> str:
    return re.search(r'name="version" value="(\d+)"', browser.open(path).text)[1]


def change(browser, path, **fields):
    form = {name.replace("__", "."): value for name, value in fields.items()}
    return browser.send(path, {"version": version_of(browser, path)} | form)


@pytest.mark.parametrize(
    ("path", "api", "fields", "stored"),
    [
        ("/customers/lantern/edit", "customers/lantern", {"ended_on": "2026-12-31"}, {"ended_on": "2026-12-31"}),
        (
            "/sites/lantern-quay/edit",
            "sites/lantern-quay",
            {"surroundings": "outdoor", "latitude": "39,75", "closed_weekdays": "sunday", "address": ""},
            {"surroundings": "outdoor", "latitude": 39.75, "closed_weekdays": ["sunday"], "address": None},
        ),
        (
            "/units/GU-0007/edit",
            "units/GU-0007",
            {"place": "roof", "retired_on": "2026-07-01"},
            {"place": "roof", "retired_on": "2026-07-01"},
        ),
        (
            "/technicians/rhea/edit",
            "technicians/rhea",
            {"hours_per_day": "6,5", "skills": "refrigerant, lift", "day_starts_at": "07:30"},
            {"hours_per_day": 6.5, "skills": ["refrigerant", "lift"], "day_starts_at": "07:30"},
        ),
        (
            "/company",
            "company",
            {"name": "Cold Lines", "hours_per_day": "8"},
            {"name": "Cold Lines", "hours_per_day": 8.0},
        ),
    ],
)
def test_what_differs_is_stored_and_the_rest_stays(owner, site, path, api, fields, stored) -> None:
    before = site.get(f"/v1/{api}")
    answer = change(owner, path, **fields)
    after = site.get(f"/v1/{api}")
    changed = {name: after[name] for name in after if after[name] != before[name] and name in before}

    assert answer.status_code == 303, answer.text[-2500:]
    assert {name: changed[name] for name in changed if name not in ("version", "capacity")} == stored
    assert change(owner, path, **fields).status_code == 422  # nothing differs any more


def test_a_form_opens_with_what_is_stored(owner, site) -> None:
    site.patch("/v1/technicians/rhea", {"hours_per_day": 6.5}, 1)
    unit = owner.open("/units/GU-0007/edit").text

    assert 'value="6.5"' in owner.open("/technicians/rhea/edit").text
    assert f'value="{site.get("/v1/units/GU-0007")["serial"]}"' in unit
    assert f'value="{site.get("/v1/units/GU-0007?units=us")["bath"]["volume"]["entered"]}"' in unit


def test_a_form_opened_before_another_change_is_not_stored(office, site) -> None:
    version = version_of(office, "/sites/lantern-quay/edit")
    site.patch("/v1/sites/lantern-quay", {"access": "ring twice"}, 1)
    answer = office.send("/sites/lantern-quay/edit", {"version": version, "name": "Quay"})

    assert answer.status_code == 422
    assert "ring twice" in answer.text
    assert site.get("/v1/sites/lantern-quay")["name"] != "Quay"


def test_a_wrong_field_is_named_at_its_place(office, site) -> None:
    answer = change(office, "/units/GU-0007/edit", bath__volume="38")

    assert answer.status_code == 422
    assert 'href="#f-bath.volume">Bath volume: ' in answer.text
    assert site.get("/v1/units/GU-0007")["version"] == 1


def test_a_part_of_the_unit_is_changed_and_its_other_parts_stay(office, site) -> None:
    before = site.get("/v1/units/GU-0007")["bath"]
    change(office, "/units/GU-0007/edit", bath__set_point="30 degF")
    after = site.get("/v1/units/GU-0007")["bath"]

    assert after["set_point"]["entered"] == "30 degF"
    assert {name: value for name, value in after.items() if name != "set_point"} == {
        name: value for name, value in before.items() if name != "set_point"
    }


def test_a_new_tag_is_gone_to(office) -> None:
    assert change(office, "/units/GU-0007/edit", tag="GU-0107").headers["Location"] == "/units/GU-0107"


def test_components_are_added_changed_and_taken_out(office, site) -> None:
    path = "/units/GU-0007/components"
    added = office.send(
        "/units/GU-0007/new-component", {"code": "fan-9", "kind": "condenser_fan", "rated_current": "1.2 A"}
    )
    changed = change(office, f"{path}/fan-9", model="F 200", removed_on="2026-06-01")
    parts = {part["code"]: part for part in site.get("/v1/units/GU-0007")["components"]}

    assert (added.status_code, changed.status_code) == (303, 303)
    assert (parts["fan-9"]["model"], parts["fan-9"]["removed_on"]) == ("F 200", "2026-06-01")
    assert parts["fan-9"]["rated_current"]["entered"] == "1.2 A"
    assert office.send("/units/GU-0007/new-component", {"code": "fan-9", "kind": "pump"}).status_code == 422
    late = change(office, f"{path}/pump-1", removed_on="2026-07-01")
    assert (late.status_code, 'href="#f-removed_on"' in late.text) == (422, True)


def test_trunks_are_added_changed_and_taken_out(office, site) -> None:
    path = "/units/GU-0007/trunks"
    (first,) = site.get("/v1/units/GU-0007")["trunks"]
    added = change(office, "/units/GU-0007/new-trunk", trunk__length__outdoor="12 m", trunk__taps="21, 22")
    assert added.headers["Location"] == path
    assert [each["code"] for each in site.get("/v1/units/GU-0007")["trunks"]] == [first["code"], "trunk-2"]
    assert change(office, "/units/GU-0007/new-trunk", trunk__code="trunk-2", trunk__taps="23").status_code == 422

    change(office, f"{path}/trunk-2", trunk__length__outdoor="", trunk__length__attic="8 m", trunk__taps="22, 24")
    trunks = site.get("/v1/units/GU-0007")["trunks"]
    assert trunks[0] == first
    assert [(run["surroundings"], run["length"]["entered"]) for run in trunks[1]["runs"]] == [("attic", "8 m")]
    assert [line["tap"] for line in trunks[1]["beer_lines"]] == ["22", "24"]

    assert change(office, f"{path}/trunk-2", trunk__removed="yes").status_code == 303
    assert site.get("/v1/units/GU-0007")["trunks"] == [first]
    assert office.open(f"{path}/trunk-2").status_code == 404


def test_a_trunk_and_a_component_may_be_called_new(office, site) -> None:
    change(office, "/units/GU-0007/new-trunk", trunk__code="new", trunk__taps="8, 9, 8")
    office.send("/units/GU-0007/new-component", {"code": "new", "kind": "agitator"})

    assert "Change trunk new of GU-0007" in office.page("/units/GU-0007/trunks/new")
    assert "Change new of GU-0007" in office.page("/units/GU-0007/components/new")
    (_, new) = site.get("/v1/units/GU-0007")["trunks"]
    assert [line["tap"] for line in new["beer_lines"]] == ["8", "9"]  # a tap named twice is one


def test_a_length_below_zero_is_refused_with_the_limit_in_a_unit(office) -> None:
    answer = change(office, "/units/GU-0007/new-trunk", trunk__length__outdoor="-5 m")
    assert "-5 m is below the lowest sensible value, 0 ft" in answer.text


def test_what_the_form_of_a_trunk_does_not_show_stays(office, site) -> None:
    runs = [{"surroundings": "attic", "length": "9 m", "temperature": "50 degC", "rise": "2 m"}]
    lines = [{"tap": "1", "product": "lager", "bore": "10 mm"}, {"tap": "2", "product": "stout"}]
    version = site.get("/v1/units/GU-0007")["version"]
    site.patch("/v1/units/GU-0007", {"trunks": [{"code": "patio", "runs": runs, "beer_lines": lines}]}, version)
    change(office, "/units/GU-0007/trunks/patio", trunk__length__attic="10 m", trunk__taps="2, 3")
    (trunk,) = site.get("/v1/units/GU-0007")["trunks"]

    (run,) = trunk["runs"]
    assert [run[name]["entered"] for name in ("length", "temperature", "rise")] == ["10 m", "50 degC", "2 m"]
    assert [(line["tap"], line.get("product")) for line in trunk["beer_lines"]] == [("2", "stout"), ("3", None)]


def test_lengths_of_several_runs_in_the_same_surroundings_are_left_to_the_api(office, site) -> None:
    runs = [{"surroundings": "attic", "length": "9 m"}, {"surroundings": "attic", "length": "4 m"}]
    version = site.get("/v1/units/GU-0007")["version"]
    site.patch("/v1/units/GU-0007", {"trunks": [{"code": "patio", "runs": runs}]}, version)
    page = office.open("/units/GU-0007/trunks/patio").text
    assert "several runs in the same surroundings" in page
    assert "trunk.length" not in page

    change(office, "/units/GU-0007/trunks/patio", trunk__glycol_bore="10 mm")
    (trunk,) = site.get("/v1/units/GU-0007")["trunks"]
    assert [run["length"]["entered"] for run in trunk["runs"]] == ["9 m", "4 m"]


def test_a_wrong_length_of_a_trunk_is_named_at_its_field(office) -> None:
    answer = change(office, "/units/GU-0007/new-trunk", trunk__length__outdoor="12")
    assert answer.status_code == 422
    assert 'href="#f-trunk.length.outdoor"' in answer.text


def test_when_work_was_last_done_before_us_is_changed_and_the_rest_stays(office, site) -> None:
    change(office, "/units/GU-0007/edit", done__condenser_clean="2024-10", done__glycol_change="unknown")
    change(office, "/units/GU-0007/edit", done__condenser_clean="2024-11")

    def listed() -> dict[str, str | None]:
        return {each["task"]: each.get("on") for each in site.get("/v1/units/GU-0007").get("last_done", ())}

    assert listed() == {"condenser_clean": "2024-11", "glycol_change": None}
    wrong = change(office, "/units/GU-0007/edit", done__pump_check="spring")
    assert (wrong.status_code, 'href="#f-done.pump_check"' in wrong.text) == (422, True)
    change(office, "/units/GU-0007/edit", done__condenser_clean="")
    assert listed() == {"glycol_change": None}


def test_a_unit_in_place_of_another_is_linked_to_it(office, site) -> None:
    form = office.open("/register/unit?like=GU-0007&replaces=GU-0007&site=lantern-quay").text
    office.send("/register/unit", {"like": "GU-0007", "tag": "GU-0101", "site": "lantern-quay", "replaces": "GU-0007"})

    assert 'name="replaces" type="text" value="GU-0007"' in form
    assert site.get("/v1/units/GU-0007")["replaced_by"] == "GU-0101"
    assert "Replaced by GU-0101" in office.page("/units/GU-0007")


def test_a_unit_is_moved_from_a_day_on(office, site) -> None:
    site.post("/v1/sites", site.example("site", code="pier", name="The Pier"))
    form = {"site": "pier", "from": "2026-07-01", "reason": "loaner"}

    assert office.send("/units/GU-0007/locations", form | {"site": "nowhere"}).status_code == 422
    assert office.send("/units/GU-0007/locations", form).status_code == 303
    assert [each["site"] for each in site.get("/v1/units/GU-0007/locations")["items"]] == ["lantern-quay", "pier"]
    assert "The Pier 2026-07-01 loaner" in office.page("/units/GU-0007/locations")


@pytest.mark.parametrize("path", ["units/GU-0007/pauses", "sites/lantern-quay/closures"])
def test_days_out_of_service_are_added_changed_and_withdrawn(office, site, path) -> None:
    form = {"from": "2026-07-01", "until": "2026-07-10", "reason": "season"}

    assert office.send(f"/{path}", form | {"until": "2026-06-10"}).status_code == 422
    assert office.send(f"/{path}", form).status_code == 303
    assert office.send(f"/{path}", form).status_code == 422  # the days are taken
    assert office.send(f"/{path}/1", form | {"until": "2026-07-12", "version": "1"}).status_code == 303
    assert site.get(f"/v1/{path}/1")["until"] == "2026-07-12"
    refused = office.send(f"/{path}/1", form | {"version": "1", "reason": "typed before"})
    assert refused.status_code == 422
    assert refused.text.count('value="typed before"') == 1
    assert 'id="reason-1" name="reason" required value="typed before"' in refused.text
    assert office.send(f"/{path}/1", form | {"version": "2", "withdrawn": "1"}).status_code == 303
    assert "2026-07-01 to 2026-07-10: season (withdrawn)" in re.sub(r"\s+", " ", office.page(f"/{path}"))


def test_a_pause_without_an_end_is_open(office, site) -> None:
    office.send("/units/GU-0007/pauses", {"from": "2026-06-01", "reason": "in the workshop"})

    assert site.get("/v1/units/GU-0007/pauses/1")["until"] is None
    office.send("/units/GU-0007/pauses/1", {"from": "2026-06-01", "until": "2026-06-08", "reason": "x", "version": "1"})
    assert site.get("/v1/units/GU-0007/pauses/1")["until"] == "2026-06-08"


@pytest.mark.parametrize("at", ["", "/units/GU-0007"])
def test_a_task_is_set_and_set_back(office, site, at) -> None:
    page, api = f"{at}/pm-settings/condenser_clean", f"/v1{at}/tasks/condenser_clean"
    default = site.get(api)
    answer = change(office, page, interval="2 months", minutes="45", bring="brush\nlamp", note="greasy")
    task = site.get(api)

    assert answer.headers["Location"] == f"{at}/pm-settings"
    assert (task["interval"], task["minutes"], task["bring"], task["note"]) == (
        "2 months", 45, ["brush", "lamp"], "greasy",
    )  # fmt: skip
    assert task["longest"] == default["longest"]
    assert "set by us" in office.page(f"{at}/pm-settings")
    change(office, page, interval="", minutes="", bring="", note="")
    assert {**site.get(api), "version": 0, "unit": 0} == {**default, "version": 0, "unit": 0}


def test_a_task_is_switched_off_at_one_unit(office, site) -> None:
    change(office, "/units/GU-0007/pm-settings/condenser_clean", applies="no")

    assert "condenser_clean" not in site.due()
    assert "not done here" in office.page("/units/GU-0007/pm-settings")
    change(office, "/units/GU-0007/pm-settings/condenser_clean", applies="")
    assert "condenser_clean" in site.due()


def test_an_interval_beyond_its_range_is_refused_at_its_field(office) -> None:
    answer = change(office, "/pm-settings/condenser_clean", interval="9 months")

    assert answer.status_code == 422
    assert 'href="#f-interval"' in answer.text


def test_a_plan_is_shown_before_it_is_accepted(office, site) -> None:
    form = {"from": "2026-06-10", "weeks": "8", "hours_per_day": "4,5", "weekdays": "monday"}
    body = {"from": "2026-06-10", "weeks": 8, "hours_per_day": 4.5, "weekdays": ["monday"]}
    shown = office.send("/onboarding", form | {"do": "show"})
    wanted = site.ask("POST", "/v1/onboarding-plans?dry_run=true", body).json
    before = site.due()

    assert wanted["days"]
    assert all(day["day"] in shown.text for day in wanted["days"])
    assert before == site.due()
    seen = {"do": "accept", "seen": re.search(r'name="seen" value="([^"]+)"', shown.text)[1]}
    other = office.send("/onboarding", form | seen | {"weeks": "9"})
    assert (other.status_code, before == site.due()) == (422, True)
    assert "It is shown here as it is now." in other.text
    assert office.send("/onboarding", form | seen).headers["Location"] == "/plan"
    first = wanted["days"][0]
    assert site.due()[first["stops"][0]["items"][0]["task"]]["due_on"] == first["day"]
    assert 'href="#f-weeks"' in office.send("/onboarding", form | {"weeks": "many"}).text


def test_leave_is_added_and_taken_out(owner, site) -> None:
    path = "/technicians/rhea/leave"

    assert change(owner, path, **{"from": "2026-07-10", "until": "2026-07-01"}).status_code == 422
    assert change(owner, path, **{"from": "2026-07-01", "until": "2026-07-10"}).status_code == 303
    assert change(owner, path, keep="0", **{"from": "2026-08-01", "until": "2026-08-02"}).status_code == 303
    assert [each["from"] for each in site.get("/v1/technicians/rhea")["leave"]] == ["2026-07-01", "2026-08-01"]
    change(owner, path, keep="1")
    assert [each["from"] for each in site.get("/v1/technicians/rhea")["leave"]] == ["2026-08-01"]


def test_opening_hours_are_added_and_taken_out(office, site) -> None:
    path, hours = "/sites/lantern-quay/hours", {"weekday": "friday", "from": "17:00", "until": "02:00"}

    assert change(office, path, **hours | {"until": ""}).status_code == 422
    assert change(office, path, **hours).status_code == 303
    assert change(office, path, keep="0", **hours | {"weekday": "sunday"}).status_code == 303
    assert [each["weekday"] for each in site.get("/v1/sites/lantern-quay")["opening_hours"]] == ["friday", "sunday"]
    change(office, path, keep="1", weekday="monday")
    assert [each["weekday"] for each in site.get("/v1/sites/lantern-quay")["opening_hours"]] == ["sunday"]


def test_each_page_is_open_to_its_roles_alone(site) -> None:
    site.unit()
    browsers = {role: Browser(site, site.tokens[role]) for role in ("owner", "dispatcher", "reader")}
    browsers["technician"] = technician_of(site)
    allowed = {"owner": (*OFFICE_PAGES, *OWNER_PAGES), "dispatcher": OFFICE_PAGES}

    for role, browser in browsers.items():
        for path in (*OFFICE_PAGES, *OWNER_PAGES):
            expected = 200 if path in allowed.get(role, ()) else 403
            assert browser.open(path).status_code == expected, (role, path)
            if expected == 403:
                assert browser.send(path, {}).status_code in (403, 405), (role, path)
    assert "For the office" not in browsers["technician"].open("/units/GU-0007").text
    assert "/company" not in browsers["dispatcher"].open("/register").text


def test_nothing_of_the_record_is_run(owner, site) -> None:
    site.patch("/v1/customers/lantern", {"name": EVIL, "contact": EVIL}, 1)
    site.patch("/v1/sites/lantern-quay", {"name": EVIL, "access": EVIL}, 1)
    site.patch("/v1/technicians/rhea", {"name": EVIL}, 1)
    site.patch("/v1/units/GU-0007", {"place": EVIL, "components": [{"code": "pump-1", "model": EVIL}]}, 1)
    site.patch("/v1/tasks/condenser_clean", {"note": EVIL, "bring": [EVIL]}, 0)
    site.post("/v1/units/GU-0007/pauses", {"from": "2026-07-01", "until": None, "reason": EVIL})
    site.post("/v1/sites/lantern-quay/closures", {"from": "2026-07-01", "until": "2026-07-02", "reason": EVIL})

    for path in (*OFFICE_PAGES, *OWNER_PAGES):
        assert "<script>alert" not in owner.open(path).text, path


def test_each_page_that_the_menu_does_not_name_leads_to_the_one_above_it(owner, site) -> None:
    named = {entry.path for entry in ENTRIES}
    pages = (
        *OFFICE_PAGES,
        *OWNER_PAGES,
        "/data/tables",
        "/audit",
        "/calls/new",
        "/devices",
        "/vans/rhea",
        "/vans/rhea/change",
    )

    for path in (path for path in pages if path not in named):
        link = re.search(r'<main id="main">\s*<p class="links noprint"><a href="([^"]+)">', owner.open(path).text)
        assert link, path
        assert owner.open(link[1]).status_code == 200, (path, link[1])
    assert '<a href="/tokens">' not in Browser(site, site.tokens["technician"]).open("/devices").text


def test_a_longitude_west_of_greenwich_is_typed_on_a_keyboard_with_a_minus(office, site) -> None:
    assert office.open("/sites/lantern-quay/edit").text.count('inputmode="text"') == 2
    change(office, "/sites/lantern-quay/edit", latitude="39,74", longitude="-104,99")

    stored = site.get("/v1/sites/lantern-quay")
    assert (stored["latitude"], stored["longitude"]) == (39.74, -104.99)


def test_the_menu_of_a_phone_leads_to_each_page_of_the_role(site) -> None:
    """What is hidden there, by its class, is on the page of the office."""
    for role in ("owner", "dispatcher"):
        text = Browser(site, site.tokens[role]).open("/office").text
        menu, _, main = text.partition("</nav>")
        hidden = re.findall(r'<li class="inside"><a href="([^"]+)"', menu)
        assert hidden == [each.path for each in ENTRIES if each.about and role in each.allow]
        assert re.findall(r'<a href="([^"]+)"><strong>', main) == hidden
    assert "/office" not in Browser(site, site.tokens["technician"]).open("/devices").text


def test_a_page_marks_its_part_of_the_menu(owner) -> None:
    marked = r'<a href="([^"]+)" aria-current="true"'
    assert re.findall(marked, owner.open("/sites/lantern-quay/hours").text) == ["/register", "/office"]
    assert re.findall(marked, owner.open("/units/GU-0007").text) == ["/units"]
