"""Glycol units over HTTP: as printed, filtered, merged, retired, refused."""

from urllib.parse import quote

import pytest


def flat(shown):
    """A record from the API with every quantity back in the text as it was entered, and what is not known left out."""
    if isinstance(shown, dict):
        return shown.get("entered") or {name: flat(part) for name, part in shown.items() if part not in (None, [])}
    return [flat(part) for part in shown] if isinstance(shown, list) else shown


def test_the_unit_of_the_contract_is_reported_as_it_was_given(shop) -> None:
    shop.post("/v1/customers", shop.example("customer"))
    shop.post("/v1/sites", shop.example("site"))
    shop.post("/v1/units", shop.example("unit"))

    assert flat(shop.example("unit")).items() <= flat(shop.get("/v1/units/GU-0007")).items()


def test_only_the_tag_and_the_site_are_needed(shop) -> None:
    shop.unit()
    made = shop.post("/v1/units", {"tag": "GU-8", "site": "lantern-quay"})

    assert (made["maker"], made["bath"], made["components"], made["trunks"]) == (None, None, [], [])
    assert made["registered_on"] == "2026-06-09"


# 28 degF = (28 - 32) / 1.8 degC, 1 ft = 0.3048 m exactly, 1 Btu(IT)/h = 0.2930711 W (NIST SP 811, appendix B).
@pytest.mark.parametrize(
    ("units", "set_point", "length", "cooling"),
    [("si", (-2.22222, "degC"), (36.576, "m"), (849.906, "W")), ("us", (28, "degF"), (120, "ft"), (2900, "Btu/h"))],
)
def test_quantities_are_reported_in_the_units_asked_for(shop, units, set_point, length, cooling) -> None:
    shop.unit()
    body = shop.get(f"/v1/units/GU-0007?units={units}")
    shown = [body["bath"]["set_point"], body["trunks"][0]["runs"][0]["length"], body["refrigeration"]["rated_cooling"]]

    assert [(part["value"], part["unit"]) for part in shown] == [set_point, length, cooling]
    assert [part["entered"] for part in shown] == ["28 degF", "120 ft", "2900 Btu/h"]


def test_a_change_needs_if_match_and_the_version_last_read(shop) -> None:
    shop.unit()

    assert shop.ask("PATCH", "/v1/units/GU-0007", {"place": "cellar"}).status_code == 428
    assert shop.ask("PATCH", "/v1/units/GU-0007", {"place": "cellar"}, If_Match='"2"').status_code == 412
    assert shop.patch("/v1/units/GU-0007", {"place": "cellar"}, 1)["version"] == 2
    assert shop.ask("GET", "/v1/units/GU-0007", If_None_Match='"2"').status_code == 304


def test_a_change_to_the_bath_leaves_its_other_fields(shop) -> None:
    shop.unit()
    changed = shop.patch("/v1/units/GU-0007", {"bath": {"set_point": "27 degF", "volume": None}}, 1)

    assert flat(changed["bath"]) == {
        "glycol": "propylene",
        "target_strength": "35 mass%",
        "set_point": "27 degF",
        "differential": "4 deltaF",
    }
    assert flat(changed["supply"]) == shop.example("unit")["supply"]


def test_components_are_merged_by_code_and_never_dropped(shop) -> None:
    before = shop.unit()["components"]
    shown = [{"code": "pump-1", "rated_current": "6 A"}, {"code": "strainer-1", "kind": "strainer"}]
    after = shop.patch("/v1/units/GU-0007", {"components": shown}, 1)["components"]

    assert [part["code"] for part in after] == [*(part["code"] for part in before), "strainer-1"]
    assert flat(after[1]) == {"code": "pump-1", "kind": "pump", "rated_current": "6 A", "rated_power": "0.25 hp"}
    assert shop.patch("/v1/units/GU-0007", {"components": []}, 2)["components"] == after


def test_a_component_that_was_taken_out_stays_with_its_day(shop) -> None:
    shop.unit()
    shown = [{"code": "fan-1", "removed_on": "2026-06-01"}]
    after = shop.patch("/v1/units/GU-0007", {"components": shown}, 1)["components"]

    assert {part["code"]: part.get("removed_on") for part in after}["fan-1"] == "2026-06-01"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"components": [{"code": "pump-2"}]}, "components.0.kind"),
        ({"components": [{"kind": "pump"}]}, "components.0.code"),
        ({"components": [{"code": "pump-1", "kind": None}]}, "components.0.kind"),
        ({"trunks": [{"glycol_bore": "1 in"}]}, "trunks.0.code"),
        ({"trunks": [{"code": "bar", "runs": [{"length": "1 m"}]}]}, "trunks.0.runs.0.surroundings"),
        ({"trunks": [{"code": "bar", "beer_lines": [{"bore": "1 in"}]}]}, "trunks.0.beer_lines.0.tap"),
        ({"tag": None}, "tag"),
        ({"site": "nowhere"}, "site"),
        ({"registered_on": None}, "registered_on"),
    ],
    ids=str,
)
def test_a_part_that_is_new_is_reported_whole(stocked, change, field) -> None:
    refused = stocked.ask("PATCH", "/v1/units/GU-0007", change, If_Match='"1"')

    assert refused.status_code == 422, refused.text
    assert [fault["field"] for fault in refused.json["errors"]] == [field]
    assert stocked.get("/v1/units/GU-0007")["version"] == 1


def nested(path, value):
    for name in reversed(path.split(".")):
        value = [value] if name == "0" else {name: value}
    return value


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("bath.set_point", 28),
        ("bath.set_point", "28 psi"),
        ("bath.set_point", {"value": 28}),
        ("bath.set_point", {"value": "28", "unit": "degF"}),
        ("bath.set_point", "300 degF"),
        ("bath.target_strength", "135 mass%"),
        ("bath.volume", "-1 L"),
        ("bath.colour", "blue"),
        ("supply.rated_current", "-14 A"),
        ("supply.phases", 2),
        ("supply.phases", "1"),
        ("refrigeration.low_side_port", "yes"),
        ("refrigeration.low_side_port", 1),
        ("refrigeration.metering", "straw"),
        ("installed_on", "2026-02-30"),
        ("installed_on", "2026-06-10"),
        ("retired_on", "2023-05-01"),
        ("components.0.kind", "flux capacitor"),
        ("tag", "GU 7"),
        ("maker", 7),
    ],
    ids=str,
)
def test_a_unit_that_cannot_be_is_refused_by_field_and_nothing_is_stored(stocked, path, value) -> None:
    before = stocked.counted()
    wrong = nested(path, value)
    if path.startswith("components"):
        wrong["components"][0] |= {"code": "x-1"}
    refused = stocked.ask(
        "POST", "/v1/units", {"tag": "GU-8", "site": "lantern-quay", "installed_on": "2023-05-02"} | wrong
    )

    assert refused.status_code == 422, refused.text
    assert [fault["field"] for fault in refused.json["errors"]] == [path]
    assert stocked.counted() == before


def test_the_components_of_a_unit_fit_together(stocked) -> None:
    parts = [
        {"code": "a", "kind": "power_switch", "feeds": ["z"]},
        {"code": "a", "kind": "pump"},
        {"code": "b", "kind": "pump", "feeds": ["b"]},
        {"code": "c", "kind": "pump", "installed_on": "2026-01-02", "removed_on": "2026-01-01"},
        {"code": "d", "kind": "pump", "installed_on": "2026-06-10"},
    ]
    refused = stocked.ask("POST", "/v1/units", {"tag": "GU-8", "site": "lantern-quay", "components": parts})

    assert {fault["field"] for fault in refused.json["errors"]} == {
        "components.0.feeds",
        "components.1.code",
        "components.2.feeds",
        "components.3.removed_on",
        "components.4.installed_on",
    }


def test_the_same_trunk_twice_is_refused(stocked) -> None:
    trunks = [{"code": "bar"}, {"code": "bar"}]
    refused = stocked.ask("PATCH", "/v1/units/GU-0007", {"trunks": trunks}, If_Match='"1"')

    assert [fault["field"] for fault in refused.json["errors"]] == ["trunks.1.code"]


def fleet(shop):
    """Six units of two customers at three sites."""
    shop.unit("GU-01", maker="Northmere", serial="100%_A")
    for code, customer in (("anchor-pier", "anchor"), ("anchor-bay", "anchor")):
        shop.ask("POST", "/v1/customers", shop.example("customer", code=customer, name="The Anchor"))
        shop.post("/v1/sites", shop.example("site", code=code, customer=customer, name=f"The {code}"))
    for n, site in enumerate(("anchor-pier", "anchor-bay", "anchor-bay", "lantern-quay", "lantern-quay"), 2):
        shop.unit(f"GU-{n:02}", site=site, maker="Café Maschinen")


@pytest.mark.parametrize(
    ("query", "tags"),
    [
        ("customer=anchor", "02 03 04"),
        ("site=anchor-bay", "03 04"),
        ("tag=GU-05", "05"),
        ("text=northMERE", "01"),
        ("text=the anchor-b", "03 04"),
        ("text=gu-0", "01 02 03 04 05 06"),
        ("text=100%25_", "01"),
        ("text=00_A", ""),
        ("text=Café", "02 03 04 05 06"),
        ("text=CAFé", "02 03 04 05 06"),
        ("customer=anchor&text=pier", "02"),
        ("customer=nobody", ""),
    ],
)
def test_the_list_of_units_is_narrowed(shop, query, tags) -> None:
    fleet(shop)

    assert [unit["tag"] for unit in shop.walk(f"/v1/units?{query}&limit=2")] == [f"GU-{tag}" for tag in tags.split()]


def test_an_exact_text_is_found_whatever_its_letters(shop) -> None:
    shop.unit("GU-1", maker="ÉCLAIR Żółw")

    assert [unit["tag"] for unit in shop.walk("/v1/units?text=ÉCLAIR Ż")] == ["GU-1"]


@pytest.mark.parametrize("text", ["' OR '1'='1", "'; DROP TABLE unit; --", "%", "_", "\\", '" OR 1=1 --'])
def test_a_text_that_is_sql_is_sought_as_it_stands(shop, text) -> None:
    shop.unit("GU-1", maker=f"a {text} b")
    shop.unit("GU-2", maker="plain")

    assert [unit["tag"] for unit in shop.walk(f"/v1/units?text={quote(text)}")] == ["GU-1"]


def test_a_walk_meets_every_unit_once_with_its_components_while_others_are_added(shop) -> None:
    tags = [f"GU-{n}" for n in range(10, 20)]
    for tag in tags:
        shop.unit(tag)
    page, met = shop.get("/v1/units?limit=3"), []
    while True:
        met += page["items"]
        shop.unit(f"GA-{len(met)}")  # before the cursor
        if page["next"] is None:
            break
        page = shop.get(page["next"])

    assert [unit["tag"] for unit in met] == tags
    assert {len(unit["components"]) for unit in met} == {5}


def test_a_retired_unit_has_nothing_due_and_is_listed_only_when_asked_for(shop) -> None:
    shop.unit()
    assert shop.due()
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-09"}, 1)

    assert shop.due() == {}
    assert shop.get("/v1/pm-list?horizon_days=366")["stops"] == []
    assert shop.get("/v1/units")["items"] == []
    assert [unit["tag"] for unit in shop.get("/v1/units?retired=true")["items"]] == ["GU-0007"]
    assert shop.get("/v1/units/GU-0007/history")["items"]


def test_a_unit_that_comes_back_into_service_is_due_again(shop) -> None:
    shop.unit()
    before = shop.due()
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-09"}, 1)
    shop.patch("/v1/units/GU-0007", {"retired_on": None}, 2)

    assert shop.due() == before


def test_no_verb_deletes(stocked) -> None:

    assert stocked.ask("DELETE", "/v1/units/GU-0007").status_code == 405


# pump_check comes every 3 months: counted by the calendar from 2023-05-02 and 2024-01-31, neither ends on a Monday.
def test_the_first_due_date_counts_from_the_installation(shop) -> None:
    shop.unit(registered_on="2023-05-02")
    assert (shop.due()["pump_check"]["due_on"], shop.due()["pump_check"]["basis"]) == ("2023-08-02", "first_visit")
    shop.patch("/v1/units/GU-0007", {"installed_on": "2024-01-31"}, 1)

    assert shop.due()["pump_check"]["due_on"] == "2024-04-30"


def test_a_unit_that_moves_is_visited_at_its_new_site(shop) -> None:
    shop.unit()
    shop.post("/v1/customers", shop.example("customer", code="anchor"))
    shop.post("/v1/sites", shop.example("site", code="anchor-bay", customer="anchor"))
    shop.patch("/v1/units/GU-0007", {"site": "anchor-bay"}, 1)
    stops = shop.get("/v1/pm-list")["stops"]

    assert [(stop["site"], stop["customer"]) for stop in stops] == [("anchor-bay", "anchor")]


def test_a_site_that_closes_another_weekday_moves_the_due_dates_of_its_units(shop) -> None:
    shop.unit(registered_on="2023-05-02")
    assert shop.due()["pump_check"]["due_on"] == "2023-08-02"  # a Wednesday
    shop.patch("/v1/sites/lantern-quay", {"closed_weekdays": ["tuesday", "wednesday"]}, 1)

    assert shop.due()["pump_check"]["due_on"] == "2023-07-31"


def test_surroundings_of_a_site_shorten_the_interval_of_its_units(shop) -> None:
    shop.unit(registered_on="2023-05-02")
    greasy = shop.due()["condenser_clean"]["due_on"]
    shop.patch("/v1/sites/lantern-quay", {"surroundings": "clean"}, 1)

    assert greasy < shop.due()["condenser_clean"]["due_on"] == "2023-08-02"


def test_what_is_not_there_is_not_found(stocked) -> None:
    for path in ("/v1/units/GU-9", "/v1/units/GU-9/due", "/v1/units/GU-9/history", "/v1/units/GU-9/tasks"):
        assert stocked.ask("GET", path).status_code == 404, path


@pytest.mark.parametrize("of", ["site", "customer"])
def test_no_unit_comes_to_a_site_that_has_ended(shop, of) -> None:
    """By the date there: 9 June at 21:00 UTC is the 9th in Denver and the 10th in Auckland."""
    shop.unit()
    shop.post("/v1/customers", {"code": "heron", "name": "Heron"})
    for code, zone in (("pier", "America/Denver"), ("lock", "Pacific/Auckland")):
        shop.post("/v1/sites", {"code": code, "name": code, "customer": "heron", "time_zone": zone})
    for path in ("/v1/sites/pier", "/v1/sites/lock") if of == "site" else ("/v1/customers/heron",):
        shop.patch(path, {"ended_on": "2026-06-10"}, 1)

    def refused(path, body, method="POST"):
        answer = shop.ask(method, path, body, **({"If_Match": "*"} if method == "PATCH" else {}))
        return {each["field"]: each["message"] for each in answer.json.get("errors", ())}

    what = "the site lock" if of == "site" else "the customer heron"
    ended = {"site": f"no unit can stand there from 2026-06-10 on: {what} ended on 2026-06-10"}
    assert refused("/v1/units", {"tag": "GU-8", "site": "lock"}) == ended
    assert refused("/v1/units/GU-0007", {"site": "lock"}, "PATCH") == ended
    move = {"site": "pier", "from": "2026-06-10", "reason": "swap"}
    assert refused("/v1/units/GU-0007/locations", move).keys() == {"site"}
    assert refused("/v1/units/GU-0007/locations", move | {"from": "2026-06-09"}) == {}
    assert refused("/v1/units", {"tag": "GU-9", "site": "pier"}) == {}
    of_the_past = {"tag": "GU-10", "site": "lock", "registered_on": "2026-01-01"}
    assert refused("/v1/units", of_the_past | {"retired_on": "2026-06-11"}).keys() == {"site"}
    assert refused("/v1/units", of_the_past | {"retired_on": "2026-06-10"}) == {}


def test_a_unit_is_not_retired_before_our_care_of_it(shop) -> None:
    shop.unit(care_from="2026-06-05")
    answer = shop.ask("PATCH", "/v1/units/GU-0007", {"retired_on": "2026-06-04"}, If_Match="*")

    assert answer.status_code == 422
    message = "lies before care_from, 2026-06-05; leave that out for a unit that never came into our care"
    assert [(each["field"], each["message"]) for each in answer.json["errors"]] == [("retired_on", message)]
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-04", "care_from": None}, 1)
