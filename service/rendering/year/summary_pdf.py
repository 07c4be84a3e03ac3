"""A service summary as a PDF: a letter, then the units."""

from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

from service.domain import messages
from service.domain.summary.actions import ROOT_CAUSE, WE, YOU
from service.domain.summary.document import HeadlineFigure, ServiceSummary, UnitSummary
from service.domain.summary.letter_lines import Action
from service.rendering.words import gettext, ngettext, term, worded
from service.rendering.year import summary_sentences as sentences
from service.rendering.year.chart import Chart, alternative
from service.rendering.year.charts import draw
from service.rendering.year.letters import isolated, shortened
from service.rendering.year.plan_strip import quiet_table, strips
from service.rendering.year.tables import words
from service.rendering.year.typeset import PAPERS, typeset
from service.rendering.year.unit_charts import charts, condenser_is_near, glycol_is_near, time_line

HERE = Path(__file__).parent
USUAL = {"si": "a4", "us": "letter"}
UNKNOWN = "\u2013"
CAUTION = messages.gettext(
    "Glycol units have mains voltage, refrigerant under pressure, hot and moving parts, and may stand on roofs. Only "
    "trained people may work on them, licensed ones where the local code asks for a licence. The code and the maker's "
    "instructions come before this summary."
)
MOST_LINES, LONGEST, MOST_GAPS = 4, 200, 8
MANY = 8  # units from which a page holds several, without the charts of temperatures
ON_PAPER = (
    "Hours without cold beer", "Seen, estimated", "On time, late", "Missed", "Freezing margin", "Condenser split",
    "Plan",
)  # fmt: skip


def render(summary: ServiceSummary, paper: str | None = None) -> bytes:
    """Typeset the summary on "a4" or "letter", or on what suits its units of measure; KeyError for another paper."""
    shown = PAPERS[paper or USUAL[summary.units_shown]]
    return typeset(HERE / "summary_pdf.typ", _document(summary) | {"paper": shown}, int(summary.as_of.timestamp()))


def _document(summary: ServiceSummary) -> dict[str, Any]:
    sender, many = summary.company, len(summary.units) > MANY
    busy = [unit for unit in summary.units if not is_quiet(unit, many=many)]
    title = gettext("Your beer cooling in {year}", year=summary.year)
    return {
        "title": title,
        "name": f"{title}: {summary.customer_name}",
        "author": sender.name or "",
        "company": [isolated(line) for line in sender.lines],
        "customer": summary.customer_name,
        "dated": gettext("{since} to {until}", since=summary.first_day, until=summary.last_day),
        "footer": " \u00b7 ".join(isolated(each) for each in (sender.name, summary.customer_name, title) if each),
        "answer": summary.headline.how_it_went,
        "figures": [_figure(each) for each in summary.headline.figures],
        "done": summary.done[:MOST_LINES],
        **_to_do(summary),
        "next": _next(summary),
        "signed": _signed(summary),
        "heads": _heads(summary),
        "units": [_unit(summary, unit, many=len(busy) > MANY) for unit in busy],
        "quiet": quiet_table([unit for unit in summary.units if is_quiet(unit, many=many)], summary.units_shown),
        "plan_title": gettext("The next twelve months, from {day}", day=summary.plan_from),
        "plan_note": gettext(
            "How often tasks come due in each month at all units, if each is done on its day; * due already."
        ),
        "strips": strips(summary),
        "gaps": _gaps(summary),
        "definitions": _definitions(summary),
        "caution": worded(CAUTION),
        "rests": sentences.data(summary),
    }


def _heads(summary: ServiceSummary) -> dict[str, str]:
    """The headings, and what stands below those without lines."""
    planned = any(unit.plan for unit in summary.units)
    return {
        "done": gettext("What we did"),
        "nothing_done": gettext("Nothing is recorded."),
        "decide": gettext("What you decide"),
        "nothing_to_decide": gettext("Nothing."),
        "work": gettext("What we will do next"),
        "no_work": gettext("What the plan below asks for.") if planned else gettext("Nothing."),
        "units": gettext("Unit by unit"),
        "gaps": gettext("What is not known"),
        "definitions": gettext("What the figures mean"),
    }


def _definitions(summary: ServiceSummary) -> list[list[dict[str, str]]]:
    """The terms that the document uses, in two columns about as long; all of them stand in the workbook."""
    wanted = set(map(term, ON_PAPER))
    shown = [{"term": each.term, "text": each.text} for each in summary.definitions if each.term in wanted]
    whole = sum(len(each["text"]) for each in shown)
    parts = (part for count in range(len(shown) + 1) for part in combinations(shown, count))
    left = min(parts, key=lambda part: abs(2 * sum(len(each["text"]) for each in part) - whole))
    return [list(left), [each for each in shown if each not in left]]


def is_quiet(unit: UnitSummary, *, many: bool) -> bool:
    """Whether there is so little to report of a unit that it shares a table with others.

    Of many units nothing measured is drawn, so that the table says what came near a limit as well.
    """
    cold = unit.without_cold_beer
    trouble = cold.outages + cold.carried_over + unit.replaced.failed + len(unit.root_causes)
    return not trouble and (many or not (glycol_is_near(unit) or condenser_is_near(unit)))


def _figure(figure: HeadlineFigure) -> dict[str, str]:
    return {"text": figure.text, "label": figure.label, "more": figure.more}


def _to_do(summary: ServiceSummary) -> dict[str, Any]:
    yours = [each for each in summary.actions if each.who == YOU]
    ours = [each for each in summary.actions if each.who == WE]
    return {
        "decide": _lines(yours, summary),
        "decide_more": _more(yours),
        "work": _lines(ours, summary),
        "work_more": _more(ours),
    }


def _more(found: Sequence[Action], most: int = MOST_LINES) -> str:
    left_out = len(found) - most
    return gettext("And {count} more: the workbook lists all.", count=left_out) if left_out > 0 else ""


def _lines(found: Sequence[Action], summary: ServiceSummary) -> list[dict[str, str]]:
    return [_shortened(sentences.action(each, len(summary.units))) for each in found[:MOST_LINES]]


def _shortened(line: dict[str, str]) -> dict[str, str]:
    return {name: shortened(text, LONGEST) for name, text in line.items()}


def _next(summary: ServiceSummary) -> str:
    """When we come next, by the plan."""
    lines = [line for unit in summary.units for line in unit.plan]
    days = [day for line in lines for day in line.due_on if day >= max(summary.plan_from, summary.as_of.date())]
    if not days:
        return ""
    if any(line.overdue for line in lines):
        return gettext(
            "Work that is due already comes first; the next maintenance after it is due on {day}. The last pages show "
            "twelve months.",
            day=min(days),
        )
    return gettext("Our next maintenance is due on {day}. The last pages show twelve months.", day=min(days))


def _signed(summary: ServiceSummary) -> str:
    """Who writes, and whom to call."""
    sender = summary.company
    by = ", ".join(isolated(each) for each in (summary.technician, sender.name) if each)
    call = gettext("Call us: {phone}.", phone=isolated(sender.phone)) if sender.phone else ""
    return " ".join(filter(None, (f"{by}." if by else "", call)))


def _unit(summary: ServiceSummary, unit: UnitSummary, *, many: bool) -> dict[str, Any]:
    about = (unit.site_name, unit.place, unit.maker, unit.model)
    since = [f"{term(what)} {on}" for what, on in unit.days if on]
    own = [each for each in unit.actions if (each.who, each.basis) != (WE, ROOT_CAUSE)]
    own.sort(key=lambda each: each.who != YOU)  # what the customer decides is not to fall off behind our own work
    most = MOST_LINES - 1 if many else MOST_LINES
    made = {
        "title": unit.tag,
        "about": ", ".join(isolated(part) for part in (*about, *since) if part),
        "went": sentences.of_unit(unit),
        "measured": sentences.measured(unit, summary.units_shown, drawn=not many),
        "time_line": _picture(time_line(unit, summary)),
        "charts": [] if many else [_picture(each) for each in charts(unit, summary)],
        "causes": [
            {"title": (words(each.kind) or "").capitalize(), "text": sentences.root_cause(each)}
            for each in unit.root_causes
        ],
        "actions": [_of_unit(each) for each in own[:most]],
        "actions_more": _more(own, most),
    }
    tall = len(made["about"]) > LONGEST
    return made | {"tall": tall, "long": not many or tall}


def _of_unit(action: Action) -> dict[str, str]:
    """A line of a unit's own; what a root cause asks for has its reason above."""
    line = _shortened(sentences.action(action, 0)) | {"who": worded(sentences.WHO[action.who])}
    return line | {"why": ""} if action.basis == ROOT_CAUSE else line


def _picture(chart: Chart) -> dict[str, str]:
    return {"title": chart.title, "svg": draw(chart), "alt": alternative(chart)}


def _gaps(summary: ServiceSummary) -> list[str]:
    """Those of the whole, and how many units have each of the others."""
    shared: dict[str, list[str]] = {}
    for unit in summary.units:
        for gap in unit.gaps:
            tags = shared.setdefault(gap.sentence, [])
            tags += [unit.tag] if unit.tag not in tags else []  # one that was moved has a part for each stay
    ranked = sorted(shared.items(), key=lambda each: (-len(each[1]), each[0]))[:MOST_GAPS]
    whole = [each.sentence for each in summary.gaps]
    return [*whole, *(f"{_whose(tags)}: {text}" for text, tags in ranked)]


def _whose(tags: Sequence[str]) -> str:
    return tags[0] if len(tags) == 1 else ngettext("{count} unit", "{count} units", len(tags))
