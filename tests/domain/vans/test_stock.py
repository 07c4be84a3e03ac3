"""What there should be in a van, counted by hand."""

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from service.domain.quantities import Quantity
from service.domain.record.visits import Item, PartUsed, Replacement
from service.domain.vans.stock import Movement, stock_of


def moved(hour: int, action: str, item: str = "pump", count: int | None = 1, quantity=None) -> Movement:
    at = datetime(2026, 6, 9, hour, tzinfo=UTC)
    return Movement(id=f"{hour}", technician="rhea", item=item, action=action, count=count, quantity=quantity, at=at,
                    by="Rhea")  # fmt: skip


def visited(hour: int, *parts: PartUsed, by: str = "us", void=None, put_in=()):
    at = datetime(2026, 6, 9, hour, tzinfo=UTC)
    return SimpleNamespace(arrived_at=at, parts_used=parts, replacements=put_in, unit="GU-1", by=by, void=void)


def replaced(component: str = "pump-1", **more) -> Replacement:
    return Replacement(**{"component": component, "reason": "failed", "condition": "seized", "evidence": "seen"} | more)


def amounts(movements, visits=()):
    kinds = {"GU-1": {"pump-1": "pump"}}
    return {(each.item, each.dimension): each.amount for each in stock_of(movements, visits, kinds)}


def test_a_count_is_where_it_begins_anew() -> None:
    movements = [moved(8, "take", count=5), moved(9, "count", count=2), moved(10, "take"), moved(11, "put_back")]

    assert amounts(movements) == {("pump", "count"): 2}
    assert amounts([moved(8, "take", count=5), moved(9, "put_back", count=2)]) == {("pump", "count"): 3}


def test_visits_use_up_what_was_in_the_van_since_then() -> None:
    used = PartUsed(description="Pump", count=1)
    elsewhere = PartUsed(description="pump", count=1, source="supplier")
    visits = [visited(8, used), visited(10, used, elsewhere), visited(11, used, by="others"), visited(12, used, void=1)]

    assert amounts([moved(9, "count", count=3)], visits) == {("pump", "count"): 2}


def test_fluids_are_counted_in_their_unit_and_never_below_nothing() -> None:
    litres = Quantity(0.005, "volume", "5 L")
    used = PartUsed(description="glycol concentrate", quantity=Quantity(0.006, "volume", "6 L"))
    taken = moved(8, "take", "glycol-concentrate", None, litres)

    assert amounts([taken]) == {("glycol_concentrate", "volume"): 0.005}
    assert amounts([taken], [visited(9, used)]) == {("glycol_concentrate", "volume"): 0.0}


def test_what_was_used_before_the_first_movement_is_not_taken_off() -> None:
    used = PartUsed(description="pump", count=1)

    assert amounts([moved(9, "take", count=3)], [visited(8, used), visited(10, used)]) == {("pump", "count"): 2}


def test_a_source_is_the_van_by_its_word_alone() -> None:
    parts = [PartUsed(description="pump", count=1, source=source) for source in ("Vancouver depot", "our van")]

    assert amounts([moved(8, "count", count=3)], [visited(9, *parts)]) == {("pump", "count"): 2}


@pytest.mark.parametrize(
    ("part", "left"),
    [
        (replaced(), 4),
        (replaced(item=Item(serial="P-7", source="my van")), 4),
        (replaced(item=Item(serial="P-7", source="supplier")), 5),
        (replaced(by="others"), 5),
        (replaced(evidence="reported"), 5),
        (replaced("fan-9"), 5),
    ],
)
def test_a_component_that_we_put_in_from_the_van_is_one_piece_less(part: Replacement, left: int) -> None:
    assert amounts([moved(8, "count", count=5)], [visited(9, put_in=(part,))]) == {("pump", "count"): left}


def test_of_several_counts_the_last_is_where_it_begins() -> None:
    counts = [moved(8, "count", count=5), moved(10, "count", count=3), moved(10, "count", count=2)]

    (stock,) = stock_of([*counts, moved(9, "take", count=7)], [], {})
    assert (stock.amount, stock.counted_at) == (2, datetime(2026, 6, 9, 10, tzinfo=UTC))


def test_nothing_counted_is_nothing_there() -> None:
    assert amounts([moved(8, "count", count=0), moved(9, "take")]) == {("pump", "count"): 1}
