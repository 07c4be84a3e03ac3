"""Root causes and learned figures on both engines."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from service.domain.errors import NotFound, Stale
from service.domain.record.fleet import Customer, Site, Unit
from service.domain.root_causes.life_cycle import RootCause, RootCauseFilter, decided
from service.storage.engine.database import open_database
from service.storage.root_causes import position
from service.storage.store import Store

NOW = datetime(2026, 6, 9, 19, 5, tzinfo=UTC)
ROOT_CAUSE = RootCause(
    unit="GU-1", kind="power_switch", tier="probable", probability_of_chance=0.04, document='{"a": 1}',
    evidence_key="e", first_seen=NOW, updated_at=NOW,
)  # fmt: skip
WATCHED = replace(ROOT_CAUSE, kind="pump", tier="watch")


@pytest.fixture
def store(migrated_url):
    """Root causes of the switch and the pump at GU-1, and of the switch at GU-2, a unit of another customer."""
    database = open_database(migrated_url, Store)
    with database.writing() as store:
        for n, code in enumerate(("lantern", "anchor"), 1):
            store.customers.add(Customer(code=code, name=code))
            customer_id = store.customers.id_of(code)
            site = Site(code=code, customer=code, name=code, time_zone="America/Denver")
            store.sites.add(site, customer_id=customer_id, technician_id=None)
            site_id, _ = store.sites.ids_of(code)
            unit = Unit(tag=f"GU-{n}", site=code, registered_on=NOW.date())
            store.units.add(unit, site_id=site_id, customer_id=customer_id)
        for cause in (ROOT_CAUSE, WATCHED, replace(ROOT_CAUSE, unit="GU-2")):
            store.root_causes.add(cause, store.units.place(cause.unit))
        yield store
    database.close()


def at_first(store):
    return store.root_causes.at(store.units.place("GU-1").id)


def test_what_was_stored_is_reported(store) -> None:
    cause = at_first(store)["power_switch"]

    assert replace(cause, id=0) == ROOT_CAUSE
    assert store.root_causes.get(cause.id) == cause


def test_a_decision_is_kept(store) -> None:
    former = at_first(store)["power_switch"]
    cause = decided(former, "resolved", "new fan", by="Ida", at=NOW, today=date(2026, 6, 9))
    store.root_causes.save(cause)

    assert store.root_causes.get(cause.id) == cause


def test_a_change_of_what_has_changed_meanwhile_is_refused(store) -> None:
    former = at_first(store)["power_switch"]
    store.root_causes.save(replace(former, version=2))
    with pytest.raises(Stale):
        store.root_causes.save(replace(former, version=2))


def test_a_root_cause_that_is_not_there_is_not_found(store) -> None:
    with pytest.raises(NotFound):
        store.root_causes.get(10**6)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, ["GU-1 power_switch", "GU-2 power_switch", "GU-1 pump"]),
        ({"tier": "watch"}, ["GU-1 pump"]),
        ({"customer": "anchor"}, ["GU-2 power_switch"]),
        ({"unit": "GU-1", "tier": "probable"}, ["GU-1 power_switch"]),
        ({"state": "dismissed"}, []),
    ],
)
def test_root_causes_are_found_by_what_is_asked(store, asked, found) -> None:
    known = store.root_causes.page(RootCauseFilter(**asked), after=None, limit=9)

    assert [f"{cause.unit} {cause.kind}" for cause in known] == found


def test_a_list_goes_on_behind_a_root_cause(store) -> None:
    first = store.root_causes.page(RootCauseFilter(), after=None, limit=1)
    rest = store.root_causes.page(RootCauseFilter(), after=position(first[0]), limit=9)

    assert [cause.kind for cause in (*first, *rest)] == ["power_switch", "power_switch", "pump"]


def test_what_asks_for_a_decision_and_is_gravest_comes_first(store) -> None:
    switch, pump = at_first(store)["power_switch"], at_first(store)["pump"]
    store.root_causes.save(replace(switch, state="dismissed", version=2))
    store.root_causes.save(replace(pump, probability_of_chance=0.01, tier="strong", version=2))
    known = store.root_causes.page(RootCauseFilter(), after=None, limit=9)

    assert [(cause.unit, cause.tier, cause.state) for cause in known] == [
        ("GU-1", "strong", "open"), ("GU-2", "probable", "open"), ("GU-1", "probable", "dismissed"),
    ]  # fmt: skip


def test_only_what_a_technician_shall_look_into_presses(store) -> None:
    ids = [store.units.place(tag).id for tag in ("GU-1", "GU-2")]
    other = store.root_causes.at(ids[1])["power_switch"]
    store.root_causes.save(replace(other, state="confirmed", absent_since=NOW, version=2))

    assert [(cause.unit, cause.kind) for cause in store.root_causes.to_check(ids)] == [("GU-1", "power_switch")]
    assert store.root_causes.to_check([]) == []


def test_root_causes_go_with_a_unit_to_its_new_customer(store) -> None:
    anchor = store.customers.id_of("anchor")
    store.root_causes.move(store.units.place("GU-1")._replace(customer_id=anchor))

    assert len(store.root_causes.page(RootCauseFilter(customer="anchor"), after=None, limit=9)) == 3


def test_a_withdrawn_root_cause_is_gone(store) -> None:
    store.root_causes.drop(at_first(store)["pump"])

    assert list(at_first(store)) == ["power_switch"]


def test_only_the_latest_figures_are_kept(store) -> None:
    assert store.baselines.latest() is None
    store.baselines.keep('{"n": 1}', "2026-06-08T19:05:00.000000Z")
    store.baselines.keep('{"n": 2}', "2026-06-09T19:05:00.000000Z")

    assert store.baselines.latest() == '{"n": 2}'
