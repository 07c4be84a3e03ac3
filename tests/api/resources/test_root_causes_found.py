"""Root causes over HTTP as visits make and unmake them: found, shown, withdrawn, returned, judged after a remedy."""

from dataclasses import fields
from datetime import datetime, timedelta

import pytest

from service.domain.root_causes.found import RootCauseFound
from service.schemas.root_causes import FoundSchema, RootCauseSchema
from tests.api.resources.conftest import example

DAYS = ("2026-01-12", "2026-02-16", "2026-03-23", "2026-04-27", "2026-06-01")
BURNT = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
PATH = "/v1/root-causes"


def burnt(shop, day, **changes):
    return shop.visit(day, kind="service_call", replacements=[BURNT], **changes)


def failing(shop, tag="GU-0007"):
    """A unit in our care since its installation, whose switch burnt five times in half a year; the last answer."""
    shop.unit(tag, care_from=example("unit")["installed_on"])
    return [burnt(shop, day, unit=tag) for day in DAYS][-1]


def void(shop, answer):
    visit = answer["visit"]
    path, match = f"/v1/visits/{visit['id']}/void", f'"{visit["version"]}"'
    shown = shop.ask("POST", path, {"reason": "wrong unit"}, If_Match=match)
    assert shown.status_code == 200, shown.text
    return shown.json


def decide(shop, state, note="seen"):
    (cause,) = shop.walk(PATH)
    return shop.patch(f"{PATH}/{cause['id']}", {"state": state, "note": note}, cause["version"])


def test_the_answer_to_a_visit_reports_the_root_cause_that_it_makes(shop) -> None:
    (cause,) = failing(shop)["root_causes"]

    assert (cause["unit"], cause["component_kind"], cause["state"]) == (
        "GU-0007",
        "power_switch",
        "open",
    )
    assert [event["day"] for event in cause["events"]] == list(DAYS)
    assert shop.get(f"{PATH}/{cause['id']}") == cause


def test_a_root_cause_reports_all_that_the_search_found_and_the_contract_names(shop) -> None:
    (cause,) = failing(shop)["root_causes"]
    found = {field.name for field in fields(RootCauseFound)} - {"evidence_key"}

    words = {"other_explanations", "next_check", "remedy", "bring", "explanation"}

    assert found | words == set(FoundSchema().fields)
    assert set(cause) | {"exposed_share"} == set(RootCauseSchema().fields)


def test_one_failure_makes_no_root_cause(shop) -> None:
    shop.unit()

    assert burnt(shop, DAYS[0])["root_causes"] == []
    assert shop.walk(PATH) == []


def test_a_visit_posted_again_gets_the_first_answer_with_its_root_cause(shop) -> None:
    shop.unit()
    for day in DAYS[:4]:
        burnt(shop, day)
    identity = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
    first, again = (burnt(shop, DAYS[4], id=identity) for _ in range(2))

    assert (again, len(first["root_causes"])) == (first, 1)


def test_a_voided_failure_withdraws_the_root_cause_and_the_audit_trail_says_so(shop) -> None:
    shop.unit()
    answers = [burnt(shop, day) for day in DAYS]
    for answer in answers[1:]:
        shown = void(shop, answer)
    entry = shop.get("/v1/audit?resource=root_cause")["items"][0]

    assert (shown["root_causes"], shop.walk(PATH)) == ([], [])
    assert (entry["action"], entry["key"], entry["after"]) == ("withdrawn", "GU-0007/power_switch", None)


def test_a_corrected_failure_withdraws_the_root_cause(shop) -> None:
    shop.unit()
    for answer in [burnt(shop, day) for day in DAYS][1:]:
        body = {
            "why": "it was worn, not burnt",
            "replacements": [BURNT | {"reason": "precaution", "condition": "worn"}],
        }
        shown = shop.patch(f"/v1/visits/{answer['visit']['id']}", body, 1)

    assert shown["root_causes"] == []


@pytest.mark.parametrize("state", ["confirmed", "dismissed", "resolved"])
def test_a_decided_root_cause_stays_when_its_evidence_is_gone_and_says_so(shop, state) -> None:
    shop.unit()
    answers = [burnt(shop, day) for day in DAYS]
    decide(shop, state)
    for answer in answers[1:]:
        void(shop, answer)
    (cause,) = shop.walk(PATH)

    assert (cause["state"], cause["absent_since"], cause["note"]) == (
        state,
        "2026-06-09T21:00:00.000000Z",
        "seen",
    )


def test_a_dismissed_root_cause_is_not_reported_with_visits_until_the_part_fails_again(shop) -> None:
    failing(shop)
    decide(shop, "dismissed")

    assert shop.visit("2026-06-08")["root_causes"] == []
    (cause,) = burnt(shop, "2026-06-09", arrived_at="2026-06-09T20:00:00Z")["root_causes"]
    assert (cause["state"], cause["returned_from"], cause["decided_by"], cause["note"]) == (
        "open", "dismissed", "the owner", "seen",
    )  # fmt: skip


def test_a_resolved_root_cause_that_fails_again_is_open_with_the_remedy_still_reported(shop) -> None:
    failing(shop)
    assert decide(shop, "resolved", "a motor-rated switch")["after_remedy"]["verdict"] == "too early to say"
    shop.now += timedelta(days=30)
    (cause,) = burnt(shop, "2026-07-01")["root_causes"]

    assert (cause["state"], cause["returned_from"], cause["resolved_on"]) == (
        "open",
        "resolved",
        "2026-06-09",
    )
    assert (cause["note"], cause["after_remedy"]["after"]) == ("a motor-rated switch", 1)
    assert cause["after_remedy"]["verdict"] == "still failing"


def test_a_remedy_is_judged_once_there_is_time_enough(shop) -> None:
    failing(shop)
    decide(shop, "resolved")
    shop.now += timedelta(days=4 * 365)
    (cause,) = shop.visit("2030-06-01")["root_causes"]

    assert (cause["after_remedy"]["before"], cause["after_remedy"]["after"]) == (5, 0)
    assert cause["after_remedy"]["chance"] == pytest.approx((3.10 / (3.10 + 4.0)) ** 5, abs=2e-3)  # binomial, by hand
    assert cause["after_remedy"]["verdict"] == "it worked"


def test_a_unit_that_changes_hands_takes_its_root_cause_along(shop) -> None:
    failing(shop)
    shop.post("/v1/customers", {"code": "anchor", "name": "Anchor"})
    shop.post("/v1/sites", {"code": "pier", "customer": "anchor", "name": "Pier", "time_zone": "America/Denver"})
    shop.patch("/v1/units/GU-0007", {"site": "pier"}, 1)

    assert [len(shop.walk(f"{PATH}?customer={code}")) for code in ("lantern", "anchor")] == [0, 1]


def test_the_history_reports_when_a_root_cause_was_first_seen_and_decided(shop) -> None:
    failing(shop)
    shop.now += timedelta(hours=1)
    decide(shop, "confirmed")
    found = {event["event"]: event for event in shop.walk("/v1/units/GU-0007/history")}

    assert (found["root_cause_seen"]["at"], found["root_cause_decided"]["at"]) == (
        "2026-06-09T15:00:00-06:00", "2026-06-09T16:00:00-06:00",
    )  # fmt: skip
    assert found["root_cause_seen"]["recorded"]["component_kind"] == "power_switch"
    assert [found["root_cause_decided"]["recorded"][name] for name in ("state", "by", "note")] == [
        "confirmed", "the owner", "seen",
    ]  # fmt: skip


def recorded_day_by_day(shop):
    """The visits of `failing`, each recorded on its own day."""
    now = shop.now
    shop.unit(care_from=example("unit")["installed_on"])
    for day in DAYS:
        shop.now = datetime.fromisoformat(f"{day}T20:00:00+00:00")
        burnt(shop, day)
    shop.now = now


def test_what_was_recorded_later_was_not_known_then(shop) -> None:
    failing(shop)

    then = shop.get(f"{PATH}?as_of=2026-04-30")
    assert then["items"] == []
    assert "Visits recorded later, as by an import, are left out, whatever their day." in then["basis"]


def test_what_the_record_reported_by_a_day_is_computed_and_not_stored(shop) -> None:
    recorded_day_by_day(shop)
    before, then = shop.get(f"{PATH}?as_of=2026-01-31"), shop.get(f"{PATH}?as_of=2026-04-30")
    (cause,) = then["items"]

    assert (before["items"], [event["day"] for event in cause["events"]]) == ([], list(DAYS[:4]))
    assert (cause["id"], cause["version"], cause["first_seen"], cause["state"]) == (
        None,
        None,
        None,
        "open",
    )
    assert (then["as_of"], "not stored" in then["basis"]) == ("2026-04-30", True)
    assert len(shop.walk(PATH)[0]["events"]) == 5


@pytest.mark.parametrize(
    ("query", "count"),
    [("unit=GU-0007", 1), ("unit=GU-1", 0), ("customer=lantern", 1), ("customer=x", 0), ("state=open", 1)],
)
def test_what_was_known_by_a_day_is_narrowed_as_the_list_is(shop, query, count) -> None:
    failing(shop)

    assert len(shop.walk(f"{PATH}?as_of=2026-06-09&{query}")) == count


def test_what_was_known_by_a_day_comes_in_parts(shop) -> None:
    for tag in ("GU-1", "GU-2", "GU-3"):
        failing(shop, tag)

    assert [cause["unit"] for cause in shop.walk(f"{PATH}?as_of=2026-06-09&limit=1")] == [
        "GU-1",
        "GU-2",
        "GU-3",
    ]


@pytest.mark.parametrize(
    ("query", "field"), [("as_of=2026-06-12", "as_of"), ("as_of=2026-06-09&state=dismissed", "state")]
)
def test_what_nobody_can_have_known_is_refused(shop, query, field) -> None:
    refused = shop.ask("GET", f"{PATH}?{query}")

    assert (refused.status_code, refused.json["errors"][0]["field"]) == (422, field)


def test_the_days_list_reports_what_to_look_into_at_a_unit_that_is_on_it(shop) -> None:
    (cause,) = failing(shop)["root_causes"]
    (stop,) = shop.get("/v1/pm-list")["stops"]
    (shown,) = stop["root_causes"]

    assert (shown["id"], shown["unit"], shown["bring"]) == (cause["id"], "GU-0007", cause["bring"])
    assert shown["next_check"] == cause["next_check"]
    decide(shop, "dismissed")
    assert shop.get("/v1/pm-list")["stops"][0]["root_causes"] == []


def test_the_audit_trail_reports_that_a_root_cause_came_back(shop) -> None:
    failing(shop)
    decide(shop, "dismissed")
    burnt(shop, "2026-06-09", arrived_at="2026-06-09T20:00:00Z")
    entries = [entry for entry in shop.walk("/v1/audit") if entry["resource"] == "root_cause"]

    shown = sorted((entry["at"], entry["actor"], entry["after"]["state"]) for entry in entries)
    assert sorted((who, state) for _, who, state in shown) == [
        ("search for root causes", "open"),
        ("the owner", "dismissed"),
    ]
