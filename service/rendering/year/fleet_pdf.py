"""The fleet year as a PDF."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from service.domain.summary.fleet import FleetYear
from service.domain.summary.fleet_lines import FleetRootCause
from service.domain.summary.sentences import HOUR, hours_range
from service.rendering.year.fleet_charts import Picture, bars, curves
from service.rendering.year.fleet_tables import TITLES, Cell, Sheet, on_paper
from service.rendering.year.letters import isolated
from service.rendering.year.summary_pdf import HERE, UNKNOWN
from service.rendering.year.summary_sentences import counted
from service.rendering.year.tables import words
from service.rendering.year.typeset import PAPERS, typeset

USUAL = "letter"  # as the units of measure are US customary
MOST_ROWS, MOST_TAGS = 15, 60
NARROW, WIDE, TALL, LONGEST = 8, 28, 60, 120
NOTES = {
    TITLES[
        "models"
    ]: "Failures while watched, with the exact limits at 95 %; a maker's row without a model is for all its models.",
    TITLES[
        "kinds"
    ]: "Failures per unit-year of the units that have such a component; this year with the exact limits at 95 %.",
    TITLES["causes"]: "A visit may count under several causes.",
}
WITHOUT_VISIT, NEW, RETIRED = "Units without a visit by us", "New units", "Retired units"


def render(year: FleetYear, paper: str | None = None) -> bytes:
    """Typeset the year on "letter" or "a4", by default "letter"; KeyError for another paper."""
    shown = PAPERS[paper or USUAL]
    return typeset(HERE / "fleet_pdf.typ", _document(year) | {"paper": shown}, int(year.as_of.timestamp()))


def _document(year: FleetYear) -> dict[str, Any]:
    headline, state = year.headline, year.data_state
    drawn = bars(year)
    return {
        "title": f"Fleet year {year.year}",
        "period": f"{year.first_day} to {year.last_day}",
        "footer": f"Fleet year {year.year}, data {state.digest[:12]}, glycol-fleet {year.program_version}",
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
        "rests": f"{state.visits} visits and {state.units} units, as of {year.as_of:%Y-%m-%d %H:%M} UTC; data "
        f"{state.digest}; glycol-fleet {year.program_version}.",
    }


def _numbers(year: FleetYear) -> Iterable[str]:
    parts, pm, cold = year.replaced, year.pm, year.without_cold_beer
    yield f"Units in service: {year.units_in_service}, watched for {year.unit_years:.1f} unit-years."
    yield f"Time on site at our visits: {year.hours_on_site.value / HOUR:.1f} h."
    yield (
        f"Replacements: failed {parts.failed}, precaution {parts.precaution}, upgrade {parts.upgrade}, reason unknown "
        f"{parts.unknown}; seen by us {parts.seen}, reported to us {parts.reported}."
    )
    yield (
        f"PM: on time {pm.on_time}, late {pm.late}, missed {pm.missed}, first on record {pm.first}, never recorded "
        f"{pm.never_recorded}."
    )
    yield f"Without cold beer: {hours_range(cold)} in {cold.outages} outages."


def _tiers(year: FleetYear) -> Sheet:
    rows = tuple(
        (each.tier, each.open, each.confirmed, each.dismissed, each.resolved) for each in year.root_cause_tiers
    )
    return Sheet("Root causes by tier and state", ("Tier", "Open", "Confirmed", "Dismissed", "Resolved"), rows)


def _decision(found: FleetRootCause) -> str:
    """A root cause that came back is open and keeps who decided on it before, and why."""
    state = "open again, decided before" if found.state == "open" else found.state
    by, why = isolated(found.decided_by or ""), isolated(found.why or "")
    return f"{found.unit}, {words(found.kind)}: {state} by {by}. {why}"


def _picture(drawn: Picture) -> dict[str, str]:
    return {"title": drawn.title, "svg": drawn.svg, "alt": drawn.alt}


def _list(name: str, tags: tuple[str, ...]) -> dict[str, str]:
    more = f" and {len(tags) - MOST_TAGS} more" if len(tags) > MOST_TAGS else ""
    return {"name": f"{name}: {len(tags)}", "tags": ", ".join(tags[:MOST_TAGS]) + more}


def _table(sheet: Sheet) -> dict[str, Any]:
    """The first rows, and how many more there are. Widths are in letters."""
    rows = [[_cell(cell) for cell in row] for row in sheet.rows[:MOST_ROWS]]
    left_out = len(sheet.rows) - len(rows)
    numbers = [all(map(_is_number, column)) for column in zip(*rows, strict=True)]
    longest = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return {
        "name": sheet.name,
        "heads": sheet.heads,
        "rows": rows,
        "numbers": numbers,
        "widths": [
            max(longest[n], 5, *map(len, head.split())) if numbers[n] else min(max(longest[n], len(head), NARROW), WIDE)
            for n, head in enumerate(sheet.heads)
        ]
        if rows
        else [],
        "note": NOTES.get(sheet.name, ""),
        "tall": max(longest, default=0) > TALL,
        "more": f"and {left_out} more, in the workbook and the CSV" if left_out else "",
    }


def _cell(cell: Cell) -> str:
    if cell is None:
        return UNKNOWN
    text = cell.isoformat() if isinstance(cell, date) else str(cell)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}\u2026"


def _is_number(text: str) -> bool:
    return text == UNKNOWN or text.replace(".", "", 1).isdecimal()
