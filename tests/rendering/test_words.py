"""The words of the documents: the catalogue is complete, and a made-up language leaves no English word of ours.

In that language every Latin letter of a message is a Cyrillic one; the record's own texts are in Greek letters. So
whatever Latin word is left is one of ours that is not in the catalogue, a code or a unit of measure.
"""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from babel.messages.catalog import Catalog
from pypdf import PdfReader

from service.domain.bench.figures import figure
from service.domain.condition.drifting import FIGURES
from service.domain.condition.forecasts import Forecast, with_sentence
from service.domain.maintenance import due_sentences
from service.domain.maintenance.adaptation import Grade, adapt
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.messages import gettext, joined, term
from service.domain.quantities import DIMENSIONS
from service.domain.record.care import Planned
from service.domain.record.company import Letterhead
from service.domain.record.pauses import Span
from service.domain.record.unit_log import Performed
from service.domain.record.visits import FOULING
from service.rendering import words
from service.rendering.year import visit_report
from service.rendering.year.formats import write_fleet_year, write_summary
from service.usecases.year import summaries
from service.usecases.year.visit_reports import report_of
from tests import words as words_of
from tests.rendering.test_summary_readback import NOW, maker, opened_fleet
from tests.words import TEMPLATE, template, written

LATIN, CYRILLIC = "abcdefghijklmnopqrstuvwxyz", "абцдефгхийклмнопярстувшжзъ"
GREEK = str.maketrans(LATIN + LATIN.upper(), "αβγδεφγηιικλμνοπκρστυβωξψζ" * 2)
TO_CYRILLIC = str.maketrans(LATIN + LATIN.upper(), CYRILLIC + CYRILLIC.upper())
MADE_UP = "qps"
WITH_TEXT = re.compile(r"sharedStrings|workbook\.xml$|charts/chart|drawings/drawing|core\.xml")
TYPED = ("name", "address", "place", "maker", "model", "work", "advice", "words", "note", "description", "access")
CODES = re.compile(
    r"\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f-]+|\b[0-9a-f]{12}(?:[0-9a-f]{4})?\b|GU-\d+|\b[a-z]+(?:_[a-z]+)*-\d+|America/\w+|glycol-fleet"
    r"|\b[a-z]+(?:_[a-z]+)+\b|crooked-heron|heron-\w+"
)
CELLS = {
    *words_of.CODES,
    *(task.code for task in CATALOGUE),
    "you",
    *FOULING,
    "we",
    *(unit for each in DIMENSIONS.values() for unit in each.units),
}
UNITS = {
    "mass",
    "in",
    "psig",
    "psi",
    "ppm",
    "oz",
    "lb",
    "ft",
    "gal",
    "kPa",
    "kg",
    "min",
    "pH",
    "Brix",
    "degC",
    "degF",
    "UTC",
    "mS",
    "cm",
}


def pseudo(text: str) -> str:
    """The text in Cyrillic letters, but for its placeholders."""
    return "".join(each if each[:1] == "{" else each.translate(TO_CYRILLIC) for each in re.split(r"(\{\w+\})", text))


@pytest.fixture(scope="module")
def in_cyrillic() -> bytes:
    """The template with every message put into Cyrillic letters."""
    catalog = Catalog(locale="en")
    for each in template():
        if each.id:
            plural = isinstance(each.id, tuple)
            catalog.add(each.id, tuple(map(pseudo, each.id)) if plural else pseudo(each.id), context=each.context)
    return written(catalog)


@pytest.fixture
def made_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_cyrillic: bytes) -> str:
    """The made-up language, of which that is the catalogue."""
    (tmp_path / f"{MADE_UP}.po").write_bytes(in_cyrillic)
    monkeypatch.setattr(words, "FOLDER", tmp_path)
    return MADE_UP


def in_greek(value: Any, key: str = "") -> Any:
    """A record with what people typed in Greek letters."""
    if isinstance(value, dict):
        return {name: in_greek(each, name) for name, each in value.items()}
    if isinstance(value, list):
        return [in_greek(each, key) for each in value]
    if key == "technician":
        return f"{value}-1"
    typed = isinstance(value, str) and (key in TYPED or (key == "reason" and " " in value))
    return value.translate(GREEK) if typed else value


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The demo's customer with most visits, with what people typed in Greek letters."""
    opened = opened_fleet(tmp_path_factory.mktemp("words"), [in_greek(each) for each in one_customer()])
    yield opened
    opened.close()


def one_customer() -> list[dict[str, Any]]:
    """The records of the demo that belong to the customer with most visits."""
    records = list(maker().make_fleet(NOW.date(), 1))
    records = [each | {"code": f"{each['code']}-1"} if each["record"] == "technician" else each for each in records]
    site_of = {each["tag"]: each["site"] for each in records if each["record"] == "unit"}
    customer_of = {each["code"]: each["customer"] for each in records if each["record"] == "site"}
    visited = [customer_of[site_of[each["unit"]]] for each in records if each["record"] == "visit"]
    most = max(sorted(set(visited)), key=visited.count)
    sites = {code for code, customer in customer_of.items() if customer == most}
    units = {tag for tag, site in site_of.items() if site in sites}
    return [each for each in records if _is_of(each, most, sites, units)]


def _is_of(record: dict[str, Any], customer: str, sites: set[str], units: set[str]) -> bool:
    kind = record["record"]
    if kind in ("customer", "site"):
        return record["code"] in (customer, *sites)
    if kind == "unit":
        return record["tag"] in units
    return record["unit"] in units if "unit" in record else record.get("site") in (None, *sites)


def english(text: str) -> set[str]:
    """The Latin words of a text that are neither codes nor units of measure."""
    return set(re.findall(r"[A-Za-z]{2,}", CODES.sub("", text))) - UNITS


def pdf_text(made: bytes) -> str:
    reader = PdfReader(io.BytesIO(made))
    alternatives = [
        str(part["/Alt"]) for part in map(reader.get_object, range(1, int(reader.trailer["/Size"])))
        if isinstance(part, dict) and "/Alt" in part
    ]  # fmt: skip
    about = reader.metadata
    named = (about.title or "", about.author or "") if about else ()
    return " ".join([*named, *(page.extract_text() for page in reader.pages), *alternatives])


def test_the_catalogue_is_what_is_marked_in_the_code() -> None:
    assert TEMPLATE.read_bytes() == written(template()), "python -m tests.words writes it"


def test_a_message_is_worded_with_its_values_and_plural(made_up: str) -> None:
    text = joined((gettext("By {day}: {tasks}.", day="2026-01-02", tasks=term("pump_check")), "as typed"))

    with words.in_language(made_up):
        assert words.worded(text) == f"{pseudo('By')} 2026-01-02: {pseudo('pump check')}. as typed"
    assert words.worded(text) == text == "By 2026-01-02: pump check. as typed"
    with pytest.raises(LookupError):
        with words.in_language("none"):
            pass


def test_the_plural_is_chosen_by_the_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(words, "FOLDER", tmp_path)
    catalog = Catalog(locale="pl")
    catalog.add(("{count} unit", "{count} units"), ("{count} a", "{count} b", "{count} c"))
    (tmp_path / "plural.po").write_bytes(written(catalog))

    with words.in_language("plural"):
        made = [words.ngettext("{count} unit", "{count} units", count) for count in (1, 2, 5)]
    assert made == ["1 a", "2 b", "5 c"]  # Unicode CLDR: one, few, many of Polish


def reports(database: Any) -> Iterator[Any]:
    with database.reading() as store:
        for _, log in store.unit_logs.of_customer(next(iter(store.customers.names()))):
            for visit in log.visits:
                found = report_of(store, visit.id, NOW, "us", "us")
                yield replace(
                    found,
                    company=Letterhead(name="\u03b1", phone="555"),
                    signed_by="\u03b1",
                    others=found.others and "\u03b1",
                )


def test_no_english_word_of_ours_is_left_in_the_report_of_a_visit(database: Any, made_up: str) -> None:
    found = list(reports(database))
    pages = [visit_report.write(each, "html", "letter", (), made_up).decode() for each in found]
    bodies = [re.sub("<style>.*</style>|<[^>]*>", "", page, flags=re.DOTALL) for page in pages]

    assert set().union(*map(english, bodies)) == set()
    assert english(pdf_text(visit_report.write(found[0], "pdf", "letter", (), made_up))) == set()


TASK = next(task for task in CATALOGUE if task.code == "condenser_clean")
DONE = Performed("condenser_clean", date(2026, 3, 2), "done", "heavy", None)
DAY = date(2026, 6, 9)
USED = adapt(TASK, [Grade(date(2026, month, 2), "heavy", True) for month in (1, 2, 3)], "greasy", date(2025, 12, 1))
LEARNED = replace(TASK, rule="learned")
REASONS = {
    "heavy thrice": USED.sentence,
    "blocked once": adapt(TASK, [Grade(DAY, "blocked", True)], "dusty", date(2026, 3, 1)).sentence,
    "clean": adapt(TASK, [Grade(date(2025 + n, 3, 2), "clean", True) for n in (0, 1)], None, date(2024, 1, 1)).sentence,
    "learned": adapt(LEARNED, [Grade(DAY, "light", True)], "clean", date(2026, 3, 1)).sentence,
    "learned of few": adapt(LEARNED, [], None, None).sentence,
    "last done": due_sentences.last_done(TASK, DONE, "heavy", 60, USED),
    "others": due_sentences.last_done(TASK, DONE._replace(by="others", result="not_needed"), "light", None, USED),
    "reported": due_sentences.last_done(TASK, DONE._replace(reported="2026-03-02"), None, None, USED),
    "in a month": due_sentences.last_done(TASK, DONE._replace(reported="2026-03"), None, None, USED),
    "never": due_sentences.never_done(TASK, DAY, USED, asked=True),
    "not recorded": due_sentences.never_done(TASK, None, USED, asked=False),
    "limited": joined(due_sentences.by_condition("\u03b1.", date(2027, 1, 1), DAY)),
    "planned": due_sentences.first_date(Planned(DAY, DAY)),
    "registered": due_sentences.from_our_care(DAY, None),
    "our care": due_sentences.from_our_care(DAY, DAY),
    "skipped": joined(due_sentences.skipped(DONE._replace(reason=None), None)),
    "recovering": due_sentences.left_unfinished(DAY, "recovering"),
    "down": due_sentences.left_unfinished(DAY, "down"),
    "parts": due_sentences.waiting_for_parts(DAY, None, 7),
    "promised": due_sentences.waiting_for_parts(DAY, DAY, 7),
    "always closed": due_sentences.moved(DAY, DAY),
    "open before": due_sentences.moved(DAY, DAY - timedelta(days=1)),
    "open after": due_sentences.moved(DAY, DAY + timedelta(days=1)),
    "site closed": due_sentences.on_return(Span(DAY, DAY, DAY, "site"), DAY + timedelta(days=1)),
    "unit away": due_sentences.on_return(Span(DAY, DAY, DAY, "unit"), DAY + timedelta(days=3)),
}


@pytest.mark.parametrize("text", REASONS.values(), ids=REASONS)
def test_why_a_task_is_due_is_worded(text: str, made_up: str) -> None:
    with words.in_language(made_up):
        assert english(words.worded(text)) == set()


FORECAST = Forecast(
    of="bath_level", component="pump-1", readings=3, since=NOW, latest=figure(0.8, "fraction"), at=NOW,
    limit=figure(0.6, "fraction"), per_30_days=figure(-0.05, "fraction"), state="drifting", by="readings", low=DAY,
    likely=DAY, high=DAY, chance=0.4, sentence="", source="",
)  # fmt: skip
STATES: tuple[dict[str, Any], ...] = (
    {"state": "crossed", "readings": 1},
    {"state": "steady", "by": "fleet"},
    {"by": "earlier", "high": None, "component": None},
    {},
)


@pytest.mark.parametrize("figure_of", [each.name for each in FIGURES])
@pytest.mark.parametrize("state", STATES, ids=str)
def test_a_forecast_is_worded(figure_of: str, state: dict[str, Any], made_up: str) -> None:
    found = with_sentence(replace(FORECAST, **state), figure_of, (DAY, DAY), "us")

    with words.in_language(made_up):
        assert english(words.worded(found.sentence)) == set()


@pytest.fixture(scope="module")
def year(database: Any) -> Any:
    with database.reading() as store:
        code = next(iter(store.customers.names()))
        found = summaries.summarise(store, code, 2026, as_of=NOW, program_version="0", units_shown="us")
    return replace(found, company=Letterhead(name="\u03b1", phone="555"))


def test_no_english_word_of_ours_is_left_in_a_customers_year(year: Any, made_up: str) -> None:
    assert english(pdf_text(write_summary(year, "pdf", language=made_up))) == set()


def strings(made: bytes) -> str:
    """All texts of a workbook: cells, names of sheets, charts, descriptions."""
    with ZipFile(io.BytesIO(made)) as archive:
        parts = [archive.read(name).decode() for name in archive.namelist() if WITH_TEXT.search(name)]
    texts = (
        re.findall(r"<(?:\w+:)?t(?: [^>]*)?>([^<]*)<|<c:v>([^<]*)<|(?:<sheet name|descr|title)=\"([^\"]*)\"", part)
        for part in parts
    )
    return " ".join(text for part in texts for groups in part for text in groups)


def test_no_english_word_of_ours_is_left_in_its_workbook(year: Any, made_up: str) -> None:
    assert english(strings(write_summary(year, "xlsx", language=made_up))) == set()


def csv_text(made: bytes) -> str:
    """The cells of all tables that are no codes."""
    with ZipFile(io.BytesIO(made)) as archive:
        tables = [archive.read(name).decode("utf-8-sig") for name in archive.namelist()]
    rows = [row for table in tables for row in csv.reader(io.StringIO(table))]
    return " ".join(cell for row in rows for cell in row if cell not in CELLS)


def test_no_english_word_of_ours_is_left_in_its_csv_but_codes(year: Any, made_up: str) -> None:
    assert english(csv_text(write_summary(year, "csv", language=made_up))) == set()


@pytest.fixture(scope="module")
def fleet(database: Any) -> Any:
    with database.reading() as store:
        return summaries.summarise_fleet(store, 2026, as_of=NOW, program_version="0")


def test_no_english_word_of_ours_is_left_in_the_fleet_year(fleet: Any, made_up: str) -> None:
    made = {form: write_fleet_year(fleet, form, language=made_up) for form in ("pdf", "xlsx", "csv")}

    assert english(pdf_text(made["pdf"])) == set()
    assert english(strings(made["xlsx"])) == set()
    assert english(csv_text(made["csv"])) == set()
