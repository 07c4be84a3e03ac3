"""What a cause reaches: of what is always there at one of two positions one failure is enough."""

from datetime import date

import numpy as np
import pytest

from service.domain.root_causes.comparison import arrays_of
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.figures import arrays_on, packed, unpacked
from service.domain.root_causes.history import FailureHistory
from tests.simulation.values import component

END = date(2026, 1, 1)
SMALL = component("switch-1", "power_switch", ("pump-1",), 10.0, "ac_only")
LARGE = component("switch-2", "power_switch", ("pump-2",), 40.0, "motor")
PUMPS = (component("pump-1", "pump", (), 14.0), component("pump-2", "pump", (), 5.0))
ONE_OF_TWO = FailureHistory("GU-1", date(2024, 1, 1), END, (SMALL, LARGE, *PUMPS))
OVERLOAD = 3  # of the views of a switch, after the three of the condenser


@pytest.mark.parametrize(("components", "reach"), [((SMALL, LARGE), 0.5), ((SMALL,), 1.0), ((LARGE,), 1.0)])
def test_an_overload_reaches_the_positions_that_are_overloaded(components, reach):
    history = FailureHistory("GU-1", date(2024, 1, 1), END, (*components, *PUMPS))

    assert failures_of(history, "power_switch", END).reach[OVERLOAD] == reach


def test_what_a_cause_has_to_have_made_is_the_same_by_night():
    at_once = arrays_of("power_switch", [failures_of(ONE_OF_TWO, "power_switch", END)])
    rows = unpacked([packed(ONE_OF_TWO, everything=True)])
    by_night = arrays_on(rows[rows[:, 3] == 2], "power_switch", END.toordinal())  # two positions

    assert np.allclose(by_night.made, at_once.made)
    assert by_night.exposed[0, OVERLOAD] / by_night.years[0] == pytest.approx(0.5)


FIVE_A = component("compressor-1", "compressor", (), 5.0)
UNCLEANED = {  # what the second switch feeds, and how far a fouled condenser harms the two, of one that it harms fully
    "the compressor through the first": (("switch-1",), 2.0),
    "the pump alone": (("pump-1",), 1.5),
    "nothing that is recorded": ((), 2.0),
    "a part that is not recorded": (("pump-9",), 2.0),
}


@pytest.mark.parametrize(("fed", "harmed"), UNCLEANED.values(), ids=UNCLEANED)
def test_a_fouled_condenser_harms_a_switch_less_that_carries_none_of_the_compressors_current(fed, harmed):
    """Its hot air remains: half of the harm, judged."""
    first = component("switch-1", "power_switch", ("compressor-1",))
    second = component("switch-2", "power_switch", fed)
    history = FailureHistory("GU-1", date(2024, 1, 1), END, (first, second, FIVE_A, *PUMPS))

    assert failures_of(history, "power_switch", END).exposed[1] == pytest.approx(harmed * (731 - 135) / 365.25)
