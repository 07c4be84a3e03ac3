"""The short form of `python -m tests.simulation intervals`: what each rule may not lose, on one small fleet."""

import pytest

from tests.simulation.intervals import Year, year


@pytest.fixture(scope="module")
def years() -> dict[str, Year]:
    return {rule: year(20, "greasy", rule, seed=3) for rule in ("calendar", "stepped", "learned")}


def test_the_hours_are_equal(years) -> None:
    spent = [0.75 * each.cleanings + 2.5 * each.failures for each in years.values()]
    assert max(spent) / min(spent) < 1.02


def test_what_was_found_puts_the_cleanings_where_they_are_needed(years) -> None:
    assert years["stepped"].needless < 0.7 * years["calendar"].needless
    assert years["learned"].needless < 0.7 * years["calendar"].needless
    assert years["learned"].failures <= years["calendar"].failures


def test_the_same_seed_gives_the_same_year(years) -> None:
    assert year(20, "greasy", "stepped", seed=3) == years["stepped"]
