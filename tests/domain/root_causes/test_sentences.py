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
from service.domain.root_causes.presence import last_without
from service.domain.root_causes.wording import BY_DAYS, MADE, NO_RATING, OVER, WORDS
from tests.simulation.values import component, done, taken

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


def test_of_a_switch_without_a_recorded_rating_it_is_said_that_it_may_be_too_small():
    (found,) = root_causes_of(unit(), defaults(), END)
    facts = to_plain(found)
    facts["causes"] = [facts["causes"][0] | {"cause": "switch_undersized", "measured": False}]
    shown, known = in_words(facts), in_words(facts | {"nameplates": {"switch-1": "10 A"}})

    assert NO_RATING.sentence in shown["explanation"]
    assert "With this cause removed" in in_words(facts | {"exposed_share": None})["explanation"]
    assert "Present at" not in shown["explanation"]
    assert shown["next_check"].startswith("Read the rating on the switch")
    assert WORDS["switch_undersized"].sentence in known["explanation"]
    assert "Present at" in known["explanation"]


def test_a_reason_that_nobody_knows_is_said_to_count_less():
    known, unknown = unit().replaced[:3], unit().replaced[3:]
    history = replace(
        unit(), replaced=(*known, *(replace(r, reason="unknown", condition="discoloured") for r in unknown))
    )

    assert "1 replacement for a reason that nobody knows: counted with less weight." in explained(history)
    assert "Power switch: 3 failures and 1 replacement for an unknown reason within" in explained(history)
    assert "nobody knows" not in explained(unit())


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
def test_the_last_failures_without_a_cause_count_once_they_are_as_many_as_those_with_it(present, last):
    assert last_without(present) == last


def test_a_cause_that_the_failures_outlived_is_not_named_first_nor_its_remedy_advised():
    """The glycol was weak at four failures, then right, and four more came; common practice, no source."""
    read = (
        *(taken("glycol_strength", None, 0.18, "mass_fraction", date(2023, month, 1)) for month in (1, 7)),
        *(taken("glycol_strength", None, 0.35, "mass_fraction", date(2024, month, 1)) for month in (1, 7)),
    )
    days = [date(2023, month, 1) for month in (2, 3, 5, 6)]
    days += [date(2024, 9, 1), *(date(2025, month, 1) for month in (1, 6, 9))]
    seized = tuple(PartReplaced("pump-1", "pump", day, "failed", "seized", "seen", "us", str(day)) for day in days)
    history = FailureHistory("GU-1", START, END, (component("pump-1", "pump"),), replaced=seized, readings=read)
    (went_on,) = root_causes_of(history, defaults(), END)
    (before,) = root_causes_of(history.until(date(2023, 12, 1)), defaults(), date(2023, 12, 1))
    worded = in_words(to_plain(went_on))

    assert before.causes[0].cause == "glycol_weak"
    assert went_on.causes[0].cause == "unexplained"
    assert went_on.probability_of_chance + sum(each.probability for each in went_on.causes) == pytest.approx(1.0)
    assert "4 came while this was so: glycol too weak" in worded["explanation"]
    assert "The last 4 came without it." in worded["explanation"]
    assert worded["remedy"] == WORDS["unexplained"].remedy


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({}, BY_DAYS["condenser_fouled"]),
        ({"measured": True}, WORDS["condenser_fouled"]),
        ({"found": "found heavily fouled"}, WORDS["condenser_fouled"]),
        ({"quiet": {"days": 400, "still_at_work": 0.4}}, OVER),
        ({"quiet": {"days": 100, "still_at_work": 0.4}}, BY_DAYS["condenser_fouled"]),
        ({"remarks": {"absent_since": "2025-01-01"}}, OVER),
        ({"state": "resolved"}, MADE),
    ],
)
def test_what_is_advised_follows_from_what_was_found_and_what_has_been_done(more, words):
    facts = with_present((1.0, 1.0, 1.0))
    share, *rest = facts["causes"]
    before = {"condenser_clean": f"done on 2025-01-02, {more.get('found', 'found lightly fouled')}"}
    facts |= {"causes": [share | {"measured": more.get("measured", False)}, *rest]}
    facts |= {"events": [event | {"readings_before": before} for event in facts["events"]]}
    facts |= {name: value for name, value in more.items() if name in ("quiet", "remarks", "state")}
    worded = in_words(facts)

    assert (worded["next_check"], worded["remedy"]) == (words.confirm, words.remedy)
    assert f"Remedy: {words.remedy}" in worded["explanation"]


def test_by_the_ratings_alone_no_reading_is_claimed():
    facts = with_present((1.0, 1.0))
    facts |= {"causes": [{"cause": "switch_undersized", "probability": 0.9, "measured": True}]}

    assert "The ratings show it; the current was not read." in in_words(facts)["explanation"]
    read = {"current switch-1": "14 A on 2025-01-01"}
    facts |= {"events": [event | {"readings_before": read} for event in facts["events"]]}
    assert "Readings or findings show it." in in_words(facts)["explanation"]


def test_what_was_read_in_trouble_alone_makes_nothing_almost_certain():
    facts = with_present((1.0, 1.0)) | {"tier": "strong", "probability_of_chance": 0.01}
    facts["causes"] = [facts["causes"][0] | {"probability": 0.98}]

    assert "Almost certain cause: " in in_words(facts)["explanation"]
    facts["remarks"] = {"read_in_trouble": "bath_level"}
    assert "Probable cause: " in in_words(facts)["explanation"]
    assert "Its bath level was read only when a failure may have made it so" in in_words(facts)["explanation"]


def test_a_rating_that_nobody_recorded_makes_nothing_almost_certain():
    facts = with_present((1.0, 1.0)) | {"tier": "strong", "probability_of_chance": 0.01}
    facts["causes"] = [{"cause": "switch_undersized", "probability": 0.98}]

    assert "Probable cause: switch that may be too small" in in_words(facts)["explanation"]
    assert "Almost certain cause: " in in_words(facts | {"nameplates": {"switch-1": "10 A"}})["explanation"]


def with_present(present):
    """A root cause of a fouled condenser, which was present so far at each failure."""
    (found,) = root_causes_of(unit(performed=(CLEANED,)), defaults(), END)
    facts = to_plain(found)
    assert facts["causes"][0]["cause"] == "condenser_fouled"
    events = [facts["events"][0] | {"present": level} for level in present]
    return facts | {"events": events}
