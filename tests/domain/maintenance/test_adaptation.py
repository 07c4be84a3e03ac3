"""The as-found rule against lengths worked out by hand; its factors are common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.maintenance.adaptation import adapt
from service.domain.maintenance.tasks import AS_FOUND, Interval, Task

RANGE = (Interval(100, "day"), Interval(20, "day"), Interval(200, "day"))


def task(interval=RANGE[0], shortest=RANGE[1], longest=RANGE[2], **changes):
    facts = {
        "minutes": 30,
        "bring": (),
        "cautions": (),
        "source": "test",
        "adapts": True,
        "surroundings": (("greasy", 0.5),),
    }
    return Task("condenser_clean", "Condenser cleaning", interval, shortest, longest, **{**facts, **changes})


def days(*finds, surroundings=None, of=None):
    return adapt(of or task(), finds, surroundings).interval.days


@pytest.mark.parametrize(
    ("finds", "length"),
    [
        ((), 100),
        (("heavy",), 75),
        (("blocked",), 50),
        (("light",), 100),
        (("clean",), 100),
        (("clean", "clean"), 125),
        (("clean", "clean", "clean"), 125),  # the run starts again
        (("clean", "clean", "clean", "clean"), 156),  # 156.25
        (("clean", "light", "clean"), 100),  # light ends the run
        (("clean", "heavy", "clean"), 75),  # and so does heavy
        (("clean", "blocked", "clean"), 50),
        (("light", "clean", "clean"), 125),
        (("heavy", "heavy"), 56),  # 56.25
        (("heavy", "clean", "clean"), 94),  # 75 x 1.25 = 93.75
    ],
)
def test_each_find_changes_the_length_by_the_rule(finds, length):
    assert days(*finds) == length


def test_the_surroundings_come_before_the_finds():
    assert days(surroundings="greasy") == 50
    assert days("heavy", surroundings="greasy") == 38  # 37.5, to even


@pytest.mark.parametrize("surroundings", [None, "clean", "dusty", "unknown"])
def test_surroundings_without_a_factor_change_nothing(surroundings):
    assert days(surroundings=surroundings) == 100


def test_every_step_is_held_within_the_range_not_only_the_last():
    # 100, 50, 25, 20 (not 12.5), 20 (not 6.25), then 20 x 1.25
    assert days("blocked", "blocked", "blocked", "blocked", "clean", "clean") == 25


def test_no_run_of_cleans_passes_the_longest():
    assert days(*["clean"] * 40) == 200


def test_surroundings_are_held_within_the_range_too():
    assert days(surroundings="greasy", of=task(shortest=Interval(60, "day"))) == 60


def test_an_unchanged_interval_stays_in_calendar_months():
    months = Interval(3, "month")
    assert adapt(task(interval=months), ("light", "clean"), "clean").interval is months


def test_an_interval_that_came_back_to_its_start_stays_in_calendar_months():
    months = Interval(3, "month")
    assert adapt(task(interval=months, longest=months), ("heavy", *["clean"] * 6), None).interval is months


def test_a_changed_interval_is_in_days():
    assert adapt(task(interval=Interval(3, "month")), ("heavy",), None).interval == Interval(
        68, "day"
    )  # 91 x 0.75 = 68.25


def test_a_task_that_does_not_adapt_ignores_the_finds_but_not_the_surroundings():
    assert days("blocked", "blocked", surroundings="greasy", of=task(adapts=False)) == 50


def test_a_task_without_an_interval_cannot_be_adapted():
    with pytest.raises(ValueError, match="condenser_clean has no interval"):
        adapt(task(interval=None, shortest=None, longest=None), (), None)


@pytest.mark.parametrize(
    ("finds", "surroundings", "sentence"),
    [
        ((), None, "Interval 100 days."),
        ((), "greasy", "Interval 100 days, x 0.5 for greasy surroundings: 50 days."),
        (("heavy",), None, "Interval 100 days, shortened because heavily fouled: 75 days."),
        (("heavy", "blocked", "heavy"), None, "Interval 100 days, shortened 2 times because heavily fouled, "
         "shortened because blocked: 28 days."),
        (("clean",) * 2, None, "Interval 100 days, lengthened because clean twice in a row: 125 days."),
        (("clean",) * 8, None, "Interval 100 days, lengthened 4 times because clean twice in a row, "
         "limited to the longest allowed: 200 days."),
        (("blocked",) * 5, None, "Interval 100 days, shortened 3 times because blocked, "
         "limited to the shortest allowed: 20 days."),
    ],
)  # fmt: skip
def test_the_sentence_says_what_was_applied(finds, surroundings, sentence):
    assert adapt(task(), finds, surroundings).sentence == sentence


def test_a_find_that_could_not_change_anything_is_no_reason():
    at_longest = task(longest=Interval(100, "day"))
    assert adapt(at_longest, ("clean", "clean"), None).reasons == ("limited to the longest allowed",)


def test_a_length_that_just_reaches_a_limit_was_not_limited():
    just = task(shortest=Interval(50, "day"), longest=Interval(125, "day"))
    assert not any("limited" in reason for reason in adapt(just, ("blocked",), None).reasons)
    assert not any("limited" in reason for reason in adapt(just, ("clean", "clean"), None).reasons)


def test_only_a_change_by_the_finds_counts_as_one():
    assert adapt(task(), ("heavy",), None).by_finds
    assert not adapt(task(), (), "greasy").by_finds
    assert not adapt(task(longest=Interval(100, "day")), ("clean", "clean"), None).by_finds


RANGES = st.lists(st.integers(1, 1000), min_size=3, max_size=3).map(sorted)
FINDS = st.lists(st.sampled_from(AS_FOUND), max_size=30).map(tuple)


@given(RANGES, FINDS, st.floats(0.05, 5))
def test_the_interval_is_always_within_the_range(lengths, finds, factor):
    shortest, interval, longest = (Interval(length, "day") for length in lengths)
    one = task(interval, shortest, longest, surroundings=(("greasy", factor),))
    assert shortest.days <= days(*finds, surroundings="greasy", of=one) <= longest.days


@given(FINDS, st.sampled_from(["heavy", "blocked"]))
def test_a_bad_find_never_lengthens(finds, bad):
    assert days(*finds, bad) <= days(*finds)


@given(FINDS)
def test_a_clean_find_never_shortens(finds):
    assert days(*finds, "clean") >= days(*finds)
