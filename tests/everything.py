"""A database with something in every table, of three years, made over HTTP; and every GET that there is."""

import json
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import yaml

from service.domain.audit import Actor
from service.usecases import sessions
from service.usecases.maintenance import learning
from service.usecases.root_causes import root_causes
from service.usecases.year import kept_years
from tests.fleet_model.play import Play
from tests.pictures_sent import corners, sent

ROOT = Path(__file__).parents[1]
YEARS = (2025, 2026, 2027, 2028)
BURNT = {"component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt", "evidence": "seen"}
BLOCKED = {"task": "condenser_clean", "result": "done", "as_found": "blocked"}


def fill(shop: Any, steps: int = 40) -> None:
    """Random work on five units at three sites, then what the random steps leave out, and settings of three years."""
    played = Play(shop, seed=8)
    for _ in range(steps):
        played.step()
    shop.patch("/v1/company", {"name": "Cold & Sons", "hours_per_day": 7.5}, shop.get("/v1/company")["version"])
    burn_switches(shop)
    decide(shop)
    take_over(shop)
    take_photos(shop)
    put_right(shop)
    for year in (1, 2):
        shop.now += timedelta(days=300 * year)
        set_task(shop, "/v1/tasks/condenser_clean", {"interval": f"{year + 2} months"})
        set_task(shop, "/v1/units/GU-1/tasks/pump_check", {"interval": f"{year + 3} months"})
        shop.visit(
            f"{shop.now - timedelta(days=1):%Y-%m-%d}", unit="GU-1", tasks=[{"task": "pump_check", "result": "done"}]
        )
    tomorrow = f"{shop.now + timedelta(days=1):%Y-%m-%d}"  # no day of the random work, on which somebody may be away
    shop.post("/v1/assignments", {"site": "quay", "unit": "GU-60", "technician": "rhea", "day": tomorrow})
    for form in ("json", "csv"):
        shop.post("/v1/customers/lantern/service-summaries/2026/issues", {"format": form})
    sign_in(shop)
    with_an_answer = {"unit": "GU-2", "kind": "maintenance", "arrived_at": shop.now.isoformat()}
    shop.post("/v1/visits", with_an_answer, Idempotency_Key="once")
    learning.learn_of_the_day(shop.database, shop.now)
    root_causes.search_of_the_day(shop.database, shop.now, gap=lambda: None)
    shop.get("/v1/customers/lantern/service-summaries/2026")
    kept_years.store_made(shop.database)


def burn_switches(shop: Any) -> None:
    """Five burnt switches at one unit, behind a condenser that was blocked."""
    for week in range(5):
        day = f"{shop.now - timedelta(weeks=5 * (5 - week)):%Y-%m-%d}"
        shop.visit(day, unit="GU-3", kind="service_call", replacements=[BURNT], tasks=[BLOCKED], outcome="running")


def put_right(shop: Any) -> None:
    """A visit that was recorded at another unit, a corrected one, a voided one, and one with a wrong void."""
    day = f"{shop.now - timedelta(days=1):%Y-%m-%d}"
    moved, corrected, voided, back = (shop.visit(day, unit="GU-3")["visit"]["id"] for _ in range(4))
    one = {"If_Match": '"1"'}
    answers = [
        shop.ask("POST", f"/v1/visits/{moved}/move", {"unit": "GU-1", "reason": "the next one"}, **one),
        shop.ask("PATCH", f"/v1/visits/{corrected}", {"advice": "Clean it.", "why": "forgotten"}, **one),
        shop.ask("POST", f"/v1/visits/{voided}/void", {"reason": "twice"}, **one),
        shop.ask("POST", f"/v1/visits/{back}/void", {"reason": "twice"}, **one),
        shop.ask("POST", f"/v1/visits/{back}/unvoid", {"reason": "not twice"}, If_Match='"2"'),
    ]
    assert [each.status_code for each in answers] == [200] * 5, [each.text for each in answers]


def decide(shop: Any) -> None:
    """Confirm a root cause with a note."""
    for cause in shop.walk("/v1/root-causes")[:1]:
        shop.patch(f"/v1/root-causes/{cause['id']}", {"state": "confirmed", "note": "seen"}, cause["version"])


def take_over(shop: Any) -> None:
    """A unit instead of another one, a new tag, first dates, what is in a van, a way, a pause and a closure."""
    days = {"from": f"{shop.now + timedelta(days=40):%Y-%m-%d}", "until": f"{shop.now + timedelta(days=50):%Y-%m-%d}"}
    shop.post("/v1/units/GU-1/pauses", days | {"reason": "the bar is rebuilt"})
    shop.post("/v1/sites/pier/closures", days | {"reason": "winter"})
    shop.post(
        "/v1/units",
        {"tag": "GU-6", "site": "quay", "replaces": "GU-2", "installed_on": f"{shop.now - timedelta(days=1):%Y-%m-%d}"},
    )
    shop.patch("/v1/units/GU-6", {"tag": "GU-60"}, shop.get("/v1/units/GU-6")["version"])
    plan = {"from": f"{shop.now:%Y-%m-%d}", "weeks": 13, "hours_per_day": 16}
    assert shop.ask("POST", "/v1/onboarding-plans", plan).status_code in (200, 201)
    shop.post("/v1/vans/rhea/movements", {"action": "take", "item": "pump", "count": 3})
    shop.post("/v1/vans/rhea/movements", {"action": "count", "item": "coil_cleaner", "quantity": "2 L"})
    came = {"id": str(UUID(int=4, version=4)), "arrived_at": f"{shop.now - timedelta(days=2):%Y-%m-%dT15:00:00Z}"}
    shop.post("/v1/attendances", came | {"site": "quay", "crew": ["rhea"], "access": "no_access"})
    lines(shop, [{"record": "travel_time", "from": "quay", "to": "pier", "minutes": 90}])


def lines(shop: Any, records: list[dict[str, Any]]) -> None:
    body = "\n".join(json.dumps(record) for record in records).encode()
    head = {"Authorization": f"Bearer {shop.tokens['owner']}"}
    answer = shop.app.test_client().post("/v1/imports", data=body, content_type="application/x-ndjson", headers=head)
    assert answer.status_code == 201, answer.text


def take_photos(shop: Any) -> None:
    """Two photos of a visit, one of them removed."""
    call = {"id": str(UUID(int=3, version=4)), "received_at": f"{shop.now - timedelta(days=3):%Y-%m-%dT18:00:00Z}"}
    shop.post("/v1/calls", call | {"unit": "GU-1", "symptom": "warm_pour"})
    seen = {"calls": [call["id"]], "observations": [{"code": "pump_noisy"}], "work": "ölig 🍺"}
    seen["readings"] = [{"quantity": "bath_temperature", "value": "28.5 degF", "when": "as_found"}]
    visit = shop.visit(f"{shop.now - timedelta(days=2):%Y-%m-%d}", unit="GU-1", **seen)["visit"]["id"]
    head = {"Authorization": f"Bearer {shop.tokens['owner']}"}
    for n, quality in enumerate((90, 40), 1):
        query = f"id={UUID(int=n, version=4)}&caption=fan"
        answer = shop.app.test_client().post(
            f"/v1/visits/{visit}/photos?{query}",
            data=sent(corners(), quality=quality),
            content_type="image/jpeg",
            headers=head,
        )
        assert answer.status_code == 201, answer.text
    assert shop.ask("POST", f"/v1/photos/{UUID(int=2, version=4)}/void", {"reason": "a face"}).status_code == 200


def set_task(shop: Any, path: str, changes: dict[str, Any]) -> None:
    tag = shop.ask("GET", path).headers["ETag"]
    assert shop.ask("PATCH", path, changes, If_Match=tag).status_code == 200


def sign_in(shop: Any) -> None:
    """A technician's token, used once, one that was revoked, a session and a link."""
    made = shop.post("/v1/tokens", {"name": "Rhea", "role": "technician", "technician": "rhea"})
    head = {"Authorization": f"Bearer {made['token']}"}
    assert shop.app.test_client().get("/v1/company", headers=head).status_code == 200
    gone = shop.post("/v1/tokens", {"name": "Screen", "role": "reader"})
    assert shop.ask("DELETE", f"/v1/tokens/{gone['id']}").status_code in (200, 204)
    with shop.database.writing() as store:
        token = store.tokens.find(made["id"])
        assert token is not None
        sessions.sign_in(store, token, "a phone", shop.now)
        sessions.make_link(store, Actor("setup", "owner", None, shop.now), made["id"])


# --- every GET


def templates() -> list[str]:
    """The paths of all GETs in the API document."""
    document = yaml.safe_load((ROOT / "openapi" / "openapi.yaml").read_text(encoding="utf-8"))
    return [path for path, verbs in document["paths"].items() if "get" in verbs]


def every_get(shop: Any) -> Iterator[str]:
    """Every GET of every record and year, with each form in which units and years are shown; lists are followed."""
    for template in templates():
        if not template.startswith("/v1"):
            continue
        for path in filled(shop, template):
            yield path
            yield from (f"{path}{query}" for query in further(template))


def further(template: str) -> list[str]:
    """Other forms of an answer."""
    if template.endswith(("/condition", "/history", "/v1/visits/{id}")):
        return ["?units=us"]
    if template == "/v1/pm-list":
        forms = [f"?format={form}" for form in ("csv", "html", "ics", "text")]
        return forms + [f"?on={year}-{month:02}-09&horizon_days=30" for year in YEARS for month in (1, 5, 9)]
    if template.endswith("/{year}"):
        return ["?format=csv"]
    return {"/v1/units": ["?retired=true"], "/v1/exports": ["?trail=false"]}.get(template, [])


def walk(shop: Any, path: str | None) -> list[Any]:
    """All items of a list."""
    found: list[Any] = []
    while path:
        page = shop.get(path)
        found += page["items"]
        path = page.get("next")
    return found


def filled(shop: Any, template: str) -> list[str]:
    """A path for each record that a template can name."""
    if "{" not in template:
        return [template]
    before, name, after = re.fullmatch(r"(.*?)\{(\w+)\}(.*)", template).groups()  # type: ignore[union-attr]
    return [path for value in values(shop, before, name) for path in filled(shop, f"{before}{value}{after}")]


def values(shop: Any, before: str, name: str) -> list[Any]:
    """What can stand for a name behind the beginning of a path."""
    if name == "year":
        return list(YEARS)
    if before == "/v1/photos/":
        visits = walk(shop, "/v1/visits")
        every = [each for visit in visits for each in shop.get(f"/v1/visits/{visit['id']}/photos")["items"]]
        return [each["id"] for each in every]
    if before == "/v1/vans/":
        return values(shop, "/v1/technicians/", "code")
    found = walk(shop, before.rstrip("/") + ("?retired=true" if before == "/v1/units/" else ""))
    return [each[name] if name in each else each["number" if "number" in each else "code"] for each in found]
