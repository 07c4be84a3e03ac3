"""Equal lines of what is to do as one, and their order."""

from datetime import date

from service.domain.condition.latest import Worry
from service.domain.summary.actions import Found, actions, from_today, merged
from service.domain.summary.letter_lines import Action
from service.domain.summary.lines import MISSED, PlanLine, PmLine

SOON, LATER = date(2026, 12, 4), date(2027, 1, 8)


def an_action(unit, what, by, basis="limit"):
    """One line of a unit, for us."""
    return Action(units=(unit,), who="we", what=what, why=(f"{unit}: measured.",), by=by, basis=basis)


def test_a_line_of_several_units_is_due_when_it_is_due_at_all_of_them():
    (line,) = merged([an_action("GU-1", "Clean it.", None), an_action("GU-2", "Clean it.", LATER)])
    assert (line.units, line.by) == (("GU-1", "GU-2"), None)
    (line,) = merged([an_action("GU-1", "Clean it.", SOON), an_action("GU-2", "Clean it.", LATER)])
    assert line.by == LATER


def test_no_work_is_promised_for_a_day_that_is_over():
    """The letter of a year is written weeks after its end; then the next day in the plan counts."""
    plan = PlanLine(
        unit="GU-1", task="pump_check", name="Pump check", due_on=(SOON, date(2026, 12, 20), LATER), overdue=False,
        interval=None, why="",
    )  # fmt: skip
    made = [an_action("GU-1", "Clean it.", SOON), an_action("GU-1", "Look.", None), an_action("GU-1", "Wait.", LATER)]

    assert [each.by for each in from_today(made, [plan], date(2026, 12, 5))] == [date(2026, 12, 20), None, LATER]
    assert [each.by for each in from_today(made, [], date(2026, 12, 5))] == [None, None, LATER]
    assert from_today(made, [plan], SOON) == tuple(made)


def test_of_equal_lines_what_is_due_first_comes_first_and_at_once_before_any_day():
    limits = [an_action("GU-1", "A", LATER), an_action("GU-2", "B", SOON), an_action("GU-3", "C", None)]
    lines = merged([*limits, an_action("GU-4", "D", LATER, basis="danger")])
    assert [each.what for each in lines] == ["D", "C", "B", "A"]


def test_what_is_overdue_or_dangerous_waits_for_no_day_of_the_plan():
    """The next day in the plan may be months away: named beside work that is overdue, it would put that off."""
    missed = PmLine(
        unit="GU-1", task="pump_check", name="Pump check", due_on=date(2026, 10, 1), done_on=None, state=MISSED,
        days_late=61, as_found=None, interval=None, why=None,
    )  # fmt: skip
    plan = PlanLine(
        unit="GU-1", task="bath_check", name="Bath check", due_on=(LATER,), overdue=False, interval=None, why="",
    )  # fmt: skip
    worries = [Worry(code=code, component=None, sentence="s", source="t") for code in ("terminal_hot", "glycol_weak")]
    found = Found(
        tag="GU-1", visits=(), dangers=(), worries=worries, root_causes=(), pm_lines=(missed,),
        plan=(plan,), plan_from=date(2026, 12, 1), out=False,
    )  # fmt: skip

    days = {(each.basis, each.by) for each in actions(found)}
    assert days == {("danger", None), ("overdue", None), ("limit", LATER)}
