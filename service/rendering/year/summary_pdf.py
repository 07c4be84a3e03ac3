"""A service summary as a tagged PDF (PDF/UA-1) with its fonts embedded; the same data give the same bytes.

Text of the record reaches the typesetter as JSON, never as markup. It is compiled in this process: a child process
would cost a Python start each time, while the typesetter's own cache was measured to stop growing.
"""

import re
from collections.abc import Iterator
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import orjson

from service.domain.summary.document import Advice, ServiceSummary, UnitSummary
from service.domain.summary.sentences import FROM_ROOT_CAUSES
from service.rendering.year import summary_sentences as sentences
from service.rendering.year.charts import alternative, draw
from service.rendering.year.letters import FONTS, MISSING, isolated, legible
from service.rendering.year.summary_rows import tables, units_table
from service.rendering.year.tables import Cell, Column, Table
from service.rendering.year.unit_charts import charts

if TYPE_CHECKING:
    import typst

HERE = Path(__file__).parent
PAPERS = {"a4": "a4", "letter": "us-letter"}
USUAL = {"si": "a4", "us": "letter"}
UNKNOWN = "\u2013"
CAUTION = (
    "Glycol units have mains voltage, refrigerant under pressure, hot and moving parts, and may stand on roofs. Only "
    "trained people may work on them, licensed ones where the local code asks for a licence. The code and the maker's "
    "instructions come before this summary."
)
NARROW, WIDE = 7, 60
MOST_ADVICE = 280  # characters of advice on the first page; the unit's page has it whole
MOST_ON_FIRST_PAGE = 12


def render(summary: ServiceSummary, paper: str | None = None) -> bytes:
    """Typeset the summary on "a4" or "letter", or on what suits its units of measure; KeyError for another paper."""
    import typst

    document = orjson.dumps(legible(_document(summary)))
    squares = MISSING.encode() in document
    data = orjson.dumps(
        {"paper": PAPERS[paper or USUAL[summary.units_shown]], "squares": squares, **orjson.loads(document)}
    ).decode()
    source = HERE / "summary_pdf.typ"
    compiler = typst.Compiler(source, root=HERE, font_paths=_fonts(), sys_inputs={"data": data})
    made = compiler.compile(format="pdf", pdf_standards=["ua-1"], timestamp=int(summary.as_of.timestamp()))
    if not isinstance(made, bytes):
        raise TypeError("the typesetter gave no document")
    return made


@cache
def _fonts() -> "typst.Fonts":
    """The fonts of the folder and no others, so that every machine sets the same bytes."""
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])


def _document(summary: ServiceSummary) -> dict[str, Any]:
    headline, version = summary.headline, f"glycol-fleet {summary.program_version}"
    side_by_side = _table(units_table(summary))
    first_page = len(summary.units) <= MOST_ON_FIRST_PAGE
    return {
        "title": f"Service summary {summary.year}",
        "company": [isolated(line) for line in summary.company.lines],
        "customer": summary.customer_name,
        "period": f"{summary.first_day} to {summary.last_day}",
        "footer": f"Service summary {summary.year}, data {summary.data_state.digest[:12]}, {version}",
        "answer": headline.how_it_went,
        "figures": [{"text": each.text, "label": each.label, "more": ""} for each in headline.figures],
        "todo": [_shortened(what) for what in headline.what_to_do],
        "caution": CAUTION,
        "counted": sentences.counted(summary.visits_by_kind, summary.replaced),
        "numbers": [
            sentences.time_on_site(summary.time_on_site),
            sentences.pm(summary.pm),
            sentences.without(summary.without_cold_beer),
            sentences.parts(summary.replaced),
            *sentences.refrigerant(summary.refrigerant, summary.units_shown),
            *sentences.root_causes(summary.root_causes),
        ],
        "side_by_side": side_by_side if first_page and summary.units else None,
        "gaps": [each.sentence for each in summary.gaps],
        "units": [_unit(summary, unit) for unit in summary.units],
        "tables": [*([] if first_page else [side_by_side]), *_tables(summary)],
        "definitions": [{"term": each.term, "text": each.text} for each in summary.definitions],
        "rests": sentences.data(summary),
    }


def _shortened(text: str) -> str:
    return text if len(text) <= MOST_ADVICE else f"{text[:MOST_ADVICE].rstrip()} \u2026"


def _unit(summary: ServiceSummary, unit: UnitSummary) -> dict[str, Any]:
    about = (unit.site_name, unit.place, unit.maker, unit.model)
    since = [f"{what} {on}" for what, on in unit.days if on]
    return {
        "title": unit.tag,
        "about": ", ".join(isolated(part) for part in (*about, *since) if part),
        "figures": sentences.unit_figures(unit),
        "numbers": [
            sentences.visits(unit.visits_by_kind),
            sentences.time_on_site(unit.time_on_site),
            *sentences.refrigerant(unit.refrigerant, summary.units_shown),
        ],
        "causes": [sentences.root_cause(each) for each in unit.root_causes],
        "charts": [
            {"title": each.title, "svg": draw(each), "alt": alternative(each), "note": each.note}
            for each in charts(unit, summary)
            if not each.empty
        ],
        "advice": [_advised(each) for each in unit.advice],
        "gaps": [each.sentence for each in unit.gaps],
    }


def _advised(advice: Advice) -> str:
    """What to do and why; the reasons of a root cause are further down the page."""
    reason = "See the root causes." if advice.source == FROM_ROOT_CAUSES else advice.reason
    return f"{isolated(advice.what)} {reason}"


def _tables(summary: ServiceSummary) -> Iterator[dict[str, Any]]:
    for table in tables(summary):
        on_paper = table.part("paper")
        if on_paper.rows and on_paper.columns:
            yield _table(on_paper)


def _table(whole: Table) -> dict[str, Any]:
    table = whole.part("paper")
    heads = [re.sub(r" (\S{1,2})$", "\u00a0\\1", head) for head in table.heads]  # a unit of measure stays with its word
    rows = [[_cell(cell, column) for cell, column in zip(row, table.columns, strict=True)] for row in table.rows]
    return {
        "name": table.name,
        "heads": heads,
        "rows": rows,
        "numbers": [column.digits is not None for column in table.columns],
        "widths": [
            min(max(NARROW, *map(len, head.split(" ")), *(len(row[number]) for row in rows)), WIDE)
            for number, head in enumerate(heads)
        ]
        if rows
        else [],
    }


def _cell(cell: Cell, column: Column) -> str:
    if cell is None:
        return UNKNOWN
    if isinstance(cell, datetime):
        return f"{cell:%Y-%m-%d %H:%M}"
    if isinstance(cell, float):
        return f"{cell + 0.0:.{column.digits or 0}f}".replace("-", "\u2212")
    return cell.isoformat() if isinstance(cell, date) else str(cell)
