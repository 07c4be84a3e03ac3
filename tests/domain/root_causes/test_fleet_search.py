"""What failures at several units have in common."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from scipy.stats import binom, false_discovery_control

from service.domain.root_causes import fleet_search
from service.domain.root_causes.fitted import Fitted, Replaced, UnitParts, parts_of
from service.domain.root_causes.fleet_search import searched
from service.domain.root_causes.fleet_sentences import in_words

START, END = date(2023, 1, 1), date(2025, 12, 31)
PUT_IN = date(2025, 3, 1)
USUAL_DAYS = 365.25 / (2 * 0.15)  # in which one new pump fails, at twice the default rate


def item(unit, days=None, kind="pump", **more):
    """An item that failed after so many days, or that still runs."""
    until = END if days is None else PUT_IN + timedelta(days=days)
    return Fitted(unit, kind, PUT_IN, until, days is not None, **more)


def units(*items):
    return [UnitParts(each.unit, START, END, (), (each,)) for each in items]


def batch(bad=4, good=12):
    return units(
        *(item(f"B-{n}", 90, maker="Tarn", model="P9-C") for n in range(bad)),
        *(item(f"G-{n}", maker="Tarn", model="P7") for n in range(good)),
    )


def test_a_batch_is_found_with_the_chance_of_the_exact_comparison_corrected_for_all():
    """Of five failures, one of them the usual one of the kind, the chance that four are of the model."""
    (found,) = searched(batch())
    own, rest = 4 * 90.0, 12 * 305.0 + USUAL_DAYS
    expected = false_discovery_control([binom.sf(3, 5, own / (own + rest)), 1.0])[0]

    assert (found.level, found.key, found.cause, found.tier) == ("model", "Tarn P9-C", "bad_parts", "strong")
    assert found.probability_of_chance == pytest.approx(expected, rel=1e-9)
    assert (found.failed, found.compared, found.units) == (4, 4, ("B-0", "B-1", "B-2", "B-3"))


def test_how_probable_a_batch_made_one_of_a_units_failures_is_the_share_that_is_more_than_expected():
    """The attributable fraction among the exposed: (observed - expected) / observed."""
    more = [item(f"O-{n}", 90, model="P7") for n in range(2)]
    (found,) = searched([*batch(bad=6, good=20), *units(*more)])
    expected = 3 / (2 * 90 + 20 * 305 + USUAL_DAYS) * 6 * 90

    assert found.made == pytest.approx(1 - expected / 6, rel=0.01)
    twice = replace(found, probability_of_chance=0.0, made=0.6, places=("B-0/pump", "B-0/pump", "B-1/pump"))
    assert fleet_search.suspected([twice], "B-0") == {"pump": pytest.approx(1 - 0.4**2)}
    assert fleet_search.suspected([twice], "B-1") == {}


def test_two_units_make_no_batch_and_one_bad_model_no_bad_maker():
    assert searched(batch(bad=2)) == ()
    assert [each.level for each in searched(batch())] == ["model"]


def test_a_small_company_has_no_other_model_to_compare_with_and_its_pumps_are_compared_with_the_usual():
    """Three of four dead within 60 days, the fourth well for 305: 1 of 4 would be the usual, twice .15 a year."""
    (found,) = searched(units(*(item(f"B-{n}", 60 if n < 3 else None, model="P9-C") for n in range(4))))
    share = (3 * 60.0 + 305.0) / (3 * 60.0 + 305.0 + USUAL_DAYS)

    assert (found.level, found.tier) == ("model", "watch")
    assert found.probability_of_chance == pytest.approx(binom.sf(2, 4, share), rel=1e-9)
    assert searched(units(*(item(f"B-{n}", 250 if n < 4 else None, model="P9-C") for n in range(12)))) == ()


def test_a_unit_that_fails_again_and_again_counts_once():
    again = [UnitParts("B-0", START, END, (), tuple(item("B-0", 20 + n, model="P9-C") for n in range(9)))]

    assert searched([*again, *batch(bad=0)]) == ()


def test_who_puts_in_what_fails_within_weeks_is_found_whatever_the_kind():
    kinds = ("pump", "power_switch", "condenser_fan", "pump", "compressor")
    hasty = [item(f"H-{n}", 25, kind, technicians=("otis",)) for n, kind in enumerate(kinds)]
    steady = [item(f"S-{n}", None, "pump", technicians=("petra",)) for n in range(8)]
    (found,) = searched(units(*hasty, *steady))

    assert (found.level, found.key, found.cause) == ("technician", "otis", "after_repair")
    text = in_words(found)["explanation"]
    assert "5 of 5 parts that otis installed failed within 60 days" in text
    assert "not a judgement" in text


def test_what_fails_after_months_is_not_put_down_to_who_put_it_in():
    late = [item(f"H-{n}", 61, technicians=("otis",)) for n in range(6)]

    assert searched([*units(*late), *batch(bad=0)]) == ()


def summer(months, years=(2023, 2024, 2025)):
    return [
        UnitParts(
            f"U-{n}", START, END, (("condenser_fan", date(years[n % len(years)], months[n % len(months)], 9)),), ()
        )
        for n in range(9)
    ]


def test_months_that_stand_out_in_several_years_are_a_season():
    (found,) = searched(summer((7, 8)))

    assert (found.level, found.failed, found.compared) == ("season", 9, 9)
    assert found.expected == pytest.approx(9 * 92 / 365.25, rel=0.03)
    assert "in the months" in in_words(found)["explanation"]


def test_what_a_storm_ended_at_one_site_is_one_event():
    """Pumps of five units of one house on one day, a year after five others: two events, no season."""
    days = (date(2024, 5, 13), date(2025, 5, 14))
    struck = [UnitParts(f"U-{n}", START, END, tuple(("pump", day) for day in days), ()) for n in range(5)]

    assert searched(struck, dict.fromkeys((each.unit for each in struck), "house")) == ()
    assert {each.level for each in searched(struck)} == {"season"}


def test_a_batch_that_was_replaced_at_one_site_on_one_round_is_a_batch():
    found = searched(batch(), dict.fromkeys((f"B-{n}" for n in range(4)), "house"))

    assert [each.key for each in found] == ["Tarn P9-C"]


def test_one_hot_year_or_all_the_year_round_is_no_season():
    assert searched(summer((7, 8), years=(2024,))) == ()
    assert searched(summer((1, 3, 4, 6, 7, 9, 10, 11, 12))) == ()


def test_the_life_of_an_item_ends_with_the_next_at_its_place():
    def put_in(on, reason="failed", *, component="pump-1", by_us=True, model="P7"):
        return Replaced(component, "pump", on, reason, "worn", by_us, "Tarn", model, ("petra",))

    days = [date(2024, 3, 1), date(2024, 5, 1), date(2024, 6, 1)]
    made = parts_of(
        "U-1",
        (START, END),
        [
            put_in(days[0]),
            put_in(days[1]),
            put_in(days[2], "precaution"),
            put_in(days[2], component="pump-2", by_us=False),
        ],
    )

    assert [(each.on, each.until, each.failed) for each in made.fitted] == [
        (days[0], days[1], True),
        (days[1], days[2], False),
        (days[2], END, False),
    ]
    assert made.failed == (("pump", days[0]), ("pump", days[1]), ("pump", days[2]))


def test_the_sentence_of_a_batch_names_what_failed_of_how_many_and_what_was_expected():
    (found,) = searched(batch())

    assert in_words(found)["explanation"].startswith(
        "Pump: 4 of 4 new parts of model Tarn P9-C failed within a year (2025-05-30 to 2025-05-30); "
        "0.1 expected at the rate of other new parts of the kind and the usual rate together. "
        "Almost certain cause: a bad "
    )


def test_tiers_of_the_corrected_chance():
    """DEVELOPERS.md, "Root causes"."""
    found = [fleet_search.tier_of(chance) for chance in (0.004, 0.006, 0.031, 0.101)]

    assert found == ["strong", "probable", "watch", None]
