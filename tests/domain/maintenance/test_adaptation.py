"""The as-found rule against lengths worked out by hand; its factors are common practice, no source."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.maintenance.adaptation import Grade, adapt, days_in_service
from service.domain.maintenance.tasks import AS_FOUND, Interval, Task
from service.domain.record.pauses import Span

RANGE = (Interval(100, "day"), Interval(20, "day"), Interval(200, "day"))
INSTALLED = date(2024, 1, 1)


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


def graded(*visits):
    """Grades from (days after the visit before, as found, "looked" where the task was not done)."""
    grades, day = [], INSTALLED
    for after, as_found, *looked in visits:
        day += timedelta(after)
        grades.append(Grade(day, as_found, done=not looked))
    return grades


def adapted(*visits, surroundings=None, of=None, since=INSTALLED):
    return adapt(of or task(), graded(*visits), surroundings, since)


def days(*visits, **facts):
    return adapted(*visits, **facts).interval.days


@pytest.mark.parametrize(
    ("visits", "length"),
    [
        ((), 100),
        (((100, "heavy"),), 75),
        (((100, "blocked"),), 50),
        (((100, "light"),), 100),
        (((100, "clean"),), 100),
        (((100, None),), 100),
        (((100, "clean"), (100, "clean")), 125),
        (((100, "clean"), (100, "clean"), (125, "clean")), 125),  # the run starts again
        (((100, "clean"), (100, "clean"), (125, "clean"), (125, "clean")), 156),  # 156.25
        (((100, "clean"), (100, "light"), (100, "clean")), 100),  # light ends the run
        (((100, "clean"), (100, "heavy"), (75, "clean")), 75),  # and so does heavy
        (((100, "clean"), (100, "blocked"), (50, "clean")), 50),
        (((100, "light"), (100, "clean"), (100, "clean")), 125),
        (((100, "heavy"), (75, "heavy")), 56),  # 56.25
        (((100, "heavy"), (75, None)), 75),
        (((100, "heavy"), (75, "clean"), (75, "clean")), 94),  # 75 x 1.25 = 93.75
    ],
)
def test_each_grade_of_work_done_on_its_day_changes_the_length_by_the_rule(visits, length):
    assert days(*visits) == length


@pytest.mark.parametrize(
    ("after", "grade", "length"),
    [
        (120, "heavy", 90),  # 120 days in service x 0.75
        (150, "heavy", 100),  # 112.5: the interval was not kept, which says nothing against it
        (160, "blocked", 80),
        (240, "blocked", 100),  # 120
        (90, "heavy", 75),
        (60, "heavy", 60),  # fouled sooner than 75 days
        (30, "blocked", 30),
        (10, "blocked", 20),  # the shortest allowed
        (0, "heavy", 20),  # fouled on the day of the installation
        (500, "light", 100),
        (500, "clean", 100),
    ],
)
def test_fouling_is_judged_by_the_days_in_service(after, grade, length):
    assert days((after, grade)) == length


def test_a_grade_without_a_known_start_of_service_changes_nothing():
    assert days((100, "blocked"), since=None) == 100
    assert days((100, "clean"), (100, "clean"), since=None) == 100  # the first says nothing, the second is one
    assert days((100, "blocked"), (100, "blocked"), since=None) == 50  # from the first time done it is known


def test_work_before_the_installation_has_no_days_in_service():
    later = INSTALLED + timedelta(150)
    assert list(days_in_service(graded((100, "heavy"), (100, "heavy")), later)) == [None, 100]


def test_days_in_service_count_from_the_last_time_it_was_done_not_from_the_last_look():
    looks = graded((100, "light"), (40, "light", "looked"), (30, "light"), (20, "light"))
    assert list(days_in_service(looks, INSTALLED)) == [100, 40, 70, 20]


@pytest.mark.parametrize(
    ("visits", "length"),
    [
        (((74, "clean"), (74, "clean")), 100),
        (((75, "clean"), (75, "clean")), 125),  # three quarters of 100 days
        (((100, "clean", "looked"), *[(1, "clean", "looked")] * 7), 100),
        (((100, "clean", "looked"), (74, "clean", "looked")), 100),
        (((100, "clean", "looked"), (75, "clean", "looked")), 125),
        (((100, "clean"), (10, "clean"), (90, "clean")), 125),  # the look at 10 days neither counts nor ends the run
        (((100, "clean"), (10, "light"), (90, "clean")), 100),
    ],
)
def test_a_clean_grade_counts_once_three_quarters_of_the_interval_have_passed(visits, length):
    assert days(*visits) == length


def test_days_out_of_service_foul_nothing():
    """Fouled after 100 days of which 1 to 20 February were a pause: 80 days, x 0.75."""
    pause = Span(date(2024, 2, 1), date(2024, 2, 20), date(2024, 1, 1), "unit")
    assert list(days_in_service(graded((100, "heavy")), INSTALLED, [pause])) == [80]
    assert adapt(task(), graded((100, "heavy")), None, INSTALLED, [pause]).interval.days == 75
    assert adapt(task(), graded((80, "heavy")), None, INSTALLED, [pause]).interval.days == 60


def test_eight_looks_at_a_clean_coil_on_eight_days_leave_three_months():
    three = task(interval=Interval(3, "month"))
    assert str(adapted(*[(1, "clean", "looked")] * 8, of=three).interval) == "3 months"


def test_blocked_after_seventeen_months_of_neglect_leaves_the_interval():
    three = task(interval=Interval(3, "month"))
    neglected = adapt(three, [Grade(date(2025, 6, 1), "blocked", done=True)], None, INSTALLED)
    assert (str(neglected.interval), neglected.by_grades, neglected.reasons) == ("3 months", False, ())


def test_the_surroundings_come_before_the_grades():
    assert days(surroundings="greasy") == 50
    assert days((50, "heavy"), surroundings="greasy") == 38  # 37.5, to even


@pytest.mark.parametrize("surroundings", [None, "clean", "dusty", "unknown"])
def test_surroundings_without_a_factor_change_nothing(surroundings):
    assert adapted(surroundings=surroundings).interval == RANGE[0]
    assert adapted(surroundings=surroundings).reasons == ()


def test_every_step_is_held_within_the_range_not_only_the_last():
    # 100, 50, 25, 20 (not 12.5), 20 (not 10), then 20 x 1.25
    blocked = [(after, "blocked") for after in (100, 50, 25, 20)]
    assert days(*blocked, (20, "clean"), (20, "clean")) == 25


def test_no_run_of_cleans_passes_the_longest():
    assert days(*[(200, "clean")] * 40) == 200


def test_surroundings_are_held_within_the_range_too():
    held = adapted((60, "light"), surroundings="greasy", of=task(shortest=Interval(60, "day")))
    assert (held.interval.days, held.reasons[-1]) == (60, "limited to the shortest allowed")


def test_an_unchanged_interval_stays_in_calendar_months():
    months = Interval(3, "month")
    assert adapted((91, "light"), (91, "clean"), surroundings="clean", of=task(interval=months)).interval is months


def test_an_interval_that_came_back_to_its_start_stays_in_calendar_months():
    months = Interval(3, "month")
    back = adapted((91, "heavy"), *[(91, "clean")] * 6, of=task(interval=months, longest=months))
    assert back.interval is months


@pytest.mark.parametrize(
    ("months", "factor", "text"),
    [
        (3, 1 / 3, "1 month"),
        (6, 1 / 2, "3 months"),
        (12, 3 / 4, "9 months"),
        (3, 1 / 2, "46 days"),  # 91 x 0.5 = 45.5, to even
        (3, 3 / 4, "68 days"),  # 68.25
        (12, 0.65, "237 days"),  # 365 x 0.65 = 237.25; 7.8 months are not whole
        (3, 0.332, "30 days"),  # 91 x 0.332 = 30.2: not a third
    ],
)
def test_surroundings_leave_whole_months_where_they_are_whole(months, factor, text):
    of = task(interval=Interval(months, "month"), longest=Interval(24, "month"), surroundings=(("greasy", factor),))
    assert adapted(surroundings="greasy", of=of).text == text


def test_whole_months_beyond_the_limit_are_not_taken():
    of = task(interval=Interval(3, "month"), shortest=Interval(35, "day"), surroundings=(("greasy", 1 / 3),))
    assert adapted(surroundings="greasy", of=of).text == "35 days"


def test_an_interval_changed_by_grades_is_in_days():
    heavy = adapted((91, "heavy"), of=task(interval=Interval(3, "month")))
    assert heavy.interval == Interval(68, "day")  # 91 x 0.75 = 68.25


def test_a_task_that_does_not_adapt_ignores_the_grades_but_not_the_surroundings():
    assert days((50, "blocked"), (25, "blocked"), surroundings="greasy", of=task(adapts=False)) == 50


@pytest.mark.parametrize("visits", [(), ((100, "heavy"),)])
def test_a_task_without_an_interval_cannot_be_adapted(visits):
    with pytest.raises(ValueError, match="condenser_clean has no interval"):
        adapted(*visits, of=task(interval=None, shortest=None, longest=None))


@pytest.mark.parametrize(
    ("visits", "surroundings", "sentence"),
    [
        ((), None, "interval 100 days"),
        ((), "greasy", "interval 50 days instead of 100 days: x 1/2 for greasy surroundings"),
        (((100, "heavy"),), None, "interval 75 days instead of 100 days: shortened to 75 days because heavily fouled"),
        (((100, "heavy"), (75, "blocked"), (38, "heavy")), None, "interval 28 days instead of 100 days: shortened 2 "
         "times, last to 28 days, because heavily fouled, shortened to 38 days because blocked"),
        (((100, "clean"),) * 2, None, "interval 125 days instead of 100 days: lengthened to 125 days because "
         "clean twice in a row"),
        (((200, "clean"),) * 8, None, "interval 200 days instead of 100 days: lengthened 4 times, "
         "last to 200 days, because clean twice in a row, limited to the longest allowed"),
        (((100, "blocked"), (50, "blocked"), (25, "blocked")), None, "interval 20 days instead of 100 days: shortened "
         "3 times, last to 20 days, because blocked, limited to the shortest allowed"),
    ],
)  # fmt: skip
def test_the_sentence_says_what_was_applied(visits, surroundings, sentence):
    assert adapted(*visits, surroundings=surroundings).sentence == sentence


@pytest.mark.parametrize(
    ("factor", "text"),
    [
        (1 / 3, "1/3"),
        (0.75, "3/4"),
        (0.7, "7/10"),
        (0.123, "0.123"),
        (5 / 12, "5/12"),
        (5 / 13, "0.385"),
        (0.333333333, "1/3"),  # nine decimals
        (0.33333333, "0.333"),
    ],
)
def test_a_factor_is_written_as_a_simple_fraction_where_it_is_one(factor, text):
    of = task(surroundings=(("greasy", factor),), shortest=Interval(1, "day"))
    assert f"x {text} for greasy surroundings" in adapted(surroundings="greasy", of=of).sentence


def test_a_grade_that_could_not_change_anything_is_no_reason():
    at_longest = task(longest=Interval(100, "day"))
    held = adapted((100, "clean"), (100, "clean"), of=at_longest)
    assert held.reasons == ("limited to the longest allowed",)


def test_a_length_that_just_reaches_a_limit_was_not_limited():
    just = task(shortest=Interval(50, "day"), longest=Interval(125, "day"))
    for visits in ([(100, "blocked")], [(100, "clean")] * 2):
        assert not any("limited" in reason for reason in adapted(*visits, of=just).reasons)


def test_only_a_change_by_the_grades_counts_as_one():
    assert adapted((100, "heavy")).by_grades
    assert not adapted(surroundings="greasy").by_grades
    assert not adapted((100, "clean"), (100, "clean"), of=task(longest=Interval(100, "day"))).by_grades


RANGES = st.lists(st.integers(1, 1000), min_size=3, max_size=3).map(sorted)
VISITS = st.lists(
    st.tuples(st.integers(1, 400), st.sampled_from([None, *AS_FOUND])) | st.tuples(
        st.integers(1, 400), st.sampled_from([None, *AS_FOUND]), st.just("looked")
    ),
    max_size=30,
)  # fmt: skip


@given(RANGES, VISITS, st.floats(0.05, 5))
def test_the_interval_is_always_within_the_range(lengths, visits, factor):
    shortest, interval, longest = (Interval(length, "day") for length in lengths)
    one = task(interval, shortest, longest, surroundings=(("greasy", factor),))
    assert shortest.days <= days(*visits, surroundings="greasy", of=one) <= longest.days


@given(VISITS, st.integers(0, 900), st.sampled_from(["heavy", "blocked"]))
def test_a_bad_grade_never_lengthens(visits, after, bad):
    assert days(*visits, (after, bad)) <= days(*visits)


@given(VISITS, st.integers(0, 900))
def test_a_clean_grade_never_shortens(visits, after):
    assert days(*visits, (after, "clean")) >= days(*visits)


@given(VISITS, st.integers(0, 900), st.integers(0, 900), st.sampled_from(["heavy", "blocked"]))
def test_fouling_found_sooner_never_leaves_a_longer_interval(visits, one, other, bad):
    sooner, later = sorted((one, other))
    assert days(*visits, (sooner, bad)) <= days(*visits, (later, bad))
