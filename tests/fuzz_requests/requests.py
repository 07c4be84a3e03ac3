"""Makes requests from the document with a stock generator, aims them at the record, and damages some of them."""

import copy
import itertools
from random import Random
from typing import Any
from uuid import UUID

import schemathesis
from schemathesis import GenerationMode

from tests.fuzz_requests.target import FIRST_UNIT, Target, learn_from

schemathesis.serializer.alias("application/x-ndjson", "text/plain")
OF_VISIT = ("readings", "replacements", "observations")
NEW = ("/v1/visits", "/v1/calls", "/v1/attendances")
KEY = "Idempotency-Key"
TABLES = "/v1/table-imports"
TABLE = b"Tag,Customer,Where,Model\nGU-8001,Heron Tap,patio,K4\nGU-8002,Heron Tap,roof,K4\n"
MAPPING = """version = 1
time_zone = "America/Denver"
[[table]]
sheets = ["CSV"]
creates = ["customer", "site", "unit"]
[table.columns]
"Tag" = "unit.tag"
"Customer" = "customer.name"
"Where" = "unit.place"
"Model" = "unit.model"
"""
BAD_VALUES = [
    {},
    [],
    "",
    "x" * 500,
    0,
    -1,
    1e300,
    2**63,
    None,
    True,
    "\0",
    [[]],
    {"value": 1},
    "28",
    "1 degX",
]
OF_RESOURCE = {
    "customers": "customer", "technicians": "technician", "sites": "site", "units": "unit", "visits": "visit",
    "tasks": "task", "root-causes": "root_cause",
}  # fmt: skip


def operations(target: Target) -> list[Any]:
    """Every operation of the published document."""
    schema = schemathesis.openapi.from_wsgi("/openapi.json", target.app)
    return [result.ok() for result in schema.get_all_operations()]


def strategy_of(operation: Any) -> Any:
    """Valid requests of an operation."""
    return operation.as_strategy(generation_mode=GenerationMode.POSITIVE)


def aim(case: Any, target: Target, random: Random, share: float = 0.8) -> None:
    """Put codes and ids that are recorded into most requests: in the path, the query and the body.

    A file of a table is put in as well: what bytes are one, no schema says.
    """
    parts = case.path.split("/")
    for before, part in itertools.pairwise(parts):
        known = target.known.get(OF_RESOURCE.get(before, ""))
        if part.startswith("{") and known and random.random() < share:
            case.path_parameters[part.strip("{}")] = random.choice(known)
    for holder in (case.body, case.query):
        if isinstance(holder, dict):
            _aim_fields(holder, target, random, share)
    if case.path.startswith(TABLES) and isinstance(case.body, dict) and random.random() < share:
        case.body |= {"file": TABLE} | ({"mapping": MAPPING} if not case.path.endswith("guesses") else {})
    if case.method == "POST" and case.path in NEW and random.random() < share:
        _make_new(case, random)


def _make_new(case: Any, random: Random) -> None:
    """Give the record an id and a key of its own: the generator repeats those of the example."""
    if isinstance(case.body, dict) and "id" in case.body:
        case.body["id"] = str(UUID(int=random.getrandbits(128), version=4))
    if KEY in (case.headers or {}):
        case.headers[KEY] = str(UUID(int=random.getrandbits(128), version=4))


def _aim_fields(holder: dict[str, Any], target: Target, random: Random, share: float) -> None:
    for name in ("customer", "site", "unit", "technician"):
        if isinstance(holder.get(name), str) and random.random() < share:
            holder[name] = random.choice(target.known[name])
    crew = holder.get("crew")
    if isinstance(crew, list) and random.random() < share:
        crew[:] = random.sample(target.known["technician"], min(len(crew), len(target.known["technician"])))
    _aim_parts(holder, target, random, share)
    visits = [each for each in holder.get("visits") or () if isinstance(each, dict)]
    if visits and random.random() < share:
        _aim_visits(holder, visits, target, random)
    elif isinstance(holder.get("site"), str) and isinstance(holder.get("unit"), str) and random.random() < share:
        holder["site"] = _site_of(holder["unit"], target) or holder["site"]


def _aim_visits(holder: dict[str, Any], visits: list[dict[str, Any]], target: Target, random: Random) -> None:
    """Name units that stand at one site, each once."""
    for visit in visits:
        visit["unit"] = random.choice(target.known["unit"])
        _aim_parts(visit, target, random, 1.0)
    holder["site"] = _site_of(visits[0]["unit"], target)
    there = [tag for tag in target.known["unit"] if _site_of(tag, target) == holder["site"]]
    others = [tag for tag in there if tag != visits[0]["unit"]]
    holder["visits"] = visits[: 1 + len(others)]
    for visit, tag in zip(visits[1:], others, strict=False):
        visit["unit"] = tag


def _site_of(tag: str, target: Target) -> str | None:
    """The site where a unit stands now."""
    answer = target.app.test_client().get(f"/v1/units/{tag}", headers=target.headers["owner"])
    return answer.json["site"] if answer.status_code == 200 else None


def _aim_parts(holder: dict[str, Any], target: Target, random: Random, share: float) -> None:
    """Name components that a unit has."""
    parts = [part for name in OF_VISIT for part in holder.get(name) or () if "component" in part]
    if parts and random.random() < share:
        unit = random.choice([tag for tag, codes in target.components.items() if codes])
        holder |= {"unit": unit} if "unit" in holder else {}
        for part in parts:
            part.pop("kind", None)  # the component has one
            part["component"] = random.choice(target.components[unit if "unit" in holder else FIRST_UNIT])


def damaged(body: Any, random: Random) -> Any:
    """The body with one value changed, left out or added somewhere."""
    body = copy.deepcopy(body)
    holders = list(_holders(body))
    if not holders:
        return random.choice(BAD_VALUES)
    holder = random.choice(holders)
    name = random.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    change = random.random()
    if change < 0.2:
        del holder[name]
    elif change < 0.3 and isinstance(holder, dict):
        holder["unknown"] = holder[name]
    else:
        holder[name] = random.choice(BAD_VALUES)
    return body


def _holders(value: Any) -> Any:
    if isinstance(value, dict | list) and value:
        yield value
        for part in value.values() if isinstance(value, dict) else value:
            yield from _holders(part)


def learn(case: Any, answer: Any, target: Target) -> None:
    """Keep the key of a record that was created."""
    resource = OF_RESOURCE.get(case.path.rpartition("/")[2])
    if answer.status_code == 201 and resource:
        created = answer.json()
        learn_from(target, resource, created.get("visit", created))
