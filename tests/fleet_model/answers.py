"""Every answer to a GET, so that a database can be compared with what was imported from its export."""

import json
from datetime import date, timedelta
from typing import Any

from tests.api.resources.following import export, take_in

LISTS = ("customers", "technicians", "sites", "units", "calls", "attendances", "visits", "assignments", "root-causes")
KEYS = {"customers": "code", "technicians": "code", "sites": "code", "units": "tag"}
OF_VISITS = ("visit", "correction", "void", "unvoid", "visit_move")
OF_UNIT = ("due", "due?horizon_days=365", "locations", "condition", "condition?units=us", "tasks")


def answers(shop: Any, first: date, last: date) -> dict[str, Any]:
    """By path; lists are walked whole."""
    found = {f"/v1/{name}": shop.walk(f"/v1/{name}?limit=200") for name in LISTS}
    single, walked = ["/v1/company", "/v1/tasks", *days(first, last)], ["/v1/units?retired=true"]
    for name in LISTS[:-2]:
        single += [f"/v1/{name}/{each[KEYS.get(name, 'id')]}" for each in found[f"/v1/{name}"]]
    walked += [f"/v1/sites/{each['code']}/closures" for each in found["/v1/sites"]]
    for each in found["/v1/units"]:
        single += [f"/v1/units/{each['tag']}/{part}" for part in OF_UNIT]
        walked += [f"/v1/units/{each['tag']}/{part}" for part in ("history", "pauses")]
    for year in range(first.year - 1, last.year + 1):
        single += [f"/v1/customers/{each['code']}/service-summaries/{year}" for each in found["/v1/customers"]]
        single.append(f"/v1/fleet-years/{year}")
    found |= {path: shop.walk(path) for path in walked}
    return found | {path: shop.get(path) for path in single}


def days(first: date, last: date) -> list[str]:
    """Lists of past days, of today and of days to come."""
    every = [first + timedelta(day) for day in range(-2, (last - first).days + 60, 3)]
    lists = [f"on={day}&horizon_days={horizon}" for day in every for horizon in (0, 30)]
    return [f"/v1/pm-list?{query}" for query in (*lists, "horizon_days=90", "unassigned=true")]


def same_after_import(shop: Any, first: date, last: date) -> int:
    """Export, import into an empty database, and compare every answer; how many were compared."""
    before, lines, now = answers(shop, first, last), export(shop), shop.now
    for how, given in (("", lines), (" with visits in another order", in_another_order(lines))):
        shop.empty()
        shop.now = now
        take_in(shop, given)
        after = answers(shop, first, last)
        different = [path for path in before if before[path] != after.get(path)]
        assert not different, (
            f"{len(different)} answers differ{how}: {different[:12]}; {where(before, after, different[0])}"
        )
        assert before.keys() == after.keys()
        assert how or export(shop) == lines
    return 2 * len(before)


def in_another_order(lines: bytes) -> bytes:
    """The visits of a file in reversed order, each followed by its own corrections, voids and moves."""
    records = [(json.loads(line), line) for line in lines.splitlines()]
    of_visits = [(each, line) for each, line in records if each["record"] in OF_VISITS]
    groups: dict[str, list[bytes]] = {}
    for each, line in of_visits:
        groups.setdefault(each["id"] if each["record"] == "visit" else each["visit"], []).append(line)
    first = next((n for n, (each, _) in enumerate(records) if each["record"] in OF_VISITS), len(records))
    turned = [line for group in reversed(groups.values()) for line in group]
    others = [line for each, line in records if each["record"] not in OF_VISITS]
    return b"\n".join([*others[:first], *turned, *others[first:]])


def where(before: Any, after: Any, name: Any) -> str:
    """The first place at which two answers differ."""
    a, b = before[name], after[name] if isinstance(after, list) else after.get(name)
    inside: list[Any] = []
    if isinstance(a, dict) and isinstance(b, dict):
        inside = [key for key in {*a, *b} if a.get(key) != b.get(key)]
    elif isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        inside = [n for n, pair in enumerate(zip(a, b, strict=True)) if pair[0] != pair[1]]
    if inside and (isinstance(a, list) or inside[0] in a):
        return f"{name}.{where(a, b, inside[0])}"
    return f"{name}: {str(a)[:800]} is now {str(b)[:800]}"
