"""The days of the rows of visits: read, settled by the rows around them, checked against them."""

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from service.mapping import targets
from service.mapping.blocks import TOTAL, Fact, Row
from service.mapping.convert import Context, value_of
from service.mapping.plan import CHECK, FAULT, LEFT_OUT, Plan, source
from service.workbooks.dates import BY_NEIGHBOURS, Ambiguous

SLACK, NEAR, FAR = timedelta(days=3), timedelta(days=62), timedelta(days=31)


@dataclass(slots=True)
class Dated:
    """A row with its day, once it is known."""

    row: Row
    fact: Fact | None
    day: date | None = None
    ambiguous: Ambiguous | None = None


class DayReader:
    """Finds the day of each row."""

    def __init__(self, context: Context, plan: Plan) -> None:
        self.context, self.plan = context, plan

    def days_of(self, rows: list[Row]) -> list[Dated]:
        """The rows with their days; what is wrong, doubtful or far from its neighbours is remarked."""
        found = [self._day(row) for row in rows]
        for n, each in enumerate(found):
            if each.ambiguous is not None:
                self._by_neighbours(found, n)
        self._check_order([each for each in found if each.day is not None])
        return found

    def _day(self, row: Row) -> Dated:
        fact = row.first("visit.date")
        if fact is None:
            texts = [each.cell.text for facts in row.facts.values() for each in facts if each.column]
            total = any(TOTAL.search(text) for text in texts)
            self.plan.remark(
                LEFT_OUT if total else FAULT, source(row), "; ".join(texts), "a total" if total else "has no date"
            )
            return Dated(row, None)
        try:
            day = value_of(targets.target("visit.date"), fact, self.context, row.year)
        except Ambiguous as doubt:
            if self.context.mapping.dates.get(doubt.separator) == BY_NEIGHBOURS:
                return Dated(row, fact, ambiguous=doubt)
            self.plan.remark(FAULT, source(row, fact), fact.cell.text, str(doubt))
            return Dated(row, fact)
        except ValueError as fault:
            total = TOTAL.search(fact.cell.text) is not None
            alone = _is_alone(row, fact) and not fact.cell.text[:1].isdigit()
            message = "a total" if total else "a text alone in its row" if alone else str(fault)
            self.plan.remark(LEFT_OUT if total or alone else FAULT, source(row, fact), fact.cell.text, message)
            return Dated(row, fact)
        return Dated(row, fact, date.fromisoformat(day))

    def _by_neighbours(self, found: list[Dated], n: int) -> None:
        """Choose the one of two days that lies between the days of the rows around it, if only one does."""
        each = found[n]
        if each.ambiguous is None or each.fact is None:
            return
        before = next((near.day for near in reversed(found[:n]) if near.day and near.row.sheet == each.row.sheet), None)
        later = (near for near in found[n + 1 :] if near.day and near.row.sheet == each.row.sheet)
        after = next((near.day for near in later if near.ambiguous is None), None)
        low, high = before or after, after or before
        fitting = [day for day in each.ambiguous.days if low and high and low - SLACK <= day <= high + SLACK]
        if len(fitting) != 1 or not low or not high or high - low > NEAR:
            message = f"{each.ambiguous}; the rows around it do not settle it"
            self.plan.remark(FAULT, source(each.row, each.fact), each.fact.cell.text, message)
            return
        each.day = fitting[0]
        self.plan.remark(
            CHECK, source(each.row, each.fact), each.fact.cell.text, f"read as {each.day} by the rows around it"
        )

    def _check_order(self, dated: list[Dated]) -> None:
        """Remark a day that is far from those of both rows around it, in a table that otherwise runs by date."""
        pairs = [(one, two) for one, two in pairwise(dated) if one.row.sheet == two.row.sheet]
        forward = sum(one.day <= two.day for one, two in pairs if one.day and two.day)
        if len(pairs) < 5 or forward < 0.9 * len(pairs):
            return
        for before, each, after in zip(dated, dated[1:], dated[2:], strict=False):
            if before.row.sheet == each.row.sheet == after.row.sheet and _is_far(before.day, each.day, after.day):
                message = f"{each.day} is far from the rows around it, {before.day} and {after.day}; check the year"
                self.plan.remark(CHECK, source(each.row, each.fact), each.fact.cell.text if each.fact else "", message)


def _is_alone(row: Row, fact: Fact) -> bool:
    """Whether a cell is the only one of its row."""
    return all(each is fact or not each.column for facts in row.facts.values() for each in facts)


def _is_far(before: date | None, each: date | None, after: date | None) -> bool:
    if before is None or each is None or after is None or before > after:
        return False
    return not before - FAR <= each <= after + FAR
