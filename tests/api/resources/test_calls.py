"""Calls over HTTP: recorded before anybody goes, answered by a visit or by phone, and open until then."""

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from tests.api.resources.following import audited, export, imported, take_in

RECEIVED = "2026-06-09T14:00:00Z"
WARM = {"received_at": RECEIVED, "symptom": "warm_pour", "unit": "GU-0007"}


@pytest.fixture
def fleet(shop):
    """The example's unit, a second one at its site, and one at another site."""
    shop.unit()
    shop.unit("GU-2")
    shop.post("/v1/sites", shop.example("site", code="pier", name="Pier"))
    shop.unit("GU-3", site="pier")
    return shop


def call(shop, **changes):
    """A call just recorded."""
    return shop.post("/v1/calls", {"id": str(uuid4()), **WARM} | changes)


def now(shop, made):
    return shop.get(f"/v1/calls/{made['id']}")


def fault(answer):
    assert answer.status_code == 422, answer.text
    return answer.json["errors"][0]["field"]


def refused_visit(shop, *calls, **changes):
    body = {"id": str(uuid4()), "unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-06-09T18:00:00Z"}
    return fault(shop.ask("POST", "/v1/visits", body | {"calls": [each["id"] for each in calls]} | changes))


# Recording


def test_a_call_is_recorded_as_it_was_given(fleet) -> None:
    given = {
        "by": {"name": "Ida, bar", "phone": "555-0142"}, "words": "all foam", "urgency": "now",
        "promised": {"from": "2026-06-09T20:00:00-06:00", "until": "2026-06-09T22:00:00-06:00"},
    }  # fmt: skip
    made = call(fleet, **given)

    assert {name: made[name] for name in given} == given
    assert (made["state"], made["site"], made["technician"], made["visit"]) == ("open", "lantern-quay", None, None)
    assert made["received_at"] == "2026-06-09T08:00:00-06:00"  # by the site's clock
    assert now(fleet, made) == made


def test_a_call_may_name_neither_site_nor_unit_until_it_is_known(fleet) -> None:
    made = call(fleet, unit=None)
    assert (made["site"], made["unit"], made["received_at"]) == (None, None, "2026-06-09T14:00:00+00:00")

    known = fleet.patch(f"/v1/calls/{made['id']}", {"unit": "GU-3"}, 1)
    assert (known["site"], known["unit"]) == ("pier", "GU-3")


def test_the_same_call_twice_is_one_call(fleet) -> None:
    body = {"id": str(uuid4()), **WARM}
    answers = [fleet.ask("POST", "/v1/calls", body) for _ in range(2)]
    keyed = [fleet.ask("POST", "/v1/calls", WARM, Idempotency_Key="k") for _ in range(2)]

    assert [answer.status_code for answer in (*answers, *keyed)] == [201] * 4
    assert answers[0].data == answers[1].data
    assert keyed[0].data == keyed[1].data
    assert UUID(keyed[0].json["id"]).version == 7
    assert fleet.counted()["call"] == 2
    assert fleet.ask("POST", "/v1/calls", body | {"words": "other"}).status_code == 422


def test_a_call_needs_an_id_or_a_key(fleet) -> None:
    assert fault(fleet.ask("POST", "/v1/calls", WARM)) == "id"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"unit": "GU-9"}, "unit"),
        ({"unit": None, "site": "nowhere"}, "site"),
        ({"site": "pier"}, "unit"),  # GU-0007 stands at the quay
        ({"technician": "nobody"}, "technician"),
        ({"day": "2026-06-10"}, "day"),
        ({"received_at": "2026-06-10T21:00:00Z"}, "received_at"),
        ({"promised": {"from": "2026-06-10T10:00:00Z", "until": "2026-06-10T09:00:00Z"}}, "promised.until"),
        ({"symptom": "sad"}, "symptom"),
        ({"urgency": "soon"}, "urgency"),
        ({"state": "assigned"}, "state"),
        ({"state": "answered"}, "how"),
        ({"state": "answered", "how": "visit"}, "how"),
        ({"state": "cancelled"}, "why"),
        ({"state": "cancelled", "why": "x", "at": "2026-06-09T13:00:00Z"}, "at"),
        ({"how": "phone_advice"}, "how"),
        ({"state": "answered", "how": "phone_advice", "why": "x"}, "why"),
    ],
)
def test_a_call_that_cannot_be_true_is_refused(fleet, changes, field) -> None:
    assert fault(fleet.ask("POST", "/v1/calls", {"id": str(uuid4()), **WARM} | changes)) == field


# How it ends


def test_a_call_is_assigned_by_naming_the_technician_and_opened_again(fleet) -> None:
    path = f"/v1/calls/{call(fleet)['id']}"
    assigned = fleet.patch(path, {"technician": "rhea", "day": "2026-06-10"}, 1)
    opened = fleet.patch(path, {"state": "open"}, 2)

    assert (assigned["state"], assigned["technician"], assigned["day"]) == ("assigned", "rhea", "2026-06-10")
    assert (opened["state"], opened["technician"], opened["day"]) == ("open", None, None)


def test_phone_advice_closes_a_call_and_reopening_drops_its_end(fleet) -> None:
    path = f"/v1/calls/{call(fleet)['id']}"
    closed = fleet.patch(path, {"state": "answered", "how": "phone_advice", "advice": "Reset the breaker."}, 1)
    opened = fleet.patch(path, {"state": "open"}, 2)

    assert (closed["state"], closed["how"], closed["visit"]) == ("answered", "phone_advice", None)
    assert closed["at"] == "2026-06-09T15:00:00-06:00"  # no instant given: now
    assert [opened[name] for name in ("state", "how", "at", "advice")] == ["open", None, None, None]


def test_a_cancelled_call_keeps_why(fleet) -> None:
    made = call(fleet)
    fleet.patch(f"/v1/calls/{made['id']}", {"state": "cancelled", "why": "called twice"}, 1)

    assert (now(fleet, made)["state"], now(fleet, made)["why"]) == ("cancelled", "called twice")
    assert refused_visit(fleet, made) == "calls.0"


def test_a_visit_answers_the_calls_that_it_names(fleet) -> None:
    made, other = call(fleet), call(fleet, unit=None)
    visit = fleet.visit("2026-06-09", calls=[made["id"], other["id"]])["visit"]

    assert visit["calls"] == [made["id"], other["id"]]
    for each in (made, other):
        found = now(fleet, each)
        assert (found["state"], found["how"], found["visit"]) == ("answered", "visit", visit["id"])
        assert (found["at"], found["version"]) == (
            "2026-06-09T12:00:00-06:00" if each is made else "2026-06-09T18:00:00+00:00", 2,
        )  # fmt: skip
    assert audited(fleet, "call", made["id"])["after"]["visit"] == visit["id"]


def test_voiding_the_visit_opens_its_calls_again(fleet) -> None:
    made = call(fleet, technician="rhea")
    visit = fleet.visit("2026-06-09", calls=[made["id"]])["visit"]
    assert fleet.ask("POST", f"/v1/visits/{visit['id']}/void", {"reason": "x"}, If_Match='"1"').status_code == 200
    found = now(fleet, made)
    assert [found[name] for name in ("state", "how", "at", "visit")] == ["assigned", None, None, None]

    again = fleet.visit("2026-06-09", calls=[made["id"]])["visit"]
    assert now(fleet, made)["visit"] == again["id"]


def test_a_void_that_is_taken_back_answers_the_calls_again(fleet) -> None:
    made = call(fleet)
    visit = fleet.visit("2026-06-09", calls=[made["id"]])["visit"]
    answered = now(fleet, made)
    for version, step in enumerate(("void", "unvoid"), 1):
        done = fleet.ask("POST", f"/v1/visits/{visit['id']}/{step}", {"reason": "x"}, If_Match=f'"{version}"')
        assert done.status_code == 200

    assert now(fleet, made) | {"version": 0} == answered | {"version": 0}
    imported(fleet, export(fleet))
    assert now(fleet, made)["visit"] == visit["id"]


def test_a_correction_of_the_calls_moves_the_answer(fleet) -> None:
    first, second = call(fleet), call(fleet)
    visit = fleet.visit("2026-06-09", calls=[first["id"]])["visit"]
    fleet.patch(f"/v1/visits/{visit['id']}", {"calls": [second["id"]], "why": "wrong call"}, 1)

    assert (now(fleet, first)["state"], now(fleet, second)["state"]) == ("open", "answered")
    fleet.patch(f"/v1/visits/{visit['id']}", {"work": "none", "why": "left out"}, 2)
    assert now(fleet, second)["version"] == 2  # nothing changed for it


def test_a_visit_cannot_answer_what_is_not_its_call(fleet) -> None:
    there, elsewhere = call(fleet, unit="GU-2"), call(fleet, unit=None, site="pier")
    answered, later = call(fleet), call(fleet, received_at="2026-06-09T20:00:00Z")
    fleet.visit("2026-06-09", calls=[answered["id"]])

    for each in (there, elsewhere, answered):
        assert refused_visit(fleet, each) == "calls.0"
    assert refused_visit(fleet, later, later) == "calls.1"
    assert refused_visit(fleet, {"id": str(uuid4())}) == "calls.0"
    assert refused_visit(fleet, later, arrived_at="2026-06-06T18:00:00Z") == "calls.0"
    assert fleet.counted()["visit"] == 1
    # up to two days after the arrival of a visit whose end is not known (common practice, no source)
    late, soon = (call(fleet, received_at=f"2026-06-08T18:00:0{second}Z") for second in (1, 0))
    assert refused_visit(fleet, late, arrived_at="2026-06-06T18:00:00Z") == "calls.0"
    fleet.visit("2026-06-06", arrived_at="2026-06-06T18:00:00Z", left_at=None, calls=[soon["id"]])


def test_what_a_visit_decided_is_not_changed_at_the_call(fleet) -> None:
    made = call(fleet)
    fleet.visit("2026-06-09", calls=[made["id"]])
    path = f"/v1/calls/{made['id']}"

    assert fleet.ask("PATCH", path, {"state": "open"}, If_Match="*").status_code == 409
    assert fleet.patch(path, {"words": "warm since noon"}, 2)["state"] == "answered"


def test_an_update_of_a_call_needs_its_version(fleet) -> None:
    path = f"/v1/calls/{call(fleet)['id']}"

    assert fleet.ask("PATCH", path, {"words": "x"}).status_code == 428
    assert fleet.ask("PATCH", path, {"words": "x"}, If_Match='"2"').status_code == 412
    assert fault(fleet.ask("PATCH", path, {"id": str(uuid4())}, If_Match='"1"')) == "id"


# Reading


def test_the_list_of_calls_is_narrowed_and_paged(fleet) -> None:
    ids = [call(fleet, received_at=f"2026-06-0{n}T14:00:00Z", unit=f"GU-{n}")["id"] for n in (2, 3)]
    ids.append(call(fleet, received_at="2026-06-05T14:00:00Z")["id"])
    fleet.patch(f"/v1/calls/{ids[0]}", {"technician": "rhea"}, 1)

    def listed(query):
        return [each["id"] for each in fleet.walk(f"/v1/calls?{query}")]

    assert listed("limit=1") == ids[::-1]
    assert listed("state=assigned") == [ids[0]]
    assert listed("state=open") == [ids[2], ids[1]]
    assert listed("site=pier") == listed("unit=GU-3") == [ids[1]]
    assert listed("since=2026-06-03T14:00:00Z") == [ids[2], ids[1]]
    assert listed("since=2026-06-03T14:00:01Z") == [ids[2]]


def test_everybody_may_record_and_change_a_call(fleet) -> None:
    for role in ("technician", "dispatcher", "owner"):
        made = fleet.post("/v1/calls", {"id": str(uuid4()), **WARM}, role=role)
        fleet.patch(f"/v1/calls/{made['id']}", {"words": "x"}, 1, role=role)
        assert fleet.get("/v1/calls", role=role)["items"]


def test_the_units_history_shows_its_calls(fleet) -> None:
    advised, visited = call(fleet), call(fleet, unit=None, received_at="2026-06-09T15:00:00Z")
    fleet.patch(
        f"/v1/calls/{advised['id']}", {"state": "answered", "how": "phone_advice", "at": "2026-06-09T16:00:00Z"}, 1
    )
    visit = fleet.visit("2026-06-09", calls=[visited["id"]])["visit"]
    events = [each for each in fleet.walk("/v1/units/GU-0007/history") if each["event"].startswith("call")]

    assert [(each["event"], each["at"][11:16], each["recorded"]["id"]) for each in events] == [
        ("call_closed", "12:00", visited["id"]),
        ("call_closed", "10:00", advised["id"]),
        ("call", "09:00", visited["id"]),
        ("call", "08:00", advised["id"]),
    ]
    assert [events[0]["recorded"].get("visit"), events[1]["recorded"]["how"]] == [visit["id"], "phone_advice"]
    assert [each["event"] for each in fleet.walk("/v1/units/GU-2/history") if each["event"].startswith("call")] == []


# What follows


def outages(shop):
    units = shop.get("/v1/customers/lantern/service-summaries/2026")["units"]
    return [each for unit in units for each in unit["outages"]]


def test_hours_without_cold_beer_start_when_the_call_was_received(fleet) -> None:
    made = call(fleet, received_at="2026-06-09T14:00:00Z")
    own = {"symptom": "foaming", "reported_at": "2026-06-09T16:00:00Z"}
    fleet.visit("2026-06-09", calls=[made["id"]], complaint=own, left_at="2026-06-09T19:00:00Z", outcome="running")
    (found,) = outages(fleet)

    assert (found["symptom"], found["started_at"][:16]) == ("warm_pour", "2026-06-09T08:00")
    assert (found["started_by"], found["ended"]) == ("call", "left_cold")


def test_a_call_about_noise_is_no_outage(fleet) -> None:
    made = call(fleet, symptom="noisy")
    fleet.visit("2026-06-09", calls=[made["id"]], outcome="running")

    assert outages(fleet) == []


def test_calls_and_their_answers_survive_export_and_import(fleet) -> None:
    made = [call(fleet, words=str(n)) for n in range(5)]
    fleet.patch(f"/v1/calls/{made[0]['id']}", {"state": "cancelled", "why": "wrong number"}, 1)
    fleet.patch(f"/v1/calls/{made[1]['id']}", {"technician": "rhea", "day": "2026-06-10"}, 1)
    voided = fleet.visit("2026-06-09", calls=[made[2]["id"], made[3]["id"]])["visit"]
    fleet.ask("POST", f"/v1/visits/{voided['id']}/void", {"reason": "x"}, If_Match='"1"')
    later = fleet.visit("2026-06-08", arrived_at="2026-06-09T17:00:00Z")["visit"]
    fleet.visit("2026-06-09", calls=[made[4]["id"]])
    fleet.patch(f"/v1/visits/{later['id']}", {"calls": [made[2]["id"]], "why": "forgotten"}, 1)
    before = [{**each, "posted_at": "", "version": 0} for each in fleet.walk("/v1/calls")]
    exported, summary = export(fleet), outages(fleet)

    imported(fleet, exported)
    assert [{**each, "posted_by": "the owner", "posted_at": "", "version": 0} for each in fleet.walk("/v1/calls")] == [
        {**each, "posted_by": "the owner"} for each in before
    ]
    assert outages(fleet) == summary
    assert sorted(export(fleet).splitlines()) == sorted(exported.splitlines())


def test_a_visit_corrected_to_name_a_call_that_another_had_named_is_imported(fleet) -> None:
    made = call(fleet)
    first = fleet.visit("2026-06-09")["visit"]
    second = fleet.visit("2026-06-09", calls=[made["id"]])["visit"]
    fleet.ask("POST", f"/v1/visits/{second['id']}/void", {"reason": "x"}, If_Match='"1"')
    fleet.patch(f"/v1/visits/{first['id']}", {"calls": [made["id"]], "why": "it was this one"}, 1)

    imported(fleet, export(fleet))
    assert now(fleet, made)["visit"] == first["id"]


def test_a_changed_line_changes_the_call(fleet) -> None:
    made = call(fleet)
    exported = export(fleet)
    fleet.now = datetime.fromisoformat("2026-06-09T21:00:00+00:00") + timedelta(hours=1)
    changed = exported.replace(b'"urgency":"today"', b'"urgency":"now"')
    assert take_in(fleet, exported)["changed"].get("call") is None
    assert take_in(fleet, changed)["changed"] == {"call": 1}
    assert now(fleet, made)["urgency"] == "now"


def test_a_visit_that_answered_a_call_is_corrected_and_imported_after_its_unit_was_moved(fleet) -> None:
    """It was recorded later that the unit stood at another site by then."""
    fleet.post("/v1/sites", fleet.example("site", code="dock"))
    called = {"id": str(uuid4()), "received_at": "2026-06-09T16:00:00Z", "site": "lantern-quay", "symptom": "warm_pour"}
    fleet.post("/v1/calls", called)
    visit = fleet.visit("2026-06-09", calls=[called["id"]])["visit"]["id"]
    fleet.post("/v1/units/GU-0007/locations", {"site": "dock", "from": "2026-06-08", "reason": "x"})
    answer = fleet.ask("PATCH", f"/v1/visits/{visit}", {"work": "x", "why": "x"}, If_Match="*")
    assert (answer.status_code, answer.json["visit"]["site"]) == (200, "dock"), answer.text
    lines = export(fleet)
    imported(fleet, lines)
    assert export(fleet) == lines
