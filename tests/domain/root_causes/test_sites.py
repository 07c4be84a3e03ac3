"""Low voltage weighed once for a site over its units."""

from datetime import date

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.figures import packed, unpacked
from service.domain.root_causes.fleet_sentences import in_words
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sites import off_voltage
from tests.simulation.values import component, taken

START, END = date(2023, 1, 1), date(2025, 12, 31)
PARTS = (component("compressor-1", "compressor"), component("controller-1", "temperature_controller"))


def unit(tag, volts, *failed):
    """A unit that was read once a year; on each day one of its parts burnt."""
    replaced = tuple(
        PartReplaced(code, kind, day, "failed", "burnt", "seen", "us", f"{tag} {day}") for code, kind, day in failed
    )
    read = tuple(taken("supply_voltage", None, volts, "voltage", date(year, 2, 1)) for year in (2023, 2024, 2025))
    return FailureHistory(tag, START, END, PARTS, supply_voltage=115.0, replaced=replaced, readings=read)


def compressor(day):
    return "compressor-1", "compressor", day


def controller(day):
    return "controller-1", "temperature_controller", day


def found(*histories):
    rows = [(each.tag, unpacked([packed(each, everything=True)])) for each in histories]
    return off_voltage("harbour", rows, defaults(), END.toordinal())


ONCE_EACH = (compressor(date(2024, 6, 1)),), (controller(date(2024, 9, 1)),), (compressor(date(2025, 3, 1)),)


def test_one_failure_at_each_of_three_units_on_one_low_supply_is_found_where_no_unit_is():
    histories = [unit(f"U-{n}", 98.0, *failed) for n, failed in enumerate(ONCE_EACH)]
    (site,) = found(*histories)

    assert all(root_causes_of(each, defaults(), END) == () for each in histories)
    assert (site.level, site.key, site.cause, site.tier) == ("site", "harbour", "low_voltage", "watch")
    assert (site.failed, site.units) == (3, ("U-0", "U-1", "U-2"))
    assert site.expected == pytest.approx(3 * (0.04 + 0.04 + 0.10), rel=0.02)  # the default rates of what failed
    assert "on one supply" in in_words(site)["explanation"]


def test_the_same_failures_at_the_right_voltage_are_not_put_down_to_the_site():
    assert found(*(unit(f"U-{n}", 116.0, *failed) for n, failed in enumerate(ONCE_EACH))) == []


def test_one_unit_is_no_site():
    assert found(unit("U-0", 98.0, *ONCE_EACH[0], *ONCE_EACH[1], *ONCE_EACH[2])) == []
