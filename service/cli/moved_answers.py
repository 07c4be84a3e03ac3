"""Ask the application over two databases the same questions; the answers must be equal byte for byte."""

from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from typing import Any

from service.app import create_app
from service.opening import Refused, open_database
from service.settings import Settings
from service.usecases.asking import Owner, an_owner, store_knowing

EACH = 8  # records of a list whose own paths are asked for, from its beginning and its end
LISTS = {
    "customers": ("code", ("", "/service-summaries/{year}")),
    "technicians": ("code", ("",)),
    "sites": ("code", ("", "/closures")),
    "units": ("tag", ("", "/due", "/history", "/condition", "/locations", "/pauses", "/tasks")),
    "calls": ("id", ("",)),
    "attendances": ("id", ("",)),
    "visits": ("id", ("", "/photos", "/report")),
    "assignments": ("id", ("",)),
    "root-causes": ("id", ("",)),
}
SINGLE = ("company", "tasks", "pm-list?horizon_days=30", "vans", "tokens", "audit")  # the fleet's year takes too long
Get = Callable[[str], tuple[int, bytes]]


def check(one: Settings, other: Settings, now: datetime) -> int:
    """Refused with the first path that is answered differently; how many were compared."""
    owner, count = an_owner(now), 0
    with _asking(one, owner, now) as ask, _asking(other, owner, now) as ask_other:
        for path in paths(ask, now.year):
            mine, theirs = ask(path), ask_other(path)
            if mine != theirs:
                raise Refused(f"the copy answers GET {path} differently ({mine[0]} and {theirs[0]})")
            count += 1
    return count


def paths(ask: Get, year: int) -> Iterator[str]:
    """What is asked: every list, and what there is about some of its records."""
    for name in SINGLE:
        yield f"/v1/{name}"
    for name, (key, parts) in LISTS.items():
        yield f"/v1/{name}"
        for record in _some(_items(ask(f"/v1/{name}"))):
            for part in parts:
                yield f"/v1/{name}/{record[key]}{part.format(year=year)}"


def _items(answer: tuple[int, bytes]) -> list[dict[str, Any]]:
    import orjson

    found: list[dict[str, Any]] = orjson.loads(answer[1])["items"]
    return found


def _some(records: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return records if len(records) <= EACH else records[: EACH // 2] + records[-EACH // 2 :]


@contextmanager
def _asking(settings: Settings, owner: Owner, now: datetime) -> Iterator[Get]:
    with closing(open_database(settings, limited=False, store=store_knowing(owner))) as database:
        client = create_app(database, settings, clock=lambda: now).test_client()
        header = {"Authorization": f"Bearer {owner.shown.text()}"}

        def get(path: str) -> tuple[int, bytes]:
            answer = client.get(path, headers=header)
            return (
                answer.status_code,
                answer.data if answer.status_code == 200 else b"",
            )  # a refusal has an id of its own

        yield get
