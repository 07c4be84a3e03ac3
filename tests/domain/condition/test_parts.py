"""How often parts were replaced, counted by hand."""

from datetime import date
from types import SimpleNamespace

from service.domain.condition.parts import Experience, Seen, model_of
from service.domain.record.fleet import Component
from service.domain.record.visits import Item, RemovedItem, Replacement

PUMP = Component(code="pump-1", kind="pump", model="PX 200", installed_on=date(2020, 1, 1))


def put_in(model: str | None = None, out: str | None = None, *, condition: str = "seized") -> Replacement:
    return Replacement(
        component="pump-1", reason="precaution", condition=condition, evidence="seen",
        item=Item(model=model) if model else None, removed_item=RemovedItem(model=out) if out else None,
    )  # fmt: skip


def log_of(*visits: tuple[date, tuple[Replacement, ...]]):
    replaced = [SimpleNamespace(component=each.component, on=day) for day, parts in visits for each in parts]
    unit = SimpleNamespace(components=(PUMP,), kinds={"pump-1": "pump"}, installed_on=None)
    return SimpleNamespace(
        unit=unit, visits=[SimpleNamespace(day=day, replacements=parts) for day, parts in visits],
        replaced=lambda: replaced,
    )  # fmt: skip


def test_visits_and_replacements_count_by_model_and_age_as_they_were_then() -> None:
    log = log_of(
        (date(2020, 6, 1), ()), (date(2021, 6, 1), (put_in("PX 200", "Old 1"),)), (date(2021, 9, 1), ()),
    )  # fmt: skip
    found = Experience()
    found.add(log)

    assert found.seen == {
        ("pump", "old 1", "under 1 year"): Seen(1, 0),
        ("pump", "old 1", "1 to 5 years"): Seen(1, 1),
        ("pump", "px 200", "under 1 year"): Seen(1, 0),
    }
    assert (found.like("pump"), found.like("pump", "under 1 year")) == (Seen(3, 1), Seen(2, 0))
    assert Experience.of(found.rows()).seen == found.seen


def test_a_sound_part_replaced_as_a_precaution_is_not_one_that_is_needed() -> None:
    found = Experience()
    found.add(log_of((date(2021, 6, 1), (put_in(condition="worn"),))))

    assert found.like("pump") == Seen(1, 0)


def test_a_model_that_nobody_wrote_down_is_not_made_up() -> None:
    assert model_of(log_of((date(2021, 6, 1), (put_in(),))), PUMP, date(2021, 5, 1)) == ""
    assert model_of(log_of(), PUMP, date(2021, 5, 1)) == "px 200"
