"""What is always there at one of two positions is always there: one failure of that position is enough."""

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
