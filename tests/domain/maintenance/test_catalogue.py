"""The defaults against the published intervals behind them; trade press and makers' manuals, few of them standards."""

import pytest

from service.domain.maintenance.adaptation import adapt
from service.domain.maintenance.catalogue import CATALOGUE, FOOD_GRADE, LICENSED, LOCKOUT
from service.domain.maintenance.tasks import parse_interval

BY_CODE = {task.code: task for task in CATALOGUE}
ROUTINE = [task for task in CATALOGUE if task.interval is not None]


def test_the_catalogue_has_the_tasks_of_the_contract():
    assert list(BY_CODE) == [
        "condenser_clean", "condenser_deep_clean", "glycol_strength_check", "glycol_change", "bath_level_check",
        "pump_check", "strainer_clean", "electrical_check", "trunk_check", "controller_check", "follow_up",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "published"),
    [
        ("condenser_clean", "3 months"),  # Foodservice Equipment Reports
        ("condenser_deep_clean", "6 months"),  # a glycol unit's service manual of 2016, section 10.2
        ("glycol_strength_check", "3 months"),  # heating and cooling maintenance article; chiller owner's check list
        ("bath_level_check", "3 months"),  # glycol chiller maker's article
        ("pump_check", "3 months"),  # the same
        ("electrical_check", "1 year"),  # CG-SVX038A p. 39; check list in the manner of ASHRAE/ACCA 180
        ("controller_check", "6 months"),  # check list in the manner of ASHRAE/ACCA 180
    ],
)
def test_the_default_interval_is_the_published_one(code, published):
    assert BY_CODE[code].interval == parse_interval(published)


@pytest.mark.parametrize(
    ("code", "published"),
    [
        ("condenser_clean", "2 weeks"),  # a glycol unit's service manual of 2016, section 10.1
        ("bath_level_check", "1 week"),  # Process Cooling, articles 85547 and 85701
        ("strainer_clean", "1 week"),  # the same
    ],
)
def test_the_shortest_interval_is_the_shortest_published(code, published):
    assert BY_CODE[code].shortest == parse_interval(published)


@pytest.mark.parametrize(
    ("code", "surroundings", "published"),
    [
        ("condenser_clean", "greasy", "1 month"),  # Foodservice Equipment Reports: every 3 months, there monthly
        ("condenser_deep_clean", "dusty", "6 months"),  # chiller maker's article: yearly, there twice a year
        ("condenser_deep_clean", "greasy", "3 months"),  # half of the catalogue's 6 months
    ],
)
def test_a_condenser_in_bad_air_is_cleaned_more_often(code, surroundings, published):
    assert adapt(BY_CODE[code], (), surroundings, None).interval == parse_interval(published)


def test_a_follow_up_has_no_interval_of_its_own():
    follow_up = BY_CODE["follow_up"]
    assert (follow_up.interval, follow_up.shortest, follow_up.longest) == (None, None, None)


def test_only_what_is_found_dirty_adapts():
    assert [task.code for task in CATALOGUE if task.adapts] == [
        "condenser_clean",
        "condenser_deep_clean",
        "strainer_clean",
    ]


@pytest.mark.parametrize("task", ROUTINE, ids=lambda task: task.code)
def test_the_surroundings_are_words_of_the_contract_and_never_leave_the_range(task):
    for word, _ in task.surroundings:
        assert word in ("clean", "dusty", "greasy", "outdoor")
        assert task.shortest.days <= adapt(task, (), word, None).interval.days <= task.longest.days


@pytest.mark.parametrize("task", CATALOGUE, ids=lambda task: task.code)
def test_every_task_has_its_minutes_what_to_bring_and_the_source_of_its_interval(task):
    assert 5 <= task.minutes <= 240
    assert task.bring
    assert task.source.strip()


@pytest.mark.parametrize("task", CATALOGUE, ids=lambda task: task.code)
def test_the_cautions_end_with_the_local_code_and_licensed_people(task):
    assert task.cautions[-1] == LICENSED


@pytest.mark.parametrize(
    "code",
    ["condenser_clean", "condenser_deep_clean", "pump_check", "strainer_clean", "electrical_check", "controller_check"],
)
def test_work_near_live_or_moving_parts_starts_with_the_lockout(code):
    # 29 CFR 1910.147: isolate, lock, release stored energy, verify
    assert BY_CODE[code].cautions[0] == LOCKOUT
    assert all(word in LOCKOUT for word in ("isolate", "lock out", "verify"))


@pytest.mark.parametrize("code", ["glycol_strength_check", "glycol_change", "bath_level_check", "strainer_clean"])
def test_work_on_the_fluid_names_the_food_grade_glycol(code):
    # 21 CFR 184.1666 affirms propylene glycol for food; ethylene glycol is toxic
    assert FOOD_GRADE in BY_CODE[code].cautions
    assert "never ethylene glycol" in FOOD_GRADE
