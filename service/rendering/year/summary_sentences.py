"""The sentences of a unit's page and of the plan; all words of the document that are not in the summary itself."""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date

from service.domain import messages
from service.domain.quantities import format_quantity
from service.domain.record.failed import is_failure
from service.domain.summary import spans
from service.domain.summary.actions import DANGER, WE
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.letter_lines import Action, CustomerRootCause
from service.domain.summary.lines import KindCount, PmCount, ReplacementCount
from service.domain.summary.root_causes import RESOLVED
from service.domain.summary.sentences import counted as number_of
from service.rendering.words import gettext, ngettext, worded
from service.rendering.year.tables import sentence, words
from service.rendering.year.unit_charts import FOULED, condenser_is_near, glycol_is_near

WHO = {"you": messages.gettext("You decide"), "we": messages.gettext("We will do")}


def counted(kinds: Iterable[KindCount], replaced: ReplacementCount) -> list[list[str]]:
    """Visits by kind and replacements, where there are any: what, by us, by others, in all."""
    visits = [(gettext("visits: {kind}", kind=words(each.kind)), each.ours, each.others) for each in kinds]
    rows = [*visits, (gettext("replacements"), replaced.ours, replaced.others)]
    return [[name, str(ours), str(others), str(ours + others)] for name, ours, others in rows if ours + others]


def of_unit(unit: UnitSummary) -> str:
    """How the year of a unit went, in a few short sentences."""
    return " ".join([*_visits(unit), *days_out(unit), _outages(unit), *_parts(unit), _maintained(unit.pm)])


def days_out(unit: UnitSummary) -> Iterator[str]:
    """When it was out of service, in a sentence each."""
    for each in unit.out_of_service:
        what = gettext("The site was closed") if each.of == "site" else gettext("Out of service")
        if each.last is None:
            yield gettext("{what} from {first} on.", what=what, first=each.first)
        elif each.first == each.last:
            yield gettext("{what} on {first}.", what=what, first=each.first)
        else:
            yield gettext("{what} from {first} to {last}.", what=what, first=each.first, last=each.last)


def _visits(unit: UnitSummary) -> Iterator[str]:
    ours, others = (sum(getattr(each, whose) for each in unit.visits_by_kind) for whose in ("ours", "others"))
    calls = sum(each.ours for each in unit.visits_by_kind if each.kind == "service_call")
    if not ours and not others:
        yield gettext("Nobody came.")
    if calls and calls == ours:
        yield ngettext(
            "{count} visit by us, because you called.", "{count} visits by us, all because you called.", ours
        )
    elif calls:
        yield ngettext(
            "{count} visit by us, {calls} because you called.", "{count} visits by us, {calls} because you called.",
            ours, calls=calls,
        )  # fmt: skip
    elif ours:
        yield ngettext("{count} visit by us.", "{count} visits by us.", ours)
    if others:
        yield ngettext(
            "{count} visit by others, as reported to us.", "{count} visits by others, as reported to us.", others
        )


def _outages(unit: UnitSummary) -> str:
    without = unit.without_cold_beer
    if not without.any:
        return gettext("No breakdown was reported.")
    what = ngettext("{count} breakdown", "{count} breakdowns", without.outages)
    if without.carried_over:
        more = gettext("{breakdowns} and one from before", breakdowns=what)
        what = more if without.outages else gettext("A breakdown from before")
    if not spans.is_known(without):
        return gettext("{breakdowns}; how long without cold beer is not known.", breakdowns=what)
    shown = {"breakdowns": what, "span": worded(spans.how_long(without))}
    how = ", ".join(map(worded, spans.how_sure(without)))
    if how:
        return gettext("{breakdowns}: {span} without cold beer, {how}.", how=how, **shown)
    return gettext("{breakdowns}: {span} without cold beer.", **shown)


def _parts(unit: UnitSummary) -> Iterator[str]:
    failed = Counter(each.kind.replace("_", " ") for each in unit.replacements if is_failure(each))
    if failed:
        listed = ", ".join(worded(number_of(times, kind)) for kind, times in failed.items())
        yield gettext("Failed: {parts}.", parts=listed)


def _maintained(pm: PmCount) -> str:
    if not pm.judged:
        if pm.first:
            return gettext("Maintenance: {count} done for the first time.", count=pm.first)
        return gettext("No maintenance was due.")
    undone, shown = pm.missed + pm.never_recorded, {"done": pm.on_time, "all": pm.judged}
    more = [gettext("{count} late", count=pm.late)] if pm.late else []
    more += [gettext("{count} not done", count=undone)] if undone else []
    if more:
        return gettext("Maintenance on time: {done} of {all} ({how}).", how=", ".join(more), **shown)
    return gettext("Maintenance on time: {done} of {all}.", **shown)


def measured(unit: UnitSummary, system: str, *, drawn: bool) -> str:
    """Glycol and condenser in a sentence each, where no chart shows them; `drawn` are those near a limit."""
    glycol = [] if drawn and glycol_is_near(unit) else _glycol(unit, system)
    split = [] if drawn and condenser_is_near(unit) else _split(unit, system)
    return " ".join([*glycol, *_condenser(unit), *split])


def _glycol(unit: UnitSummary, system: str) -> Iterator[str]:
    points = unit.glycol.points
    if not points:
        yield _unread(unit.glycol.not_converted)
        return
    last = {"strength": format_quantity(points[-1].strength, system), "day": points[-1].on}
    margins = [each.margin for each in points if each.margin is not None]
    if margins:
        least = min(margins, key=lambda each: each.value)
        shown, wanted = (format_quantity(each, system) for each in (least, unit.glycol.least_margin))
        yield gettext(
            "Glycol {strength} on {day}; smallest margin to freezing {margin} (wanted: {wanted}).",
            margin=shown, wanted=wanted, **last,
        )  # fmt: skip
    else:
        yield gettext("Glycol {strength} on {day}; how far that is from freezing is not known.", **last)


def _unread(times: int) -> str:
    if not times:
        return gettext("The glycol was not measured.")
    if times == 1:
        return gettext("The glycol was read once in Brix, which does not give its strength.")
    return ngettext(
        "The glycol was read {count} time in Brix, which does not give its strength.",
        "The glycol was read {count} times in Brix, which does not give its strength.",
        times,
    )


def _condenser(unit: UnitSummary) -> Iterator[str]:
    grades = [each.as_found for each in unit.condenser if each.as_found]
    bad = sum(each in FOULED for each in grades)
    if bad:
        yield ngettext(
            "Condenser heavily fouled or blocked at {bad} of {count} look.",
            "Condenser heavily fouled or blocked at {bad} of {count} looks.",
            len(grades), bad=bad,
        )  # fmt: skip
    elif grades:
        yield ngettext(
            "Condenser never worse than lightly fouled ({count} look).",
            "Condenser never worse than lightly fouled ({count} looks).",
            len(grades),
        )


def _split(unit: UnitSummary, system: str) -> Iterator[str]:
    splits = [(each.split, each.split_limit) for each in unit.condenser if each.split and each.split_limit]
    if splits:
        most, limit = (format_quantity(each, system) for each in max(splits, key=lambda pair: pair[0].value))
        yield gettext("It ran at most {most} over the air (limit {limit}).", most=most, limit=limit)


def root_cause(found: CustomerRootCause) -> str:
    """What failed, what we think, what we do, in a sentence each; whose work was missing, and whether it worked."""
    stands = found.verdict and found.state == RESOLVED  # one that returned is said to have failed since
    after = gettext("Since then: {verdict}.", verdict=found.verdict) if stands else ""
    return " ".join(filter(None, (found.failed, found.think, found.ours, found.do, after)))


def action(each: Action, units: int) -> dict[str, str]:
    """An action as a line: which units, what, why and by when."""
    return {
        "units": gettext("All units") if len(each.units) == units and units > 2 else _listed(each.units),
        "what": sentence(each.what),
        "why": _why(each),
        "by": _by(each),
    }


def _by(each: Action) -> str:
    """Danger and what is overdue wait for no day of the plan."""
    if each.basis == DANGER:
        return gettext("At once.")
    if each.who == WE and each.by is None:
        return gettext("As soon as possible.")
    return gettext("By {day}.", day=each.by) if each.by else ""


def _why(each: Action) -> str:
    times = len(each.why)
    if each.basis == "words":
        return ngettext("Advised on {day}.", "Advised {count} times, last on {day}.", times, day=each.last)
    if each.basis == "overdue" and times > 1:
        return ngettext(
            "Overdue at {count} unit, the oldest since {day}.", "Overdue at {count} units, the oldest since {day}.",
            len(each.units), day=each.first,
        )  # fmt: skip
    first = each.why[0].removeprefix(f"{each.units[0]}: ") if len(each.units) == 1 else each.why[0]
    first, others = f"{first[:1].upper()}{first[1:]}", len(each.units) - 1
    if times == 1 or not others:
        return first
    same = ngettext("The same at {count} other unit.", "The same at {count} other units.", others)
    return f"{first} {same}"


def _listed(tags: tuple[str, ...]) -> str:
    listed, more = ", ".join(tags[:3]), len(tags) - 3
    return gettext("{units} and {count} more", units=listed, count=more) if more > 0 else listed


def months_between(first: date, last: date) -> list[tuple[int, int]]:
    """The months from one day to another, both included, as (year, month from 0)."""
    start, end = (day.year * 12 + day.month - 1 for day in (first, last))
    return [divmod(number, 12) for number in range(start, end + 1)]


def handed_out(summary: ServiceSummary) -> str:
    """When this year was handed out before, and whether its data have changed since."""
    if not summary.handed_out:
        return ""
    last = summary.handed_out[-1]
    day = f"{last.issued_at:%Y-%m-%d}"
    if last.differs:
        return gettext("Handed out before on {day}; the data have changed since.", day=day)
    return gettext("Handed out before on {day}; the data are the same.", day=day)


def data(summary: ServiceSummary) -> str:
    """The records behind the figures, and where the rest is."""
    state = summary.data_state
    rests = gettext(
        "{visits} to {units} on record, as of {instant} UTC; data {digest}; glycol-fleet {version}. The workbook and "
        "the CSV of this summary hold every visit, reading and definition.",
        visits=ngettext("{count} visit", "{count} visits", state.visits),
        units=ngettext("{count} unit", "{count} units", state.units),
        instant=f"{summary.as_of:%Y-%m-%d %H:%M}",
        digest=state.digest,
        version=summary.program_version,
    )
    return " ".join(filter(None, (rests, handed_out(summary))))
