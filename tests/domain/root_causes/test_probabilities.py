"""Whatever a history holds, the probabilities are probabilities and a search never fails: a visit hangs on it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.record.part_replaced import PartReplaced
from service.domain.record.visits import CONDITIONS, REASONS
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.figures import packed, unlikely_by_chance, unpacked
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import counted
from tests.simulation.values import component, done, taken

START, LENGTH = date(2020, 1, 1), 2000
DAY = st.integers(-400, LENGTH + 400).map(lambda n: START + timedelta(days=n))
PLACES = (
    component("switch-1", "power_switch", ("pump-1",), 20.0, "ac_only"), component("pump-1", "pump"),
    component("switch-2", "power_switch", (), 0.0, "resistive"), component("fan-1", "condenser_fan"),
)  # fmt: skip
KIND = {place.code: place.kind for place in PLACES}
REPLACED = st.builds(
    lambda code, day, reason, condition, by: PartReplaced(
        code, KIND[code], day, reason, condition, "seen" if by == "us" else "reported", by, "v"
    ),
    st.sampled_from(sorted(KIND)), DAY, st.sampled_from(REASONS), st.sampled_from(CONDITIONS),
    st.sampled_from(("us", "others")),
)  # fmt: skip
QUANTITIES = {
    "current": "current", "supply_voltage": "voltage", "contact_voltage_drop": "voltage", "bath_level": "fraction",
    "glycol_strength": "mass_fraction", "ambient_temperature": "temperature",
}  # fmt: skip
READ = st.builds(
    lambda quantity, code, value, day, found: taken(
        quantity, code if quantity in ("current", "contact_voltage_drop") else None, value, QUANTITIES[quantity],
        day, as_found=found,
    ),
    st.sampled_from(sorted(QUANTITIES)), st.sampled_from(sorted(KIND)), st.floats(0.0, 500.0), DAY, st.booleans(),
)  # fmt: skip
DONE = st.builds(
    done, st.sampled_from(("condenser_clean", "strainer_clean")), DAY, st.sampled_from(("done", "not_done")),
    st.sampled_from((None, "clean", "light", "heavy", "blocked")),
)  # fmt: skip
RECORD = st.builds(
    lambda replaced, read, performed, length, volts: FailureHistory(
        "GU-1", START, START + timedelta(days=length), PLACES, supply_voltage=volts, replaced=tuple(replaced),
        readings=tuple(read), performed=tuple(performed),
    ),
    st.lists(REPLACED, max_size=30), st.lists(READ, max_size=20), st.lists(DONE, max_size=10),
    st.integers(-300, LENGTH), st.sampled_from((None, 115.0)),
)  # fmt: skip


@given(RECORD)
@settings(max_examples=150, deadline=None)
def test_any_record_is_borne(history):
    found = root_causes_of(history, defaults(), history.end)
    counted([history])

    for each in found:
        assert 0.0 <= each.probability_of_chance < 0.5
        assert each.probability_of_chance + sum(share.probability for share in each.causes) == pytest.approx(1.0)
        assert 0.0 <= each.expected_failures_next_year < float("inf")
        assert each.exposed_share is None or 0.0 <= each.exposed_share <= 1.0 + 1e-9
    by_night = unlikely_by_chance(unpacked([packed(history, everything=True)]), defaults(), history.end.toordinal())
    assert sorted((kind, pytest.approx(chance, abs=1e-9)) for _, kind, chance, _ in by_night) == sorted(
        (each.component_kind, each.probability_of_chance) for each in found
    )


@pytest.mark.parametrize("often", [20, 300, 900])
def test_the_surest_root_cause_leaves_no_less_than_no_chance(often):
    days = [START + timedelta(days=i) for i in range(often)]
    burnt = tuple(PartReplaced("switch-1", "power_switch", day, "failed", "burnt", "seen", "us", "v") for day in days)
    drops = tuple(taken("supply_voltage", None, 80.0, "voltage", day) for day in days)
    history = FailureHistory("GU-1", START, START + timedelta(days=often), PLACES, replaced=burnt, readings=drops)
    (found,) = root_causes_of(replace(history, supply_voltage=115.0), defaults(), history.end)

    assert 0.0 <= found.probability_of_chance < 1e-6
