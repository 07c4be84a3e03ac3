"""What a root cause says of itself follows from its numbers."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from service.domain.plain import to_plain
from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.attribution import attribution_of, chance_of_so_many
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.explanation import in_words
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.wording import WORDS
from tests.simulation.values import component, done

START, END = date(2022, 1, 1), date(2025, 12, 31)
DAYS = (date(2025, 7, 1), date(2025, 9, 1), date(2025, 11, 1), date(2025, 12, 1))
CLEANED = done("condenser_clean", date(2025, 1, 2), "done", "light")


def unit(places=1, days=DAYS, **shown):
    codes = [f"switch-{n}" for n in range(1, places + 1)]
    burnt = tuple(
        PartReplaced(codes[n % places], "power_switch", day, "failed", "burnt", "seen", "us", f"v{n}")
        for n, day in enumerate(days)
    )
    components = tuple(component(code, "power_switch") for code in codes)
    return FailureHistory("GU-1", START, END, components, replaced=burnt, **shown)


def explained(history):
    (found,) = root_causes_of(history, defaults(), END)
    return in_words(to_plain(found))["explanation"]


def test_the_chance_of_a_unit_with_three_places_is_that_of_all_three():
    """Against drawn histories: three places fail at the rate of one each; this project's own Monte Carlo."""
    history = unit(places=3, days=DAYS[:3])
    window = ((DAYS[2] - DAYS[0]).days + 1) / 365.25
    setting = replace(defaults().of("power_switch"), rate=0.2, shape=1e6)
    shown = chance_of_so_many(attribution_of(history, failures_of(history, "power_switch", END), setting))

    draw = np.random.default_rng(4)
    years, seen, histories = 4.0, 0, 40_000
    for count in draw.poisson(3 * 0.2 * years, histories):
        times = np.sort(draw.uniform(0.0, years, count))
        seen += bool(count >= 3 and (times[2:] - times[:-2] < window).any())
    assert shown == pytest.approx(seen / histories, rel=0.08)


def test_where_chance_is_likelier_than_any_cause_no_cause_is_called_most_probable():
    (found,) = root_causes_of(unit(), defaults(), END)
    facts = to_plain(found) | {"probability_of_chance": 0.39, "tier": "watch"}
    facts["causes"] = [share | {"probability": 0.3} for share in facts["causes"][:2]]

    explanation = in_words(facts)["explanation"]
    assert "but chance is more probable than any one cause (probability of chance 1 in 3)" in explanation


def test_a_record_without_a_cleaning_says_that_none_was_assumed():
    assert "No cleaning recorded since 2022-01-01" in explained(unit())
    assert "No cleaning recorded" not in explained(unit(performed=(CLEANED,)))


def test_of_a_retired_unit_nothing_is_expected():
    assert "in the next year" in explained(unit())
    assert "in the next year" not in explained(replace(unit(), retired=True))


@pytest.mark.parametrize(
    ("tier", "shares", "words"),
    [
        ("strong", (0.97, 0.02), "Almost certain cause"),
        ("strong", (0.54, 0.45), "Probable cause"),
        ("strong", (0.45, 0.44), "Possible cause"),
        ("probable", (0.97, 0.01), "Probable cause"),
        ("watch", (0.97, 0.01), "Possible cause"),
    ],
)
def test_a_cause_is_called_no_surer_than_its_own_probability(tier, shares, words):
    (found,) = root_causes_of(unit(), defaults(), END)
    facts = to_plain(found) | {"probability_of_chance": 0.005, "tier": tier}
    facts["causes"] = [each | {"probability": p} for each, p in zip(facts["causes"][:2], shares, strict=True)]

    assert f" {words}: " in in_words(facts)["explanation"]


@pytest.mark.parametrize(
    ("present", "said"),
    [
        ((1.0, 0.9, 0.5), "Present at 3 of 3 failures, and "),
        ((1.0, 0.3, 0.0), "Present at 1 of 3 failures, in part at 1, and "),
        ((0.3, 0.3, 0.3), "Present in part at 3 of 3 failures. "),
    ],
)
def test_a_cause_that_was_present_in_part_is_not_said_to_have_been_absent(present, said):
    """8.8 A through a switch that may carry 8 A is a small overload, and was there at every failure."""
    assert said in in_words(with_present(present))["explanation"]


@pytest.mark.parametrize(
    ("present", "last"),
    [
        ((1.0, 1.0, 0.0, 0.0, 0.0), 3),
        ((1.0, 1.0, 0.0, 0.0), 2),
        ((1.0, 1.0, 1.0, 0.0, 0.0), 0),  # most of them with it, and it may come and go
        ((0.0, 0.0, 1.0, 1.0), 0),
        ((1.0, 0.0), 0),  # one more is no sign
        ((1.0, 1.0, 0.3, 0.0), 0),
    ],
)
def test_where_parts_fail_on_without_the_cause_its_remedy_is_not_advised_again(present, last):
    """The condenser was blocked at two failures, then cleaned, and three more came; common practice, no source."""
    worded = in_words(with_present(present))

    assert (f"The last {last} came without it" in worded["explanation"]) == bool(last)
    assert ("came without it" in worded["explanation"]) == bool(last)
    assert worded["remedy"] == WORDS["unexplained" if last else "condenser_fouled"].remedy
    assert f"Remedy: {worded['remedy']}" in worded["explanation"]


def with_present(present):
    """A root cause of a fouled condenser, which was present so far at each failure."""
    (found,) = root_causes_of(unit(performed=(CLEANED,)), defaults(), END)
    facts = to_plain(found)
    assert facts["causes"][0]["cause"] == "condenser_fouled"
    events = [facts["events"][0] | {"present": level} for level in present]
    return facts | {"events": events}
