"""Pauses as a file brings them: which line is which pause, what is kept of it, and what the audit trail says."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.audit import AuditFilter
from service.domain.errors import Conflict, Invalid, NotFound
from service.usecases.maintenance.due import due_at
from service.usecases.record import pauses
from tests.usecases.conftest import NOW

SUMMER = {"unit": "GU-1", "from": date(2026, 7, 1), "until": date(2026, 8, 31), "reason": "summer"}
WINTER = SUMMER | {"from": date(2026, 12, 1), "until": None, "reason": "winter"}
LATE = SUMMER | {"from": date(2026, 10, 1), "until": date(2026, 10, 1), "reason": "one day"}


def take(store, make, **line):
    return pauses.take(store, replace(make.actor, importing=True), "unit", line, f"<{line['reason']}>")


def test_pauses_of_a_file_are_added_changed_and_kept(database, make) -> None:
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay")
        found = [
            take(store, make, **SUMMER),
            take(store, make, **SUMMER),  # the same first day: the same pause
            take(store, make, **SUMMER, number=1),
            take(store, make, **WINTER, number=5, former=[WINTER | {"reason": "in error"}], at=NOW, by="rhea"),
            take(store, make, **SUMMER | {"reason": "shut"}),
            take(store, make, **LATE),
        ]
        stored = store.pauses.of("unit", "GU-1")
        trail = store.audit.page(AuditFilter(resource="pause"), before=None, limit=9)

    assert found == ["added", "unchanged", "unchanged", "added", "changed", "added"]
    assert [(each.number, [text.reason for text in each.texts]) for each in stored] == [
        (1, ["summer", "shut"]),
        (5, ["in error", "winter"]),
        (6, ["one day"]),
    ]
    assert (stored[1].text.at, stored[1].text.by, stored[0].text.by) == (NOW, "rhea", "tester")
    assert [(each.action, each.key, each.after) for each in reversed(trail)] == [
        ("imported", "GU-1/1", "<summer>"),
        ("imported", "GU-1/5", "<winter>"),
        ("imported", "GU-1/1", "<shut>"),
        ("imported", "GU-1/6", "<one day>"),
    ]
    assert [each.before is None for each in reversed(trail)] == [True, True, False, True]
    assert '"summer"' in (trail[1].before or "")


def test_a_pause_of_a_file_is_refused_where_one_over_http_is(database, make) -> None:
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay")
        take(store, make, **SUMMER)
        with pytest.raises(Conflict, match="overlaps number 1"):
            take(store, make, **SUMMER | {"from": date(2026, 8, 31), "until": None})
        with pytest.raises(Invalid, match="future"):
            take(store, make, **LATE, at=NOW + timedelta(hours=1, seconds=1))
        take(store, make, **LATE, at=NOW + timedelta(hours=1))  # clocks differ
        with pytest.raises(NotFound):
            pauses.pause_of(store, "unit", "GU-1", 3)
        assert pauses.pause_of(store, "unit", "GU-1", 2).text.reason == "one day"


def test_a_pause_is_changed_in_place_and_the_trail_has_both_texts(database, make) -> None:
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay")
        for line in (SUMMER, LATE):
            pauses.add_pause(store, make.actor, "unit", "GU-1", line)
        former = pauses.pause_of(store, "unit", "GU-1", 1)
        pauses.change_pause(store, make.actor, "unit", "GU-1", former, {"until": date(2026, 7, 1), "other": 1})
        stored = store.pauses.of("unit", "GU-1")
        newest, _, first = store.audit.page(AuditFilter(resource="pause"), before=None, limit=9)

    assert [(each.number, each.text.last, each.version) for each in stored] == [
        (1, date(2026, 7, 1), 2),
        (2, date(2026, 10, 1), 1),
    ]
    assert (first.action, first.before, newest.action) == ("created", None, "changed")
    assert (newest.before, '"until":"2026-07-01"' in (newest.after or "")) == (first.after, True)


def test_a_closure_concerns_the_units_of_its_site(database, make) -> None:
    with database.writing() as store:
        for n, site in enumerate(("quay", "pier"), start=1):
            make.site(store, site)
            make.unit(store, f"GU-{n}", site)
        pauses.add_pause(store, make.actor, "site", "pier", SUMMER | {"from": date(2026, 6, 1), "until": None})
        due = [len(due_at(store, tag, make.now)[0]) for tag in ("GU-1", "GU-2")]

    assert due[0] > 0
    assert due[1] == 0
