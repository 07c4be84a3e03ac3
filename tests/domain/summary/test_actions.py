"""Equal lines of what is to do as one, and their order."""

from datetime import date

from service.domain.summary.actions import merged
from service.domain.summary.letter_lines import Action

SOON, LATER = date(2026, 12, 4), date(2027, 1, 8)


def an_action(unit, what, by, basis="limit"):
    """One line of a unit, for us."""
    return Action(units=(unit,), who="we", what=what, why=(f"{unit}: measured.",), by=by, basis=basis)


def test_what_is_due_at_once_at_one_unit_is_due_at_once_at_all():
    (line,) = merged([an_action("GU-1", "Clean it.", None), an_action("GU-2", "Clean it.", LATER)])
    assert (line.units, line.by) == (("GU-1", "GU-2"), None)
    (line,) = merged([an_action("GU-1", "Clean it.", SOON), an_action("GU-2", "Clean it.", LATER)])
    assert line.by == SOON


def test_of_equal_lines_what_is_due_first_comes_first_and_at_once_before_any_day():
    limits = [an_action("GU-1", "A", LATER), an_action("GU-2", "B", SOON), an_action("GU-3", "C", None)]
    lines = merged([*limits, an_action("GU-4", "D", LATER, basis="danger")])
    assert [each.what for each in lines] == ["D", "C", "B", "A"]
