"""The order of a day: against every order of small days, against the order of due dates, and its limits.

Reference: exhaustive enumeration in this file, by its own arithmetic.
"""

import random
from itertools import permutations

import pytest

from service.domain.driving.day import REST, URGENT, WEIGHTS, Job, Shift
from service.domain.driving.order import lay_out
from service.domain.driving.travel import Point, Travel

HOUR = 3600
HOME = Point("", 39.74, -104.99)
TRAVEL = Travel()
RHEA = frozenset({"rhea"})
SHIFT = Shift(technician="rhea", start=0, end=8 * HOUR, first=HOME, last=HOME)


def job(number: int, latitude: float, longitude: float, **more) -> Job:
    plain = {"minutes": 30, "technicians": RHEA, "windows": ((0, 8 * HOUR),), "weight": WEIGHTS["pm"]}
    return Job(number=number, point=Point(f"s{number}", latitude, longitude), **(plain | more))


def random_day(seed: int, stops: int, people: int = 1, *, spread: float = 0.25) -> tuple[list[Job], list[Shift]]:
    rng = random.Random(seed)
    codes = [f"t{n}" for n in range(people)]
    shifts = [Shift(technician=code, start=0, end=9 * HOUR, first=HOME, last=HOME) for code in codes]
    jobs = []
    for n in range(stops):
        opens = rng.randrange(0, 7) * HOUR if rng.random() < 0.3 else None
        window = (0, 9 * HOUR) if opens is None else (opens, opens + 2 * HOUR)
        where = HOME.latitude + rng.uniform(-spread, spread), HOME.longitude + rng.uniform(-spread, spread)
        minutes = rng.choice((20, 30, 45))
        jobs.append(job(n, *where, minutes=minutes, windows=(window,), technicians=frozenset(codes)))
    return jobs, shifts


def cost_of(order, shift: Shift) -> int | None:
    """The travel in this order [s], None where it is not possible: this file's own arithmetic."""
    now, at, driven = shift.start, shift.first, 0
    for each in order:
        leg = TRAVEL.seconds(at, each.point)
        now, at, driven = now + leg, each.point, driven + leg
        (window,) = each.windows
        if now > window[1]:
            return None
        now = max(now, window[0]) + 60 * each.minutes
    back = TRAVEL.seconds(at, shift.last) if order else 0
    return driven + back if now + back <= shift.end else None


def best_of_all(jobs, shift) -> tuple[int, int]:
    """(left over, travel) of the best of all orders of all subsets."""
    for left in range(len(jobs) + 1):
        costs = [cost_of(order, shift) for order in permutations(jobs, len(jobs) - left)]
        possible = [cost for cost in costs if cost is not None]
        if possible:
            return left, min(possible)
    raise AssertionError("nothing is always possible")


@pytest.mark.parametrize("seed", range(12))
def test_small_days_are_within_two_percent_of_the_best_of_all_orders(seed: int) -> None:
    jobs, (shift,) = random_day(seed, 6)
    left, least = best_of_all(jobs, shift)
    plan = lay_out(jobs, [shift], TRAVEL)

    assert len(plan.left) == left
    assert plan.runs[0].travel == cost_of(plan.runs[0].jobs, shift) <= 1.02 * least


def by_due_date(jobs, shifts) -> tuple[int, int]:
    """(left over, travel) of the day worked in the order of the list, each job by whoever can begin it first."""
    orders = {shift.technician: [] for shift in shifts}
    left = 0
    for each in sorted(jobs, key=lambda one: one.number):
        fitting = [(cost_of([*orders[s.technician], each], s), s) for s in shifts]
        fitting = [(cost, s.technician) for cost, s in fitting if cost is not None]
        if fitting:
            orders[min(fitting)[1]].append(each)
        else:
            left += 1
    return left, sum(cost_of(orders[shift.technician], shift) for shift in shifts)


@pytest.mark.parametrize(("seed", "stops", "people"), [(n, 9, 1) for n in range(6)] + [(n, 20, 3) for n in range(4)])
def test_a_day_is_never_worse_than_by_due_date(seed: int, stops: int, people: int) -> None:
    jobs, shifts = random_day(seed, stops, people)
    plan = lay_out(jobs, shifts, TRAVEL)

    assert (len(plan.left), sum(run.travel for run in plan.runs)) <= by_due_date(jobs, shifts)
    assert sorted(each.number for run in plan.runs for each in run.jobs) == sorted(
        {each.number for each in jobs} - {each.number for each in plan.left}
    )


def test_the_same_day_gives_the_same_plan() -> None:
    jobs, shifts = random_day(3, 15, 2)
    first = lay_out(jobs, shifts, TRAVEL)

    assert lay_out(list(reversed(jobs)), shifts, TRAVEL) == first


def test_urgent_work_comes_first_in_the_order_of_the_list() -> None:
    near, far = job(0, 39.75, -104.99), job(1, 39.95, -104.99, tier=URGENT, weight=WEIGHTS["down"])
    farther = job(2, 39.55, -104.99, tier=URGENT, weight=WEIGHTS["call"])
    (run,) = lay_out([near, far, farther], [SHIFT], TRAVEL).runs

    assert [each.number for each in run.jobs] == [1, 2, 0]


def test_other_work_goes_before_urgent_work_only_while_that_has_to_wait() -> None:
    later = job(0, 39.95, -104.99, tier=URGENT, windows=((3 * HOUR, 8 * HOUR),), weight=WEIGHTS["down"])
    (run,) = lay_out([later, job(1, 39.75, -104.99), job(2, 39.6, -104.99)], [SHIFT], TRAVEL).runs

    assert run.stops[[each.number for each in run.jobs].index(0)].begins == 3 * HOUR


def test_a_promise_is_kept_before_urgent_work_and_one_that_cannot_be_is_named() -> None:
    down = job(0, 39.95, -104.99, tier=URGENT, weight=WEIGHTS["down"], minutes=120)
    window = ((HOUR, 2 * HOUR),)
    promised = job(1, 39.60, -104.99, promised=True, windows=window, weight=WEIGHTS["call"])
    plan = lay_out([down, promised], [SHIFT], TRAVEL)
    assert [each.number for each in plan.runs[0].jobs] == [1, 0]
    assert HOUR <= plan.runs[0].stops[0].begins <= 2 * HOUR

    gone = job(1, 39.60, -104.99, promised=True, windows=(), otherwise=((0, 8 * HOUR),), weight=WEIGHTS["call"])
    plan = lay_out([down, gone], [SHIFT], TRAVEL)
    assert (plan.late, plan.left) == (frozenset({1}), ())
    assert [each.number for each in plan.runs[0].jobs] == [0, 1]


def test_what_does_not_fit_is_left_over_the_least_at_stake_first() -> None:
    jobs = [job(n, 39.75, -104.99 + n / 100, minutes=120) for n in range(5)]
    follow_up = job(9, 39.75, -104.90, minutes=120, weight=WEIGHTS["follow_up"])
    plan = lay_out([*jobs, follow_up], [SHIFT], TRAVEL)

    assert len(plan.left) == 3
    assert 9 in {each.number for each in plan.runs[0].jobs}
    assert all(each.weight == WEIGHTS["pm"] for each in plan.left)


def test_work_goes_to_those_who_may_do_it_within_their_hours() -> None:
    other = Shift(technician="tobin", start=0, end=8 * HOUR, first=HOME, last=HOME, work=60)
    jobs = [job(n, 39.75, -104.99, technicians=frozenset({"tobin"}), minutes=30) for n in range(3)]
    plan = lay_out([*jobs, job(3, 39.75, -104.98)], [SHIFT, other], TRAVEL)

    assert {run.shift.technician: len(run.jobs) for run in plan.runs} == {"rhea": 1, "tobin": 2}
    assert [len(plan.left), plan.left[0].technicians] == [1, {"tobin"}]


def test_a_site_with_two_opening_times_is_visited_in_one_of_them() -> None:
    split = job(0, 39.75, -104.99, windows=((0, 60), (5 * HOUR, 6 * HOUR)))
    before = job(1, 39.60, -104.99, windows=((HOUR, 2 * HOUR),))
    (run,) = lay_out([split, before], [SHIFT], TRAVEL).runs

    assert [(each.job.number, each.begins >= HOUR) for each in run.stops] == [(1, True), (0, True)]


def test_without_coordinates_the_order_is_that_of_the_list() -> None:
    jobs = [job(n, None, None) for n in range(5)]
    (run,) = lay_out(jobs, [SHIFT], TRAVEL).runs

    assert [each.number for each in run.jobs] == [0, 1, 2, 3, 4]


def test_two_sites_at_one_address_follow_each_other() -> None:
    places = (39.75, 39.60, 39.75, 39.62)
    jobs = [job(n, latitude, -104.99, tier=REST) for n, latitude in enumerate(places)]
    (run,) = lay_out(jobs, [SHIFT], TRAVEL).runs
    order = [each.number for each in run.jobs]

    assert abs(order.index(0) - order.index(2)) == 1


def test_a_day_without_anybody_leaves_all_over() -> None:
    assert [each.number for each in lay_out([job(0, 39.75, -104.99)], [], TRAVEL).left] == [0]
