"""Ends of units, sites and customers as they were known at an instant, and which of them a file brings."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.usecases.record import ends, fleet, units
from tests.usecases.conftest import NOW

HOUR = timedelta(hours=1)
FIRST, SECOND = date(2026, 8, 1), date(2026, 9, 1)


def known(store, instant, tag="GU-1"):
    """The three ends of a unit that were known at an instant: its own, its site's, its customer's."""
    place = store.units.place(tag)
    log = ends.Ends(store).known_at(store.unit_logs.get(place.id, place.log_version), instant)
    return log.unit.retired_on, log.site.ended_on, log.customer_ended_on


@pytest.mark.parametrize("n", range(3), ids=["unit", "site", "customer"])
def test_an_end_is_known_from_the_instant_at_which_it_was_set_until_it_was_changed(database, make, n) -> None:
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay")
        change, collection, key, field = (
            (units.change_unit, store.units, "GU-1", "retired_on"),
            (fleet.change_site, store.sites, "quay", "ended_on"),
            (fleet.change_customer, store.customers, "lantern", "ended_on"),
        )[n]
        for hours, day in enumerate((FIRST, FIRST, SECOND, None)):
            change(store, replace(make.actor, at=NOW + hours * HOUR), collection.get(key), {field: day})
        instants = (NOW - HOUR, NOW, NOW + 2 * HOUR - timedelta(seconds=1), NOW + 2 * HOUR, NOW + 3 * HOUR)
        found = [known(store, each) for each in instants]
        changes = list(store.changes.of("end"))
        units.change_unit(store, replace(make.actor, at=NOW + 4 * HOUR), store.units.get("GU-1"), {"tag": "GU-2"})
        assert [known(store, each, "GU-2") for each in instants] == found  # a new sticker changes no end

    assert [each[n] for each in found] == [None, FIRST, FIRST, SECOND, None]
    assert {each[other] for each in found for other in range(3) if other != n} == {None}
    assert len(changes) == 3  # the same day once more is no change


def test_a_file_changes_an_end_whose_changes_it_has_brought(database, make) -> None:
    """A file of an earlier program has ends without changes: these have always been so."""
    importing = replace(make.actor, importing=True)
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay")
        make.unit(store, "GU-9", "quay", retired_on=FIRST)
        always = known(store, NOW - HOUR, "GU-9")
        ends.keep(store, importing, "unit", "GU-1", None, FIRST)
        without = len(list(store.changes.of("end")))
        ends.keep(store, make.actor, "unit", "GU-1", None, FIRST)
        ends.keep(store, importing, "unit", "GU-1", None, FIRST)
        same = len(list(store.changes.of("end")))
        ends.keep(store, importing, "unit", "GU-1", FIRST, SECOND)
        other = len(list(store.changes.of("end")))

    assert always == (FIRST, None, None)
    assert (without, same, other) == (0, 1, 2)
