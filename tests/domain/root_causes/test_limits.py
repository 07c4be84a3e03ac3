"""Limits that documents and standards state, and places."""

from datetime import date

import pytest

from service.domain.root_causes.engine import tier_of
from service.domain.root_causes.exposure import at
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.views import LOW_VOLTAGE, STRONG
from tests.simulation.values import component, taken

START, END = date(2023, 1, 1), date(2025, 12, 31)


def read(quantity, value, dimension, places=1):
    reading = taken(quantity, None, value, dimension, date(2024, 1, 1))
    components = tuple(component(f"switch-{n}", "power_switch") for n in range(places))
    return FailureHistory(
        "GU-1", START, END, components, supply_voltage=115.0, target_strength=0.35, readings=(reading,)
    )


def score(view, history):
    return at(view.track(history, ""), END.toordinal())


@pytest.mark.parametrize(("share", "least", "most"), [(1.0, 0, 0), (0.95, 0, 0), (0.90, 0.3, 0.9), (0.85, 1, 1)])
def test_a_supply_ten_per_cent_low_counts_and_one_in_order_does_not(share, least, most):
    """NEMA MG 1: motors bear 10 % of voltage either way."""
    assert least <= score(LOW_VOLTAGE, read("supply_voltage", share * 115.0, "voltage")) <= most


@pytest.mark.parametrize(("strength", "least", "most"), [(0.35, 0, 0), (0.41, 0, 0), (0.46, 0.3, 0.7), (0.51, 1, 1)])
def test_glycol_as_wanted_does_not_count_as_too_strong(strength, least, most):
    """Common practice, no source: too strong begins over 41 % by mass."""
    assert least <= score(STRONG, read("glycol_strength", strength, "mass_fraction")) <= most


def test_three_places_are_exposed_three_times_as_long_as_one():
    one, three = (failures_of(read("supply_voltage", 95.0, "voltage", n), "power_switch", END) for n in (1, 3))

    assert max(one.exposed) > 0
    assert three.exposed == pytest.approx([3 * each for each in one.exposed])


def test_the_tiers_begin_where_the_documents_say():
    """DEVELOPERS.md, chosen by simulation."""
    assert [tier_of(chance) for chance in (0.039, 0.041, 0.129, 0.131)] == ["strong", "probable", "probable", "watch"]
