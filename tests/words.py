"""The catalogue of the words of the documents, from what is marked and from the terms: `python -m tests.words`.

It writes `service/rendering/words/documents.pot`, and brings every `.po` file beside it up to date.
"""

from collections.abc import Iterable, Iterator
from dataclasses import fields
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from service.domain.condition import drifting, figures
from service.domain.maintenance import due_sentences, interval_words
from service.domain.maintenance.calendar_days import WEEKDAYS
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.messages import TERM
from service.domain.record import visits
from service.domain.record.company import Letterhead
from service.domain.record.fleet import COMPONENT_KINDS, SURROUNDINGS
from service.domain.record.readings import READING_KINDS
from service.domain.root_causes import life_cycle
from service.domain.root_causes.found import TIERS
from service.domain.summary import (
    actions,
    customer_words,
    definitions,
    fleet_decisions,
    fleet_lines,
    fleet_sentences,
    letter,
    lines,
    outages,
    series,
    witnesses,
)
from service.domain.summary.letter_lines import YearBefore
from service.domain.summary.sentences import plural_of
from service.rendering.words import FOLDER
from service.rendering.year import (
    charts,
    fleet_csv,
    fleet_tables,
    summary_csv,
    summary_pdf,
    summary_rows,
    summary_xlsx_charts,
    unit_charts,
)

ROOT = Path(__file__).parents[1]
TEMPLATE = FOLDER / "documents.pot"
WRITTEN = datetime(2026, 1, 1, tzinfo=UTC)  # fixed, so that the same words give the same file
MARKS = {"gettext": None, "ngettext": (1, 2)}
MARKERS = ("domain/messages.py", "rendering/words/__init__.py")  # they hand on what others mark
CODES = (
    *visits.KINDS, *visits.OUTCOMES, *visits.BY, *visits.EVIDENCE, *visits.MOMENTS, *visits.REASONS, *visits.SYMPTOMS,
    *visits.FOULING.values(), *visits.CONDITIONS, *visits.OBSERVATIONS, *COMPONENT_KINDS,
    *(kind.quantity for kind in READING_KINDS), *lines.PM_STATES, *actions.BASES, *outages.WHY, *life_cycle.STATES,
    *series.REFRIGERANT.values(), *letter.SMALL, witnesses.CALL, witnesses.COMPLAINT, witnesses.FOUND,
    witnesses.READING, witnesses.OUTCOME, life_cycle.IT_WORKED, life_cycle.STILL_FAILING, life_cycle.TOO_EARLY,
    fleet_lines.MORE, fleet_lines.FEWER, fleet_lines.ALIKE, fleet_lines.TOO_FEW, fleet_lines.BY_ROOT_CAUSE,
    fleet_lines.BY_CONDITION, fleet_lines.BY_COMPLAINT, fleet_lines.FAILED_ONLY, fleet_lines.ALL_REASONS,
    fleet_decisions.FAILED_AGAIN, fleet_decisions.QUIET, *customer_words.CAUSES, *TIERS,
    *SURROUNDINGS, *WEEKDAYS, *due_sentences.CLOSED,
)  # fmt: skip
ROWS = (lines.PmCount, lines.ReplacementCount, lines.RootCauseCount, YearBefore, Letterhead)


def template() -> Catalog:
    """The template with every message and term."""
    made = Catalog(project="glycol-fleet", creation_date=WRITTEN, revision_date=WRITTEN, charset="utf-8")
    for marks, context in ((MARKS, None), ({"term": None}, TERM)):
        for file, _, message, _, _ in extract_from_dir(ROOT / "service", keywords=marks):
            if file not in MARKERS:
                made.add(message, context=context)
    for plural in (
        *map(plural_of, (kind.replace("_", " ") for kind in COMPONENT_KINDS)),
        *interval_words.INTERVALS.values(),
    ):
        made.add(plural)
    for each in terms():
        made.add(each.replace("_", " "), context=TERM)
    return made


def terms() -> Iterator[str]:
    """Names and codes as the documents show them: alone, and at the beginning or within a sentence."""
    for code in CODES:
        yield from (code, code.removesuffix("_at_tap"), code.replace("_", " ").capitalize())
    for task in CATALOGUE:
        yield from (task.name, task.name.lower())
    yield from (each.name for each in drifting.FIGURES)
    for each in (*definitions.DEFINITIONS, *fleet_sentences.DEFINITIONS):
        yield from (each.term, each.text)
    known, assumed = customer_words.CAUSES.values(), customer_words.ASSUMED.values()
    causes = (*known, *assumed, customer_words.CONDENSER_NOT_OURS)
    yield from (actions.imperative(each.do) for each in causes)
    yield from _of_charts()
    for head in _heads():
        yield from (head, head.lower())


def _heads() -> Iterator[str]:
    """The names of tables, columns and rows."""
    for name, columns, _ in summary_rows._TABLES:
        yield from (name, *_english(columns))
    yield from (*_english(summary_rows._UNIT_COLUMNS), *summary_rows.TO_DO)
    for kind in (*ROWS, *(kind for kind, _ in summary_csv.TABLES.values())):
        yield from (field.name for field in fields(kind))
    for name, (kind, _) in fleet_csv.ROWS.items():
        yield from (fleet_tables.TITLES[name], *map(fleet_tables._head, fleet_tables._names(name)))
        yield from (
            *(column.head for column in fleet_tables.ON_PAPER.get(name, ())),
            *(each.name for each in fields(kind)),
        )
    yield from (fleet_tables.TITLES[fleet_csv.CURVES], *fleet_tables.OF_CURVES, *fleet_csv.columns(fleet_csv.CURVES)[0])
    yield from (
        "Units listed",
        "List",
        "Unit",
        "Root causes by tier and state",
        "Tier",
        *map(str.capitalize, life_cycle.STATES),
    )
    yield from ("Answer", "What", "Definitions", "Term", "Meaning", "Gaps", "Counted", "Number", "sentence", "text")


def _english(columns: Iterable[summary_rows.Column]) -> Iterator[str]:
    return (column.head.ids[0] for column in columns)


def _of_charts() -> Iterator[str]:
    yield from (*charts.MONTHS, *unit_charts.KINDS.values(), *summary_pdf.ON_PAPER)
    yield from (unit_charts.WITHOUT, unit_charts.VISITS, unit_charts.PARTS, unit_charts.CAUSES)
    yield from (figures.UNDER_BATH, figures.BY_SUCTION)
    yield from ("installed", "retired", "moved in", "moved out")
    for drawing in (each for found in summary_xlsx_charts.DRAWINGS.values() for each in found):
        for name in (drawing.title, *drawing.columns, *drawing.limits):
            yield from (name, name.lower())
    for title, unit, _, heads in summary_xlsx_charts.SIDE_BY_SIDE:
        yield from (title, unit, *heads)


def written(catalog: Catalog) -> bytes:
    """A catalogue as a file; without places in the code, which change with every line."""
    out = BytesIO()
    write_po(out, catalog, width=120, no_location=True, sort_output=True)
    return out.getvalue()


def main() -> None:
    """Write the template and update the languages."""
    made = template()
    TEMPLATE.write_bytes(written(made))
    for path in FOLDER.glob("*.po"):
        with path.open("rb") as file:
            known = read_po(file)
        known.update(made)
        path.write_bytes(written(known))


if __name__ == "__main__":
    main()
