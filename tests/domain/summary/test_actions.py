"""Equal lines of what is to do as one, and their order."""

from datetime import date

from service.domain.summary.actions import from_today, merged
from service.domain.summary.letter_lines import Action
from service.domain.summary.lines import PlanLine

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
