"""No field is lost: each that a client may send is followed through answer, GET, PATCH, audit, export and import."""

import dataclasses
from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any, NamedTuple, get_args, get_type_hints

import orjson
import pytest
from marshmallow import Schema

from service.app import RESOURCES as ROUTES
from service.domain.record import assignments, attendances, calls, company, fleet, visits
from service.domain.summary.issues import Issue
from service.schemas.assignments import AssignmentSchema
from service.schemas.attendances import AttendancePatch, AttendancePost, AttendanceSchema, AttendedVisitSchema
from service.schemas.calls import CallPost, CallSchema
from service.schemas.company import CompanySchema
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.issues import IssueRecord, IssueRequest
from service.schemas.locations import LocationSchema
from service.schemas.pauses import ClosurePatch, ClosureSchema, PausePatch, PauseSchema
from service.schemas.photos import RemovalSchema
from service.schemas.root_causes import DecisionSchema
from service.schemas.tasks import TaskSchema
from service.schemas.units import UnitPatch, UnitSchema
from service.schemas.vans import MovementSchema
from service.schemas.visits import MoveSchema, UnvoidSchema, VisitCorrectionSchema, VisitSchema, VoidSchema
from tests.api.resources.bodies_of_schemas import body_of, hidden_of, lost, part_of, paths_in, paths_of
from tests.api.resources.following import Followed, audited, export, imported, listed, record_of, stocked, take_in

CORRECTED = VisitCorrectionSchema(partial=True)
COMPONENTS = [{"code": "fed-1", "kind": "pump"}]
RELAY = {"component": "relay-9", "kind": "start_relay"}


class Resource(NamedTuple):
    """A resource that is posted and patched: `fixed` values must be these, fields in `stays` take no PATCH."""

    name: str
    schema: Schema
    key: str
    fixed: Mapping[str, Any]
    stays: tuple[str, ...]
    all: str = ""  # added to the question for the list


ENDED = ("2026-06-01", "2026-06-02")
RESOURCES = [
    Resource("customer", CustomerSchema(), "code", {"code": "added", "ended_on": ENDED}, ("code",)),
    Resource(
        "technician",
        TechnicianSchema(),
        "code",
        {"code": "added", "leave.until": ("2026-05-03", "2026-05-04")},
        ("code",),
    ),
    Resource(
        "site",
        SiteSchema(),
        "code",
        {"code": "added", "customer": "lantern", "technician": ("rhea", "tobin"), "ended_on": ENDED},
        ("code", "customer"),
    ),
    Resource(
        "unit",
        UnitSchema(),
        "tag",
        {
            "tag": "GU-1",
            "site": ("lantern-quay", "other-quay"),
            "retired_on": ("2026-06-01", "2026-06-02"),
            "replaces": ("GU-0007", "GU-0008"),
            "components.code": "comp-1",
            "components.feeds": ["fed-1"],
            "trunks.code": "trunk-1",
        },
        ("tag",),
        "&retired=true",
    ),
]
CALLS = ("0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01", "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c02")
# One call was answered by phone, the other cancelled: no single one can have every field.
OF_CALL = {
    "received_at": ("2026-05-01T17:00:00Z", "2026-05-01T17:30:00Z"),
    "site": ("lantern-quay", "lantern-quay"),
    "unit": "GU-0007",
    "technician": ("rhea", "tobin"),
    "promised.until": ("2026-05-01T20:00:00Z", "2026-05-01T20:30:00Z"),
}
ADVISED = {**OF_CALL, "state": "answered", "how": "phone_advice", "why": None}
CANCELLED = {**OF_CALL, "state": "cancelled", "how": None, "advice": None}
# One visit is ours, the other was reported to us: no single one can have every field.
OF_VISIT = {
    "unit": "GU-0007",
    "arrived_at": ("2026-05-01T17:00:00Z", "2026-05-01T17:30:00Z"),
    "left_at": ("2026-05-01T20:00:00Z", "2026-05-01T20:30:00Z"),
    "calls": ([CALLS[0]], [CALLS[1]]),
    "complaint.reported_at": ("2026-05-01T10:00:00Z", "2026-05-01T11:00:00Z"),
    "readings.quantity": "glycol_strength",
    "readings.value": ("18 Brix", "19 Brix"),
    "readings.sample_temperature": ("60 degF", "61 degF"),
    **{f"{part}.{name}": value for part in ("readings", "replacements") for name, value in RELAY.items()},
    "observations.component": "relay-9",
    "tasks.result": "not_done",
    "replacements.on": ("2026-04-01", "2026-04-02"),
    "parts_promised_on": ("2026-05-11", "2026-05-12"),
}
OURS = {**OF_VISIT, "by": "us", "evidence": ("seen", "reported"), "firm": None, "technician": ("rhea", "tobin"),
        "crew": ("tobin", "rhea")}  # fmt: skip
OTHERS = {**OF_VISIT, "by": "others", "evidence": "reported", "technician": None, "crew": None,
          "replacements.on": ("2026-04", "2025-08-01/2026-04-15"), "replacements.evidence": "reported"}  # fmt: skip
SET = {
    "shortest": ("60 days", "61 days"), "longest": ("120 days", "121 days"), "rule": ("stepped", "calendar"),
    "heavy_chance": (0.2, 0.3),
}  # fmt: skip
DECISION = {"state": ("confirmed", "dismissed")}
RECORDED: dict[type[Any], Schema] = {
    company.Company: CompanySchema(),
    fleet.Customer: CustomerSchema(),
    fleet.Technician: TechnicianSchema(),
    fleet.Site: SiteSchema(),
    fleet.Unit: UnitSchema(),
    assignments.Assignment: AssignmentSchema(),
    attendances.Attendance: AttendanceSchema(),
    calls.Call: CallSchema(),
    visits.Visit: VisitSchema(),
    Issue: IssueRecord(),
}
KEPT_BY_US = {
    "id", "posted_at", "posted_by", "site", "customer", "time_zone", "version", "visit", "visits", "void", "attendance",
    "shared_by", "replaced_by", "replaced_on", "size",
}  # fmt: skip
NOT_EXPORTED = {"TokenSchema", "OnboardingPlanSchema"}  # the first dates of a plan are exported


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda each: each.name)
def test_no_field_of_the_fleet_is_lost(shop, resource: Resource) -> None:
    name, schema, followed = resource.name, resource.schema, Followed()
    first, second = (body_of(schema, resource.fixed, turn) for turn in (0, 1))
    if name == "unit":
        first["components"] += COMPONENTS
        second["components"] += COMPONENTS
    changes = {field: value for field, value in second.items() if field not in resource.stays}
    path = f"/v1/{name}s/{first[resource.key]}"
    assert set(paths_of(schema)) == paths_in(first) == paths_in(second)

    stocked(shop)
    followed.look("answer to POST", schema, first, shop.post(f"/v1/{name}s", first))
    followed.look("GET after POST", schema, first, shop.get(path))
    followed.look("list", schema, first, listed(shop, f"/v1/{name}s?limit=200{resource.all}", first[resource.key]))
    followed.look("audit of POST", schema, first, audited(shop, name, first[resource.key])["after"])
    before = export(shop)
    followed.look("answer to PATCH", schema, second, shop.patch(path, changes, 1))
    followed.look("GET after PATCH", schema, second, shop.get(path))
    followed.look("audit before PATCH", schema, first, audited(shop, name, first[resource.key])["before"])
    followed.look("audit after PATCH", schema, second, audited(shop, name, first[resource.key])["after"])
    after = export(shop)
    named = {"record": name, resource.key: first[resource.key]}
    followed.look("export", schema, second, record_of(after, **named))
    imported(shop, before)
    followed.look("import", schema, first, shop.get(path))
    take_in(shop, after)
    followed.look("import of a change", schema, second, shop.get(path))

    assert followed.lost == {}


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda each: each.name)
def test_a_line_that_changes_one_field_is_not_taken_for_unchanged(shop, resource: Resource) -> None:
    name, schema = resource.name, resource.schema
    line, second = (body_of(schema, resource.fixed | {"components.feeds": []}, turn) for turn in (0, 1))
    overlooked = []

    stocked(shop)
    shop.post(f"/v1/{name}s", line)
    for field in second.keys() - resource.stays:
        line[field] = second[field]
        if take_in(shop, orjson.dumps({"record": name, **line}))["changed"] != {name: 1}:
            overlooked.append(field)

    assert overlooked == []
    assert lost(schema, second, shop.get(f"/v1/{name}s/{line[resource.key]}")) == []


GIVEN = {"site": "lantern-quay", "unit": "GU-0007", "task": "pump_check", "why": None, "note": ("x", "y")}
TO_SOMEBODY = {**GIVEN, "technician": ("rhea", "tobin"), "day": ("2026-06-20", "2026-06-21"), "postponed_to": None}
POSTPONED = {**GIVEN, "technician": None, "day": None, "postponed_to": ("2026-06-20", "2026-06-21"), "why": ("a", "b")}


@pytest.mark.parametrize("fixed", [TO_SOMEBODY, POSTPONED], ids=["assigned", "postponed"])
def test_no_field_of_an_assignment_is_lost(shop, fixed: Mapping[str, Any]) -> None:
    followed, schema = Followed(), AssignmentSchema()
    first, second = (body_of(schema, fixed, turn) for turn in (0, 1))

    stocked(shop)
    made = shop.post("/v1/assignments", first)
    path, key = f"/v1/assignments/{made['id']}", str(made["id"])
    followed.look("answer to POST", schema, first, made)
    followed.look("GET after POST", schema, first, shop.get(path))
    followed.look("audit of POST", schema, first, audited(shop, "assignment", key)["after"])
    followed.look("answer to PATCH", schema, second, shop.patch(path, second, 1))
    followed.look("list", schema, second, shop.walk("/v1/assignments")[0])
    followed.look("audit after PATCH", schema, second, audited(shop, "assignment", key)["after"])
    after = export(shop)
    followed.look("export", schema, second, record_of(after, record="assignment"))
    imported(shop, after)
    followed.look("import", schema, second, shop.walk("/v1/assignments")[0])

    assert followed.lost == {}


ATTENDED = {
    "site": "lantern-quay",
    "crew": (["rhea", "tobin"], ["tobin", "rhea"]),
    "left_at": ("2026-05-01T20:00:00Z", "2026-05-01T20:30:00Z"),
    "access": ("no_access", "cancelled_at_door"),
}


def test_no_field_of_an_attendance_is_lost(shop) -> None:
    followed, schema, patch = Followed(), AttendanceSchema(), AttendancePatch()
    first, second = body_of(schema, ATTENDED, 0), body_of(patch, ATTENDED, 1)
    path = f"/v1/attendances/{first['id']}"
    facts = {name: value for name, value in second.items() if name != "why"}
    assert (set(paths_of(schema)), set(paths_of(patch))) == (paths_in(first), paths_in(second))

    stocked(shop)
    followed.look("answer to POST", schema, first, shop.post("/v1/attendances", first)["attendance"])
    followed.look("GET after POST", schema, first, shop.get(path))
    followed.look("list", schema, first, listed(shop, "/v1/attendances", first["id"]))
    followed.look("audit of POST", schema, first, audited(shop, "attendance", first["id"])["after"])
    before = export(shop)
    followed.look("answer to PATCH", schema, facts, shop.patch(path, second, 1))
    followed.look("audit before PATCH", schema, first, audited(shop, "attendance", first["id"])["before"])
    followed.look("audit after PATCH", schema, facts, audited(shop, "attendance", first["id"])["after"])
    after = export(shop)
    followed.look("export", schema, facts, record_of(after, record="attendance", id=first["id"]))
    imported(shop, before)
    followed.look("import", schema, first, shop.get(path))
    take_in(shop, after)
    followed.look("import of a change", schema, facts, shop.get(path))

    assert followed.lost == {}


def test_no_field_of_a_visit_of_an_attendance_is_lost(shop) -> None:
    followed, schema = Followed(), AttendedVisitSchema()
    given = body_of(schema, OF_VISIT, 0)
    assert set(paths_of(schema)) == paths_in(given)
    whose = body_of(AttendanceSchema(), ATTENDED | {"arrived_at": OF_VISIT["arrived_at"], "access": "done"}, 0)

    stocked(shop)
    answer = shop.post("/v1/attendances", whose | {"visits": [given]})
    followed.look("answer to POST", schema, given, answer["visits"][0]["visit"])
    followed.look("GET after POST", schema, given, shop.get(f"/v1/visits/{given['id']}"))
    exported = export(shop)
    followed.look("export", schema, given, record_of(exported, record="visit", id=given["id"]))
    imported(shop, exported)
    followed.look("import", schema, given, shop.get(f"/v1/visits/{given['id']}"))

    assert followed.lost == {}
    assert shop.get(f"/v1/visits/{given['id']}")["attendance"] == whose["id"]


@pytest.mark.parametrize("fixed", [ADVISED, CANCELLED], ids=["advised", "cancelled"])
def test_no_field_of_a_call_is_lost(shop, fixed: Mapping[str, Any]) -> None:
    followed, schema = Followed(), CallSchema()
    first, second = (body_of(schema, fixed, turn) for turn in (0, 1))
    del second["id"]
    path = f"/v1/calls/{first['id']}"

    stocked(shop)
    followed.look("answer to POST", schema, first, shop.post("/v1/calls", first))
    followed.look("GET after POST", schema, first, shop.get(path))
    followed.look("list", schema, first, listed(shop, "/v1/calls", first["id"]))
    followed.look("audit of POST", schema, first, audited(shop, "call", first["id"])["after"])
    before = export(shop)
    followed.look("answer to PATCH", schema, second, shop.patch(path, second, 1))
    followed.look("GET after PATCH", schema, second, shop.get(path))
    followed.look("audit before PATCH", schema, first, audited(shop, "call", first["id"])["before"])
    followed.look("audit after PATCH", schema, second, audited(shop, "call", first["id"])["after"])
    after = export(shop)
    followed.look("export", schema, second, record_of(after, record="call", id=first["id"]))
    imported(shop, before)
    followed.look("import", schema, first, shop.get(path))
    take_in(shop, after)
    followed.look("import of a change", schema, second, shop.get(path))

    assert followed.lost == {}


def test_both_calls_together_have_every_field() -> None:
    bodies = [body_of(CallSchema(), fixed, 0) for fixed in (ADVISED, CANCELLED)]

    assert set(paths_of(CallSchema())) == {path for body in bodies for path in paths_in(body)}


@pytest.mark.parametrize("fixed", [OURS, OTHERS], ids=["ours", "others"])
def test_no_field_of_a_visit_is_lost(shop, fixed: Mapping[str, Any]) -> None:
    followed, schema = Followed(), VisitSchema()
    first = body_of(schema, fixed, 0)
    second = body_of(CORRECTED, fixed, 1)
    path = f"/v1/visits/{first['id']}"

    stocked(shop)
    followed.look("answer to POST", schema, first, shop.post("/v1/visits", first)["visit"])
    followed.look("GET after POST", schema, first, shop.get(path))
    followed.look("list", schema, first, listed(shop, "/v1/visits", first["id"]))
    followed.look("audit of POST", schema, first, audited(shop, "visit", first["id"])["after"])
    before = export(shop)
    followed.look("export", schema, first, record_of(before, record="visit", id=first["id"]))
    changed = {name: value for name, value in second.items() if name != "why"}
    followed.look("answer to PATCH", CORRECTED, changed, shop.patch(path, second, 1)["visit"])
    corrected(shop, followed, "after PATCH", first, second)
    followed.look("audit before PATCH", schema, first, audited(shop, "visit", first["id"])["before"])
    followed.look("audit after PATCH", CORRECTED, changed, audited(shop, "visit", first["id"])["after"])
    after = export(shop)
    followed.look("export of a corrected visit", schema, first, record_of(after, record="visit", id=first["id"]))
    correction = record_of(after, record="correction", visit=first["id"])["correction"]
    followed.look("export of the correction", CORRECTED, second, correction)
    imported(shop, before)
    followed.look("import", schema, first, shop.get(path))
    take_in(shop, after)
    corrected(shop, followed, "after import", first, second)

    assert followed.lost == {}


def corrected(shop, followed: Followed, when: str, first: dict[str, Any], second: dict[str, Any]) -> None:
    """A corrected visit has the new values, the former ones and the reason."""
    found = shop.get(f"/v1/visits/{first['id']}")
    (correction,) = found["corrections"]
    followed.look(f"GET {when}", CORRECTED, second, found | {"why": correction["why"]})
    followed.look(f"former text {when}", VisitSchema(), first, correction["former"])
    kinds = {part["code"]: part["kind"] for part in shop.get("/v1/units/GU-0007")["components"]}
    assert kinds["relay-9"] == "start_relay", when  # sent beside the component, kept with the unit


@pytest.mark.parametrize("fixed", [OURS, OTHERS], ids=["ours", "others"])
def test_the_log_as_known_before_a_correction_is_the_log_of_then(shop, fixed: Mapping[str, Any]) -> None:
    first, second = body_of(VisitSchema(), fixed, 0), body_of(CORRECTED, fixed, 1)

    stocked(shop)
    shop.post("/v1/visits", first)
    with shop.database.reading() as store:
        before = store.log_of("GU-0007")
    shop.now += timedelta(hours=1)
    shop.patch(f"/v1/visits/{first['id']}", second, 1)
    with shop.database.reading() as store:
        after = store.log_of("GU-0007")

    assert after.all_visits != before.all_visits
    assert after.known_at(shop.now - timedelta(minutes=1)).all_visits == before.all_visits


def test_both_visits_together_have_every_field() -> None:
    bodies = [body_of(schema, fixed, turn) for schema, fixed, turn in (
        (VisitSchema(), OURS, 0), (VisitSchema(), OTHERS, 0), (CORRECTED, OURS, 1), (CORRECTED, OTHERS, 1),
    )]  # fmt: skip

    assert set(paths_of(VisitSchema())) == {*paths_in(bodies[0]), *paths_in(bodies[1])}
    assert set(paths_of(CORRECTED)) == {*paths_in(bodies[2]), *paths_in(bodies[3])}


@pytest.mark.parametrize("schema", [VisitSchema(), CORRECTED, *(each.schema for each in RESOURCES)])
def test_only_the_kind_of_a_new_component_is_sent_and_not_answered(schema: Schema) -> None:
    assert set(hidden_of(schema)) <= {"readings.kind", "replacements.kind"}


def test_no_field_of_a_voiding_is_lost(shop) -> None:
    followed, visit = Followed(), body_of(VisitSchema(), OURS, 0)
    given = body_of(VoidSchema(), {}, 0)
    path = f"/v1/visits/{visit['id']}"

    stocked(shop)
    shop.post("/v1/visits", visit)
    assert shop.ask("POST", f"{path}/void", given, If_Match='"1"').status_code == 200
    followed.look("GET", VoidSchema(), given, shop.get(path)["void"])
    followed.look("audit", VoidSchema(), given, audited(shop, "visit", visit["id"])["after"]["void"])
    exported = export(shop)
    followed.look("export", VoidSchema(), given, record_of(exported, record="void", visit=visit["id"]))
    imported(shop, exported)
    followed.look("import", VoidSchema(), given, shop.get(path)["void"])

    assert followed.lost == {}


def test_no_field_of_an_unvoiding_is_lost(shop) -> None:
    followed, visit = Followed(), body_of(VisitSchema(), OURS, 0)
    voided, given = {"reason": "wrong unit"}, body_of(UnvoidSchema(), {}, 0)
    path = f"/v1/visits/{visit['id']}"

    stocked(shop)
    shop.post("/v1/visits", visit)
    assert shop.ask("POST", f"{path}/void", voided, If_Match='"1"').status_code == 200
    assert shop.ask("POST", f"{path}/unvoid", given, If_Match='"2"').status_code == 200
    exported = export(shop)
    followed.look("export", UnvoidSchema(), given, record_of(exported, record="unvoid", visit=visit["id"]))
    for stage in ("GET", "import", "import again"):
        found = shop.get(path)
        (made,) = found["corrections"]
        assert (found["void"], found["version"], made["former"]["void"]["reason"]) == (None, 3, "wrong unit"), stage
        followed.look(stage, UnvoidSchema(), given, {"reason": made["why"]})
        followed.look(f"visit, {stage}", VisitSchema(), visit, found)
        if stage == "GET":
            imported(shop, exported)
        elif stage == "import":
            assert take_in(shop, exported)["added"] == {}

    assert followed.lost == {}


def test_no_field_of_the_company_is_lost(shop) -> None:
    followed, schema, path = Followed(), CompanySchema(), "/v1/company"
    first, second = (body_of(schema, {}, turn) for turn in (0, 1))
    assert set(paths_of(schema)) == paths_in(first) == paths_in(second)

    stocked(shop)
    exports = []
    for version, given in enumerate((first, second)):
        followed.look(f"answer to PATCH {version}", schema, given, shop.patch(path, given, version))
        followed.look(f"GET {version}", schema, given, shop.get(path))
        followed.look(f"audit {version}", schema, given, audited(shop, "company", "company")["after"])
        exports.append(export(shop))
        followed.look(f"export {version}", schema, given, record_of(exports[-1], record="company"))
    imported(shop, exports[0])
    followed.look("import", schema, first, shop.get(path))
    assert take_in(shop, exports[1])["changed"]["company"] == 1
    followed.look("import of a change", schema, second, shop.get(path))
    assert take_in(shop, exports[1])["unchanged"]["company"] == 1

    assert followed.lost == {}


@pytest.mark.parametrize(
    ("record", "path", "key"),
    [
        ("task", "/v1/tasks/pump_check", "pump_check"),
        ("unit_task", "/v1/units/GU-0007/tasks/pump_check", "GU-0007/pump_check"),
    ],
)
def test_no_field_of_a_task_setting_is_lost(shop, record: str, path: str, key: str) -> None:
    followed, schema = Followed(), TaskSchema(partial=True)
    first, second = (body_of(schema, SET, turn) for turn in (0, 1))
    assert set(paths_of(schema)) == paths_in(first) == paths_in(second)

    stocked(shop)
    exports = []
    for version, given in enumerate((first, second)):
        followed.look(f"answer to PATCH {version}", schema, given, shop.patch(path, given, version))
        followed.look(f"GET {version}", schema, given, shop.get(path))
        followed.look(f"audit {version}", schema, given, audited(shop, record, key)["after"])
        exports.append(export(shop))
        followed.look(f"export {version}", schema, given, record_of(exports[-1], record=record, code="pump_check"))
    followed.look("audit before", schema, first, audited(shop, record, key)["before"])
    imported(shop, exports[0])
    followed.look("import", schema, first, shop.get(path))
    take_in(shop, exports[1])
    followed.look("import of a change", schema, second, shop.get(path))

    assert followed.lost == {}


PAUSE_DAYS = {"from": ("2026-05-01", "2026-05-02"), "until": ("2026-06-30", "2026-07-01")}
PAUSES = [
    ("pause", "/v1/units/GU-0007/pauses", "GU-0007/1", PauseSchema(), PausePatch(partial=True)),
    ("closure", "/v1/sites/lantern-quay/closures", "lantern-quay/1", ClosureSchema(), ClosurePatch(partial=True)),
]


@pytest.mark.parametrize(("record", "path", "key", "schema", "patch"), PAUSES, ids=[each[0] for each in PAUSES])
def test_no_field_of_a_pause_is_lost(shop, record: str, path: str, key: str, schema: Schema, patch: Schema) -> None:
    followed = Followed()
    first, second = body_of(schema, PAUSE_DAYS, 0), body_of(patch, PAUSE_DAYS, 1)
    assert (set(paths_of(schema)), set(paths_of(patch))) == (paths_in(first), paths_in(second))

    stocked(shop)
    followed.look("answer to POST", schema, first, shop.post(path, first))
    followed.look("GET after POST", schema, first, shop.get(f"{path}/1"))
    followed.look("list", schema, first, shop.get(path)["items"][0])
    followed.look("audit of POST", schema, first, audited(shop, record, key)["after"])
    before = export(shop)
    shop.now += timedelta(hours=1)
    followed.look("answer to PATCH", patch, second, shop.patch(f"{path}/1", second, 1))
    followed.look("audit before PATCH", schema, first, audited(shop, record, key)["before"])
    followed.look("audit after PATCH", patch, second, audited(shop, record, key)["after"])
    after, shown = export(shop), shop.get(f"{path}/1")
    followed.look("export", patch, second, record_of(after, record=record))
    followed.look("export of the former text", schema, first, record_of(after, record=record)["former"][0])
    imported(shop, before)
    followed.look("import", schema, first, shop.get(f"{path}/1"))
    shop.now += timedelta(hours=1)
    take_in(shop, after)
    followed.look("import of a change", patch, second, shop.get(f"{path}/1"))
    imported(shop)
    shop.now += timedelta(hours=1)
    take_in(shop, after)

    assert followed.lost == {}
    assert shop.get(f"{path}/1") == shown
    assert export(shop) == after


def test_no_field_of_a_decision_on_a_root_cause_is_lost(shop) -> None:
    followed, schema = Followed(), DecisionSchema()
    burnt = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}

    stocked(shop)
    for day in ("2026-01-12", "2026-02-16", "2026-03-23", "2026-04-27", "2026-06-01"):
        shop.visit(day, kind="service_call", replacements=[burnt])
    (found,) = shop.walk("/v1/root-causes")
    path, exports = f"/v1/root-causes/{found['id']}", []
    for turn in (0, 1):
        given = body_of(schema, DECISION, turn)
        assert set(paths_of(schema)) == paths_in(given)
        shop.now += timedelta(hours=1)
        followed.look(f"answer {turn}", schema, given, shop.patch(path, given, shop.get(path)["version"]))
        followed.look(f"GET {turn}", schema, given, shop.get(path))
        followed.look(f"audit {turn}", schema, given, audited(shop, "root_cause", "GU-0007/power_switch")["after"])
        exports.append(export(shop))
        followed.look(f"export {turn}", schema, given, record_of(exports[-1], record="root_cause", unit="GU-0007"))
    now = shop.now
    shop.empty()
    shop.now = now
    for turn, lines in enumerate(exports):
        take_in(shop, lines)
        (found,) = shop.walk("/v1/root-causes")
        followed.look(f"import {turn}", schema, body_of(schema, DECISION, turn), found)

    assert followed.lost == {}


def test_every_body_that_is_kept_is_followed() -> None:
    followed = {type(each.schema) for each in RESOURCES} | {
        AssignmentSchema, AttendancePost, AttendancePatch, CallPost, CallSchema, CompanySchema, VisitSchema,
        AttendedVisitSchema,  # in test_attendances.py
        VisitCorrectionSchema, VoidSchema, UnvoidSchema, MoveSchema, TaskSchema, DecisionSchema, UnitPatch,
        IssueRequest,  # in test_issues.py
        LocationSchema,  # in test_locations.py
        MovementSchema,  # in test_vans.py
        PauseSchema, PausePatch, ClosureSchema, ClosurePatch,
        RemovalSchema,  # in tests/usecases/test_photos.py
    }  # fmt: skip
    bodies = {
        type(operation.body)
        for routes in ROUTES
        if routes.name not in ("calculations", "triage")  # stateless
        for operation in routes.operations
        if operation.body is not None
    }

    assert {body.__name__ for body in bodies - followed} == NOT_EXPORTED


@pytest.mark.parametrize("kind", RECORDED, ids=lambda kind: kind.__name__)
def test_whatever_is_recorded_can_be_sent(kind: Any) -> None:
    assert list(never_sent(kind, RECORDED[kind])) == []


def never_sent(kind: Any, schema: Schema) -> Iterator[str]:
    """The fields of what is recorded, and of its parts, that no body can hold."""
    hints = get_type_hints(kind)
    for field in dataclasses.fields(kind):
        sent = schema.load_fields.get(field.name.removesuffix("_"))
        if sent is None and field.name not in KEPT_BY_US:
            yield f"{kind.__name__}.{field.name}"
        elif sent is not None and (inner := part_of(sent)):
            (part,) = (each for each in get_args(hints[field.name]) if dataclasses.is_dataclass(each))
            yield from never_sent(part, inner)
