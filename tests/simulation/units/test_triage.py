"""The measures of ranked explanations, on answers made up."""

import pytest

from tests.simulation.units.paired import verdict
from tests.simulation.units.triage import Ranked, calibrated, confusion, rank, score

LEAK, DIRT = frozenset({"low_charge"}), frozenset({"condenser_fouled"})
ANSWER = Ranked((("restriction", 0.5), ("low_charge", 0.3), ("condenser_fouled", 0.2)))


def test_the_rank_is_the_place_of_the_truth():
    assert rank(ANSWER, LEAK) == 2
    assert rank(ANSWER, frozenset({"pump_stopped"})) == 4
    assert rank(ANSWER, LEAK | DIRT) == 2


def test_a_set_that_cannot_be_separated_shares_the_place_of_its_first():
    together = Ranked(ANSWER.explanations, (frozenset({"restriction", "low_charge"}),))

    assert rank(together, LEAK) == 1
    assert rank(together, DIRT) == 3


def test_shares_first_and_among_three():
    scored = score([(ANSWER, LEAK), (ANSWER, frozenset({"restriction"})), (ANSWER, frozenset({"pump_stopped"}))])

    assert (scored.visits, scored.first, scored.first_three) == (3, pytest.approx(1 / 3), pytest.approx(2 / 3))


def test_overconfidence_falls_out_of_its_bin():
    sure = Ranked((("restriction", 0.95), ("low_charge", 0.05)))
    pairs = [(sure, frozenset({"restriction"}))] * 120 + [(sure, LEAK)] * 80

    bins = {round(each.stated, 2): each for each in calibrated(pairs)}

    assert bins[0.95].right == pytest.approx(0.6)
    assert bins[0.95].outside > 0.2
    # Wilson's interval, 99 %, 120 of 200: 0.509 to 0.685 (by its formula, by hand)
    assert (bins[0.95].low, bins[0.95].high) == (pytest.approx(0.509, abs=0.002), pytest.approx(0.685, abs=0.002))


def test_confusion_counts_first_explanations_of_single_truths():
    assert confusion([(ANSWER, LEAK), (ANSWER, LEAK | DIRT)]) == {("low_charge", "restriction"): 1}


@pytest.mark.parametrize(
    ("first", "beside", "sets", "expected"),
    [
        (("low_charge", "condenser_fouled"), (), (), "both"),
        (("low_charge", None), ("condenser_fouled",), (), "set"),
        (("low_charge", None), (), (("low_charge", "condenser_fouled"),), "set"),
        (("low_charge", None), ("pump_stopped",), (("low_charge", "restriction"),), "one alone"),
        (("low_charge", "pump_stopped"), (), (), "one alone"),
        (("pump_stopped", None), (), (), "neither"),
    ],
)
def test_two_faults_are_named_both_as_a_set_or_less(first, beside, sets, expected):
    answer = {
        "explanations": [{"code": first[0], "with": first[1]}],
        "second_faults": [{"code": code, "beside": first[0]} for code in beside],
        "cannot_separate": [{"codes": list(each), "split_by": "look_bath"} for each in sets],
    }

    assert verdict(answer, LEAK | DIRT) == expected
