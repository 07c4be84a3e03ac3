"""The fleet year as a PDF."""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import date
from typing import Any

from service.domain import messages
from service.domain.summary.fleet import FleetYear
from service.domain.summary.fleet_lines import FleetRootCause
from service.domain.summary.fleet_sentences import without_cold_beer
from service.domain.summary.spans import HOUR
from service.rendering.words import gettext, worded
from service.rendering.year.fleet_charts import Picture, bars, curves
from service.rendering.year.fleet_tables import TITLES, Cell, Sheet, on_paper, sheet_of
from service.rendering.year.letters import isolated
from service.rendering.year.summary_pdf import HERE, UNKNOWN
from service.rendering.year.summary_sentences import counted
from service.rendering.year.tables import words
from service.rendering.year.typeset import PAPERS, typeset

USUAL = "letter"  # as the units of measure are US customary
MOST_ROWS, MOST_TAGS = 15, 60
NARROW, WIDE, TALL, LONGEST = 8, 28, 60, 120
NOTES = {
    TITLES["models"]: messages.gettext(
        "Failures while watched, with the exact limits at 95 %; a maker's row without a model is for all its models."
    ),
    TITLES["kinds"]: messages.gettext(
        "Failures per unit-year of the units that have such a component; this year with the exact limits at 95 %."
    ),
    TITLES["causes"]: messages.gettext("A visit may count under several causes."),
}
WITHOUT_VISIT, NEW, RETIRED = (
    messages.gettext("Units without a visit by us: {count}"),
    messages.gettext("New units: {count}"),
    messages.gettext("Retired units: {count}"),
)


def render(year: FleetYear, paper: str | None = None) -> bytes:
    """Typeset the year on "letter" or "a4", by default "letter"; KeyError for another paper."""
    shown = PAPERS[paper or USUAL]
    return typeset(HERE / "fleet_pdf.typ", _document(year) | {"paper": shown}, int(year.as_of.timestamp()))


def _document(year: FleetYear) -> dict[str, Any]:
    headline, state = year.headline, year.data_state
    drawn, title = bars(year), gettext("Fleet year {year}", year=year.year)
    return {
        "title": title,
        "heads": _heads(),
        "period": gettext("{since} to {until}", since=year.first_day, until=year.last_day),
        "footer": gettext(
            "{title}, data {digest}, glycol-fleet {version}",
            title=title, digest=state.digest[:12], version=year.program_version,
        ),
        "answer": headline.how_it_went,
        "figures": [{"text": each.text, "label": each.label} for each in headline.figures],
        "todo": headline.what_to_do,
        "counted": counted(year.visits_by_kind, year.replaced),
        "numbers": list(_numbers(year)),
        "gaps": [each.sentence for each in year.gaps],
        "bars": [] if drawn is None else [_picture(drawn)],
        "costs": [_table(on_paper(year, name)) for name in ("customers", "sites", "units")],
        "why": [_table(on_paper(year, name)) for name in ("parts", "causes")],
        "pm": [_table(on_paper(year, name)) for name in ("missed", "tasks")],
        "rates": [_table(on_paper(year, name)) for name in ("models", "kinds")],
        "curves": [_picture(each) for each in curves(year)],
        "root_causes": [_table(_tiers(year)), _table(on_paper(year, "root_causes"))],
        "came_of_it": [_table(on_paper(year, "decisions"))] if year.decisions else [],
        "decisions": [_decision(each) for each in year.root_causes[:MOST_ROWS] if each.why],
        "lists": [
            _list(name, tags)
            for name, tags in ((WITHOUT_VISIT, year.unvisited), (NEW, year.new_units), (RETIRED, year.retired_units))
        ],
        "definitions": [{"term": each.term, "text": each.text} for each in year.definitions],
        "rests": gettext(
            "{visits} visits and {units} units, as of {instant} UTC; data {digest}; glycol-fleet {version}.",
            visits=state.visits, units=state.units, instant=f"{year.as_of:%Y-%m-%d %H:%M}", digest=state.digest,
            version=year.program_version,
        ),
    }  # fmt: skip


def _heads() -> dict[str, Any]:
    """The headings, and what stands where there is nothing."""
    return {
        "went": gettext("How the year went"),
        "todo": gettext("What to look at"),
        "nothing": gettext("Nothing."),
        "numbers": gettext("The year in numbers"),
        "counted": [gettext("Counted"), gettext("by us"), gettext("by others"), gettext("in all")],
        "gaps": gettext("What is not known"),
        "costs": gettext("Hours to repair"),
        "pm": gettext("PM over the fleet"),
        "why": gettext("What took most visits"),
        "rates": gettext("Failures against the time watched"),
        "curves": gettext("Replacements by age"),
        "mean": gettext("The mean cumulative number of items put in per unit"),
        "band": gettext(
            "Grey: where the mean of those failed lies with 95 % confidence; where few units were watched it reaches "
            "beyond the picture."
        ),
        "root_causes": gettext("Root causes, and the units themselves"),
        "decisions": gettext("What was decided, and why"),
        "none": gettext("None."),
        "definitions": gettext("Definitions"),
        "data": gettext("Data"),
    }


def _numbers(year: FleetYear) -> Iterable[str]:
    parts, pm, cold = year.replaced, year.pm, year.without_cold_beer
    yield gettext(
        "Units in service: {units}, watched for {years} unit-years.",
        units=year.units_in_service, years=f"{year.unit_years:.1f}",
    )  # fmt: skip
    yield gettext("Time on site at our visits: {hours} h.", hours=f"{year.hours_on_site.value / HOUR:.1f}")
    yield gettext(
        "Replacements: failed {failed}, precaution {precaution}, upgrade {upgrade}, reason unknown {unknown}; seen by "
        "us {seen}, reported to us {reported}.", **asdict(parts),
    )  # fmt: skip
    yield gettext(
        "PM: on time {on_time}, late {late}, missed {missed}, first on record {first}, never recorded "
        "{never_recorded}.", **asdict(pm),
    )  # fmt: skip
    shown = {"count": cold.outages, "hours": worded(without_cold_beer(cold, year.visits_by_kind))}
    if cold.carried_over:
        yield gettext(
            "Without cold beer in {count} outages and {more} from before: {hours}.", more=cold.carried_over, **shown
        )
    else:
        yield gettext("Without cold beer in {count} outages: {hours}.", **shown)


def _tiers(year: FleetYear) -> Sheet:
    rows = tuple(
        (words(each.tier), each.open, each.confirmed, each.dismissed, each.resolved) for each in year.root_cause_tiers
    )
    return sheet_of("Root causes by tier and state", ("Tier", "Open", "Confirmed", "Dismissed", "Resolved"), rows)


def _decision(found: FleetRootCause) -> str:
    """A root cause that came back is open and keeps who decided on it before, and why."""
    state = gettext("open again, decided before") if found.state == "open" else words(found.state)
    by, why = isolated(found.decided_by or ""), isolated(found.why or "")
    return gettext(
        "{unit}, {kind}: {state} by {name}. {why}",
        unit=found.unit, kind=words(found.kind), state=state, name=by, why=why,
    )  # fmt: skip


def _picture(drawn: Picture) -> dict[str, str]:
    return {"title": drawn.title, "svg": drawn.svg, "alt": drawn.alt}


def _list(name: str, tags: tuple[str, ...]) -> dict[str, str]:
    listed, more = ", ".join(tags[:MOST_TAGS]), len(tags) - MOST_TAGS
    listed = gettext("{units} and {count} more", units=listed, count=more) if more > 0 else listed
    return {"name": worded(name).format(count=len(tags)), "tags": listed}


def _table(sheet: Sheet) -> dict[str, Any]:
    """The first rows, and how many more there are. Widths are in letters."""
    rows = [[_cell(cell) for cell in row] for row in sheet.rows[:MOST_ROWS]]
    left_out = len(sheet.rows) - len(rows)
    numbers = [all(map(_is_number, column)) for column in zip(*rows, strict=True)]
    longest = [max(map(len, column)) for column in zip(*rows, strict=True)]
    heads = [worded(head) for head in sheet.heads]
    return {
        "name": worded(sheet.name),
        "heads": heads,
        "rows": rows,
        "numbers": numbers,
        "widths": [
            max(longest[n], 5, *map(len, head.split())) if numbers[n] else min(max(longest[n], len(head), NARROW), WIDE)
            for n, head in enumerate(heads)
        ]
        if rows
        else [],
        "note": worded(NOTES.get(sheet.name, "")),
        "tall": max(longest, default=0) > TALL,
        "more": gettext("and {count} more, in the workbook and the CSV", count=left_out) if left_out else "",
    }


def _cell(cell: Cell) -> str:
    if cell is None:
        return UNKNOWN
    text = cell.isoformat() if isinstance(cell, date) else str(cell)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}\u2026"


def _is_number(text: str) -> bool:
    return text == UNKNOWN or text.replace(".", "", 1).isdecimal()
