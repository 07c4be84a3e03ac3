"""The sentences of a unit's page and of the plan; all words of the document that are not in the summary itself."""

from collections.abc import Iterable, Iterator
from datetime import date

from service.domain.quantities import format_quantity
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.letter import span_text
from service.domain.summary.letter_lines import Action, CustomerRootCause
from service.domain.summary.lines import KindCount, OutageTotal, PmCount, ReplacementCount
from service.domain.summary.sentences import counted as number_of
from service.rendering.year.tables import sentence, words
from service.rendering.year.unit_charts import FOULED, condenser_is_near, glycol_is_near

WHO = {"you": "You decide", "we": "We will do"}


def counted(kinds: Iterable[KindCount], replaced: ReplacementCount) -> list[list[str]]:
    """Visits by kind and replacements, where there are any: what, by us, by others, in all."""
    visits = [(f"visits: {words(each.kind)}", each.ours, each.others) for each in kinds]
    rows = [*visits, ("replacements", replaced.ours, replaced.others)]
    return [[name, str(ours), str(others), str(ours + others)] for name, ours, others in rows if ours + others]


def of_unit(unit: UnitSummary) -> str:
    """How the year of a unit went, in a few short sentences."""
    return " ".join([*_visits(unit), _outages(unit.without_cold_beer), *_parts(unit), _maintained(unit.pm)])


def _visits(unit: UnitSummary) -> Iterator[str]:
    ours, others = (sum(getattr(each, whose) for each in unit.visits_by_kind) for whose in ("ours", "others"))
    calls = sum(each.ours for each in unit.visits_by_kind if each.kind == "service_call")
    if not ours and not others:
        yield "Nobody came."
    if ours:
        because = f", {calls} because you called" if calls else ""
        yield f"{number_of(ours, 'visit')} by us{because}."
    if others:
        yield f"{number_of(others, 'visit')} by others, as reported to us."


def _outages(without: OutageTotal) -> str:
    total, high = without.outages + without.carried_over, without.estimated_high
    if not total:
        return "No breakdown."
    what = number_of(without.outages, "breakdown") + (", one from before" if without.carried_over else "")
    if high is not None and high.value == without.seen.value:
        return f"{what}: {span_text(without.seen.value)} without cold beer."
    if high is None and not without.estimated.value:
        return f"{what}; how long without cold beer is not known."
    most = "the end of some not known" if high is None else f"{span_text(high.value)} at the most"
    return (
        f"{what}: about {span_text(without.estimated.value)} without cold beer, {span_text(without.seen.value)} of it "
        f"seen, {most}."
    )


def _parts(unit: UnitSummary) -> Iterator[str]:
    failed = [words(each.kind) or "" for each in unit.replacements if each.reason == "failed"]
    if failed:
        listed = ", ".join(number_of(failed.count(kind), kind) for kind in dict.fromkeys(failed))
        yield f"Failed: {listed}."


def _maintained(pm: PmCount) -> str:
    if not pm.judged:
        return "No maintenance was due." if not pm.first else f"Maintenance: {pm.first} done for the first time."
    undone = pm.missed + pm.never_recorded
    more = [f"{pm.late} late"] if pm.late else []
    more += [f"{undone} not done"] if undone else []
    how = f" ({', '.join(more)})" if more else ""
    return f"Maintenance on time: {pm.on_time} of {pm.judged}{how}."


def measured(unit: UnitSummary, system: str, *, drawn: bool) -> str:
    """Glycol and condenser in a sentence each, where no chart shows them; `drawn` are those near a limit."""
    glycol = [] if drawn and glycol_is_near(unit) else _glycol(unit, system)
    split = [] if drawn and condenser_is_near(unit) else _split(unit, system)
    return " ".join([*glycol, *_condenser(unit), *split])


def _glycol(unit: UnitSummary, system: str) -> Iterator[str]:
    points = unit.glycol.points
    if not points:
        read = f"read {number_of(unit.glycol.not_converted, 'time')} in Brix, which does not give its strength"
        yield f"The glycol was {read if unit.glycol.not_converted else 'not measured'}."
        return
    last = f"Glycol {format_quantity(points[-1].strength, system)} on {points[-1].on}"
    margins = [each.margin for each in points if each.margin is not None]
    if margins:
        least = min(margins, key=lambda each: each.value)
        shown, wanted = (format_quantity(each, system) for each in (least, unit.glycol.least_margin))
        yield f"{last}; smallest margin to freezing {shown} (wanted: {wanted})."
    else:
        yield f"{last}; how far that is from freezing is not known."


def _condenser(unit: UnitSummary) -> Iterator[str]:
    grades = [each.as_found for each in unit.condenser if each.as_found]
    bad = sum(each in FOULED for each in grades)
    if bad:
        yield f"Condenser heavily fouled or blocked at {bad} of {number_of(len(grades), 'look')}."
    elif grades:
        yield f"Condenser never worse than lightly fouled ({number_of(len(grades), 'look')})."


def _split(unit: UnitSummary, system: str) -> Iterator[str]:
    splits = [(each.split, each.split_limit) for each in unit.condenser if each.split and each.split_limit]
    if splits:
        most, limit = (format_quantity(each, system) for each in max(splits, key=lambda pair: pair[0].value))
        yield f"It ran at most {most} over the air (limit {limit})."


def root_cause(found: CustomerRootCause) -> str:
    """What failed, what we think, what we do, in a sentence each; whose work was missing, and whether it worked."""
    after = f"Since then: {found.verdict}." if found.verdict else ""
    return " ".join(filter(None, (found.failed, found.think, found.ours, found.do, after)))


def action(each: Action, units: int) -> dict[str, str]:
    """An action as a line: which units, what, why and by when."""
    return {
        "units": "All units" if len(each.units) == units and units > 2 else _listed(each.units),
        "what": sentence(each.what),
        "why": _why(each),
        "by": f"By {each.by}." if each.by else "As soon as possible." if each.who == "we" else "",
    }


def _why(each: Action) -> str:
    times = len(each.why)
    if each.basis == "words":
        return f"Advised on {each.last}." if times == 1 else f"Advised {times} times, last on {each.last}."
    if each.basis == "overdue" and times > 1:
        return f"Overdue at {number_of(len(each.units), 'unit')}, the oldest since {each.first}."
    first = each.why[0].removeprefix(f"{each.units[0]}: ") if len(each.units) == 1 else each.why[0]
    more = "" if times == 1 else f" The same at {number_of(len(each.units) - 1, 'other unit')}."
    return f"{first[:1].upper()}{first[1:]}{more if len(each.units) > 1 else ''}"


def _listed(tags: tuple[str, ...]) -> str:
    return ", ".join(tags[:3]) + (f" and {len(tags) - 3} more" if len(tags) > 3 else "")


def months_between(first: date, last: date) -> list[tuple[int, int]]:
    """The months from one day to another, both included, as (year, month from 0)."""
    start, end = (day.year * 12 + day.month - 1 for day in (first, last))
    return [divmod(number, 12) for number in range(start, end + 1)]


def handed_out(summary: ServiceSummary) -> str:
    """When this year was handed out before, and whether its data have changed since."""
    if not summary.handed_out:
        return ""
    last = summary.handed_out[-1]
    since = "the data have changed since" if last.differs else "the data are the same"
    return f" Handed out before on {last.issued_at:%Y-%m-%d}; {since}."


def data(summary: ServiceSummary) -> str:
    """The records behind the figures, and where the rest is."""
    state = summary.data_state
    records = f"{number_of(state.visits, 'visit')} to {number_of(state.units, 'unit')} on record"
    return (
        f"{records}, as of {summary.as_of:%Y-%m-%d %H:%M} UTC; data {state.digest}; glycol-fleet "
        f"{summary.program_version}. The workbook and the CSV of this summary hold every visit, reading and definition."
        f"{handed_out(summary)}"
    )
