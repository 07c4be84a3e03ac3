"""The fleet's year as a tagged PDF (PDF/UA-1) with its fonts embedded; the same year gives the same bytes.

Text of the record reaches the typesetter as JSON, never as markup.
"""

from collections.abc import Iterable
from datetime import date
from typing import Any

import orjson

from service.domain.summary.fleet_lines import CaseLine
from service.domain.summary.fleet_year import FleetYear
from service.domain.summary.words import HOUR, told_hours
from service.rendering.year.fleet_charts import Picture, bars, curves
from service.rendering.year.fleet_tables import TITLES, Cell, Sheet, on_paper
from service.rendering.year.letters import FONTS, MISSING, isolated, legible
from service.rendering.year.summary_pdf import HERE, PAPERS, UNKNOWN
from service.rendering.year.summary_sentences import counted
from service.rendering.year.tables import words

USUAL = "letter"  # as the units are US customary ones unless told
MOST_ROWS, MOST_TAGS = 15, 60
NARROW, WIDE, TALL, LONGEST = 8, 28, 60, 120
NOTES = {
    TITLES[
        "models"
    ]: "Failures while watched, with the exact limits at 95 %; a maker's line without a model holds all its models.",
    TITLES[
        "kinds"
    ]: "Failures a unit-year of the units that have such a component, this year with the exact limits at 95 %.",
    TITLES["causes"]: "A visit may count under several causes.",
}
WITHOUT_VISIT, NEW, RETIRED = "Units without a visit of ours", "New units", "Retired units"


def render(year: FleetYear, paper: str | None = None) -> bytes:
    """Typeset the year on "letter" or, when told, on "a4"; raises KeyError for another paper."""
    import typst

    document = legible(_document(year))
    squares = MISSING.encode() in orjson.dumps(document)
    data = orjson.dumps(document | {"paper": PAPERS[paper or USUAL], "squares": squares}).decode()
    made = typst.compile(
        HERE / "fleet_pdf.typ",
        root=HERE,
        font_paths=[FONTS],
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"data": data},
        pdf_standards=["ua-1"],
        timestamp=int(year.as_of.timestamp()),
    )
    if not isinstance(made, bytes):
        raise TypeError("the typesetter gave no document")
    return made


def _document(year: FleetYear) -> dict[str, Any]:
    told, state = year.headline, year.data_state
    drawn = bars(year)
    return {
        "title": f"The fleet's year {year.year}",
        "period": f"{_day(year.first_day)} to {_day(year.last_day)}",
        "footer": f"The fleet's year {year.year}, data {state.digest[:12]}, glycol-fleet {year.program_version}",
        "answer": told.how_it_went,
        "figures": [{"told": each.told, "label": each.label} for each in told.figures],
        "todo": told.what_to_do,
        "counted": counted(year.visits_by_kind, year.replaced),
        "numbers": list(_numbers(year)),
        "gaps": [each.sentence for each in year.gaps],
        "bars": [] if drawn is None else [_picture(drawn)],
        "costs": [_table(on_paper(year, name)) for name in ("customers", "sites", "units")],
        "why": [_table(on_paper(year, name)) for name in ("parts", "causes")],
        "pm": [_table(on_paper(year, "tasks"))],
        "rates": [_table(on_paper(year, name)) for name in ("models", "kinds")],
        "curves": [_picture(each) for each in curves(year)],
        "cases": [_table(_case_counts(year)), _table(on_paper(year, "cases"))],
        "decisions": [_decision(case) for case in year.cases[:MOST_ROWS] if case.why],
        "lists": [
            _list(name, tags)
            for name, tags in ((WITHOUT_VISIT, year.unvisited), (NEW, year.new_units), (RETIRED, year.retired_units))
        ],
        "definitions": [{"term": each.term, "text": each.text} for each in year.definitions],
        "rests": f"{state.visits} visits and {state.units} units, as of {year.as_of:%Y-%m-%d %H:%M} UTC; state of the "
        f"data {state.digest}; glycol-fleet {year.program_version}.",
    }


def _numbers(year: FleetYear) -> Iterable[str]:
    parts, pm, cold = year.replaced, year.pm, year.without_cold_beer
    yield f"Units in service: {year.units_in_service}, watched for {year.unit_years:.1f} unit-years."
    yield f"Hours on site of our visits: {year.hours_on_site.value / HOUR:.1f} h."
    yield (
        f"Replacements: failed {parts.failed}, precaution {parts.precaution}, upgrade {parts.upgrade}, reason unknown "
        f"{parts.unknown}; seen by us {parts.seen}, reported to us {parts.reported}."
    )
    yield (
        f"PM: on time {pm.on_time}, late {pm.late}, missed {pm.missed}, first on record {pm.first}, never recorded "
        f"{pm.never_recorded}."
    )
    yield f"Without cold beer: {told_hours(cold)} in {cold.outages} outages."


def _case_counts(year: FleetYear) -> Sheet:
    rows = tuple((each.tier, each.open, each.confirmed, each.dismissed, each.resolved) for each in year.case_counts)
    return Sheet(
        "Root-cause candidates by tier and state", ("Tier", "Open", "Confirmed", "Dismissed", "Resolved"), rows
    )


def _decision(case: CaseLine) -> str:
    """A case that came back is open and keeps who decided on it before, and why."""
    state = "open again, decided before" if case.state == "open" else case.state
    return f"{case.unit}, {words(case.kind)}: {state} by {isolated(case.decided_by or '')}. {isolated(case.why or '')}"


def _picture(drawn: Picture) -> dict[str, str]:
    return {"title": drawn.title, "svg": drawn.svg, "alt": drawn.alt}


def _list(name: str, tags: tuple[str, ...]) -> dict[str, str]:
    more = f" and {len(tags) - MOST_TAGS} more" if len(tags) > MOST_TAGS else ""
    return {"name": f"{name}: {len(tags)}", "tags": ", ".join(tags[:MOST_TAGS]) + more}


def _table(sheet: Sheet) -> dict[str, Any]:
    """The first rows; how many more there are is said below. Widths are in letters."""
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


def _day(on: date) -> str:
    return f"{on.day} {on:%b %Y}"
