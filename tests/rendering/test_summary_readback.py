"""Every figure of the JSON, read back from the PDF (pypdf), the workbook (openpyxl) and the CSV (csv).

What a document must show is worked out here from the JSON alone. Each value taken from it is marked, so that a new key
of the JSON which the workbook lacks fails the test, unless it stands in NOT_IN_BOOK with its reason. The PDF has fewer
figures: what it shows is worked out as well.
"""

import csv
import importlib.util
import io
import json
import re
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from service.app import open_database
from service.domain.audit import Actor
from service.domain.quantities import Quantity
from service.domain.summary.letter_lines import CustomerRootCause
from service.domain.summary.lines import Refrigerant, RefrigerantMove, RootCauseCount
from service.rendering.csv_guard import guarded
from service.rendering.year import summary_csv, summary_json, summary_pdf, summary_xlsx
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases.transfer import importing
from service.usecases.year import summaries
from tests.rendering.conftest import HOSTILE

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)

KEYS = {"visit", "id", "unit", "restored_by"}  # which record a row belongs to, by keys that say nothing to a reader


class Marked:
    """A part of the JSON that notes which of its values were taken."""

    def __init__(self, part: Any, path: str, taken: set[str]) -> None:
        self._part, self._path, self._taken = part, path, taken

    def __getattr__(self, name: str) -> Any:
        inner, path = self._part[name], f"{self._path}.{name}".lstrip(".")
        if isinstance(inner, dict):
            return Marked(inner, path, self._taken)
        if isinstance(inner, list) and inner and isinstance(inner[0], dict):
            return [Marked(each, path, self._taken) for each in inner]
        self._taken.add(path)
        return inner

    def has(self, name: str) -> bool:
        return name in self._part


def leaves(value: Any, path: str = "") -> Iterator[str]:
    """The paths of all values, lists left out."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from leaves(inner, f"{path}.{name}".lstrip("."))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for inner in value:
            yield from leaves(inner, path)
    else:
        yield path


# The two databases of records: the demo fleet, and one that nobody would wish for.


def maker() -> Any:
    spec = importlib.util.spec_from_file_location("make_fleet", ROOT / "seed_data" / "make_fleet.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def company(name: str) -> dict[str, Any]:
    facts = {"address": "1 Depot Road\nDenver", "phone": "555-0100", "email": "office@example.org", "licence": "L-4711"}
    return {"record": "company", "name": name, **facts}


def hostile_records() -> Iterator[dict[str, Any]]:
    yield company(HOSTILE["script"])
    yield {"record": "technician", "code": "rhea", "name": "Rhea"}
    for number, hostile in enumerate([*HOSTILE.values(), "\u0639" * 200, "x" * 200]):
        name = "".join(c for c in hostile if c >= " " or c in "\n\t")[:200].strip() or "x"
        code, tag = f"c{number}", f"GU-H{number}"
        yield {"record": "customer", "code": code, "name": name, "units_shown": "si" if number % 2 else "us"}
        yield {"record": "site", "code": code, "customer": code, "name": name, "time_zone": "Asia/Kathmandu"}
        yield {"record": "unit", "tag": tag, "site": code, "installed_on": "2023-05-02", "place": name, "maker": name}
        yield a_visit(f"0199d1f0-6c1e-7a51-9f0a-{number:012d}", tag, "2026-03-02T09:10:00+05:45", (hostile * 20)[:2000])
    yield {"record": "customer", "code": "silent", "name": "Nobody came"}
    yield {"record": "site", "code": "silent", "customer": "silent", "name": "Quiet", "time_zone": "America/Denver"}
    yield {"record": "unit", "tag": "GU-S", "site": "silent", "installed_on": "2023-05-02"}
    yield {"record": "customer", "code": "bare", "name": "No unit"}


def many_records(units: int, visits: int) -> Iterator[dict[str, Any]]:
    yield {"record": "technician", "code": "rhea", "name": "Rhea"}
    yield {"record": "customer", "code": "many", "name": "Many", "units_shown": "us"}
    yield {"record": "site", "code": "many", "customer": "many", "name": "Many", "time_zone": "America/Denver"}
    for unit in range(units):
        yield {"record": "unit", "tag": f"GU-{unit:03d}", "site": "many", "installed_on": "2023-05-02"}
    for visit in range(visits):
        day = f"2026-{1 + visit % 10:02d}-{1 + visit % 27:02d}T08:00:00-07:00"
        yield a_visit(f"0199d1f0-6c1e-7a51-9f0a-{visit:012d}", f"GU-{visit % units:03d}", day, "Brushed and looked.")


def a_visit(key: str, tag: str, arrived: str, text: str) -> dict[str, Any]:
    reading = {"quantity": "bath_temperature", "value": "47 degF", "when": "as_found"}
    return {
        "record": "visit", "id": key, "unit": tag, "kind": "service_call", "arrived_at": arrived, "technician": "rhea",
        "readings": [reading, {**reading, "value": "28.4 degF", "when": "as_left"},
                     {"quantity": "glycol_strength", "value": "35 mass%", "when": "as_found"}],
        "complaint": {"symptom": "warm_pour", "words": text[:200].strip() or "x"}, "work": text, "advice": text,
        "tasks": [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}], "outcome": "running",
    }  # fmt: skip


@pytest.fixture(scope="module")
def databases(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    records = {
        "demo": [company("Towpath Cooling"), *maker().make_fleet(NOW.date(), 1)],
        "hostile": hostile_records(),
        "many": many_records(60, 400),
    }
    opened = {name: opened_fleet(tmp_path_factory.mktemp(name), list(each)) for name, each in records.items()}
    yield opened
    for database in opened.values():
        database.close()


def opened_fleet(home: Path, records: list[dict[str, Any]]) -> Any:
    settings = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home)
    upgrade(settings.database_url, ROOT / "migrations")
    database = open_database(settings)
    raw = [json.dumps(record).encode() for record in records]
    with database.writing() as store:
        errors = importing.import_records(
            store, Actor("t", "owner", None, NOW), read_lines(raw), keep_good=False
        ).errors
    assert not errors, errors[:3]
    return database


def years(database: Any) -> Iterator[Any]:
    """The year of each customer, and once more the first one that has units, with what the records lack."""
    with database.reading() as store:
        shown = [
            summaries.summarise(store, code, 2026, as_of=NOW, program_version="0", units_shown=None)
            for code in summaries.customers(store)
        ]
    yield with_root_causes(next(each for each in shown if each.units))
    yield from shown


def with_root_causes(summary: Any) -> Any:
    """The summary with root causes and refrigerant moved at its first unit; the figures are made up."""
    first, *others = summary.units
    today, mass = NOW.date(), Quantity(0.3, "mass", "")
    undecided = CustomerRootCause(
        unit=first.tag, kind="power_switch", state="open", first_seen_on=today, failed="Failed 3 times.",
        think="The switch carries too much.", do="We will measure it.", ours=None, decided_on=None, resolved_on=None,
        verdict=None,
    )  # fmt: skip
    resolved = replace(
        undecided, state="resolved", decided_on=today, resolved_on=today, verdict="it worked", ours="Ours."
    )
    shown = replace(
        first, refrigerant=Refrigerant(added=mass, recovered=mass), root_causes=(undecided, resolved),
        refrigerant_moves=(RefrigerantMove(unit=first.tag, visit="v", on=NOW.date(), what="added", mass=mass),),
    )  # fmt: skip
    count = RootCauseCount(total=2, open=1, confirmed=0, dismissed=0, resolved=1)
    return replace(summary, units=(shown, *others), refrigerant=shown.refrigerant, root_causes=count)


# What the documents must show, from the JSON alone.

Cell = str | int | float | datetime | None


def words(code: str | None) -> str | None:
    return code and code.replace("_", " ")


def fouling(code: str | None) -> str | None:
    return {"light": "lightly fouled", "heavy": "heavily fouled"}.get(code or "", code)


def day(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text).replace(tzinfo=None) if text else None


def number(quantity: Any) -> float | None:
    """In the unit of the head: hours, amperes, or as it is."""
    if quantity is None:
        return None
    return float(quantity.value) / {"min": 60, "mA": 1000}.get(quantity.unit, 1)


def by(row: Any) -> str:
    return row.by if row.evidence == "seen" else f"{row.by}, {row.evidence}"  # type: ignore[no-any-return]


def visits(unit: Any) -> Iterator[list[Cell]]:
    for v in unit.visits:
        began, who = [unit.tag, day(v.arrived_at), day(v.left_at)], [words(v.kind), by(v), v.technician]
        shown = [words(v.symptom), day(v.reported_at), words(v.outcome), v.words, v.work, v.advice, v.id, v.attendance]
        yield [*began, number(v.time_on_site), *who, *shown]


def pm(unit: Any) -> Iterator[list[Cell]]:
    for p in unit.pm_lines:
        judged = [day(p.due_on), day(p.done_on), words(p.state), p.days_late, fouling(p.as_found)]
        yield [unit.tag, p.name, *judged, p.interval, p.why]


def outages(unit: Any) -> Iterator[list[Cell]]:
    for o in unit.outages:
        times = [day(o.reported_at), day(o.earliest_at), day(o.started_at), day(o.restored_at)]
        hours = [number(o.seen), number(o.estimated), number(o.estimated_high)]
        noticed = [words(o.symptom), words(o.started_by)]
        yield [unit.tag, *noticed, *times, *hours, words(o.ended), o.why, o.visit]


def replacements(unit: Any) -> Iterator[list[Cell]]:
    for r in unit.replacements:
        what = [r.component, words(r.kind), words(r.reason), words(r.condition), by(r), r.note]
        yield [unit.tag, day(r.on), r.stated, *what, r.visit]


def temperatures(unit: Any) -> Iterator[list[Cell]]:
    beer = sorted(unit.beer, key=lambda each: f"beer at tap {each.tap}" if each.tap else "beer")
    for what, t in [*(("bath", each) for each in unit.bath), *(("beer", each) for each in beer)]:
        place = f"{what} at tap {t.tap}" if t.tap else what
        yield [unit.tag, place, day(t.on), number(t.as_found), number(t.as_left)]


def glycol(unit: Any) -> Iterator[list[Cell]]:
    for g in unit.glycol.points:
        shown = (g.strength, unit.glycol.target, g.freezing_point, g.coldest, g.margin, unit.glycol.least_margin)
        yield [unit.tag, day(g.on), *map(number, shown), g.coldest_is]


def condenser(unit: Any) -> Iterator[list[Cell]]:
    for c in unit.condenser:
        yield [unit.tag, day(c.on), fouling(c.as_found), *map(number, (c.split, c.clean_split, c.split_limit))]


def currents(unit: Any) -> Iterator[list[Cell]]:
    for c in sorted(unit.currents, key=lambda each: each.component):
        yield [unit.tag, c.component, day(c.on), words(c.when), *map(number, (c.current, c.rated, c.share))]


def refrigerant(unit: Any) -> Iterator[list[Cell]]:
    for r in unit.refrigerant_moves:
        yield [unit.tag, day(r.on), r.what, r.mass.value, r.mass.unit, r.visit]


def root_causes(unit: Any) -> Iterator[list[Cell]]:
    for c in unit.root_causes:
        answers = [c.failed, c.think, c.do, c.ours]
        yield [
            unit.tag,
            words(c.kind),
            day(c.first_seen_on),
            c.state,
            *answers,
            day(c.decided_on),
            day(c.resolved_on),
            c.verdict,
        ]


def plan(unit: Any) -> Iterator[list[Cell]]:
    for p in unit.plan:
        for place, on in enumerate(p.due_on):
            yield [unit.tag, p.name, p.interval, day(on), "overdue" if p.overdue and not place else None, p.why]


def kinds(unit: Any) -> Iterator[list[Cell]]:
    yield from ([unit.tag, words(k.kind), k.ours, k.others] for k in unit.visits_by_kind)


def readings(unit: Any) -> Iterator[list[Cell]]:
    for r in unit.readings:
        sample, value = r.sample_temperature, [r.value.value, r.value.unit]
        value += [sample.value, sample.unit] if sample else [None, None]
        entered = r.value.entered if r.value.has("entered") else None
        place = [words(r.quantity), r.component, r.tap, words(r.when)]
        yield [unit.tag, day(r.on), day(r.at), *place, *value, r.evidence, entered, r.visit]


TABLES: Mapping[str, Callable[[Any], Iterator[list[Cell]]]] = {
    "Visits": visits,
    "PM": pm,
    "Without cold beer": outages,
    "Replacements": replacements,
    "Temperatures": temperatures,
    "Glycol": glycol,
    "Condenser": condenser,
    "Currents": currents,
    "Refrigerant": refrigerant,
    "Root causes": root_causes,
    "Plan": plan,
    "Visits by kind": kinds,
    "Readings": readings,
}

# The PDF.


def squeezed(text: str) -> str:
    """Without blanks and hyphens, which lines that are broken move about."""
    return re.sub(r"[\s\u00ad\u200b\u2010-]", "", text)


def lines_of(summary: Marked) -> Iterator[str]:
    """What the letter must hold, in its order, and the figures of each unit with trouble."""
    sender = summary.company
    contact = ", ".join(filter(None, (sender.phone, sender.email)))
    yield from (line or "" for line in (sender.name, sender.address, contact, sender.licence))
    yield from (summary.customer_name, f"{summary.first_day} to {summary.last_day}")
    yield f"Your beer cooling in {summary.year}{summary.headline.how_it_went}"
    yield str(summary.without_cold_beer.outages)
    yield from summary.done[:4]
    for who in ("you", "we"):
        yield from (each.what[:190] for each in [each for each in summary.actions if each.who == who][:4])
    yield from (unit_line(unit) for unit in summary.units if busy(unit))
    yield from (each.sentence for each in summary.gaps)
    yield f"data {summary.data_state.digest}; glycol-fleet {summary.program_version}."


def busy(unit: Marked) -> bool:
    cold = unit.without_cold_beer
    return bool(cold.outages + cold.carried_over + unit.replaced.failed or unit.root_causes)


def unit_line(unit: Marked) -> str:
    days = (("installed", unit.installed_on), ("retired", unit.retired_on))
    moved = (("moved in", unit.moved_in_on), ("moved out", unit.moved_out_on))
    about = [
        unit.site_name,
        unit.place,
        unit.maker,
        unit.model,
        *(f"{what} {on}" for what, on in (*days, *moved) if on),
    ]
    ours = sum(each.ours for each in unit.visits_by_kind)
    came = f"{ours} visit{'' if ours == 1 else 's'} by us" if ours else ""
    return unit.tag + ", ".join(each for each in about if each) + came


def readable(line: str) -> str:
    """The part of a line that a reader of PDFs gives back as it was typed: other scripts are looked at elsewhere."""
    found = re.match(r"[ -~\u2013\u2212\u00b0]*", line)
    return squeezed(found[0] if found else "")[:150]


def missing(summary: Any, made: bytes) -> list[str]:
    """The lines that the PDF does not hold in their order."""
    shown = json.loads(summary_json.render(summary))
    pages = (page.extract_text() for page in PdfReader(io.BytesIO(made)).pages)
    text, place, lost = squeezed("\n".join(pages)), 0, []
    for line in lines_of(Marked(shown, "", set())):
        found = text.find(readable(line), place)
        lost += [line] if found < 0 else []
        place = max(place, found)
    return lost


def unread(shown: Any, taken: set[str], left_out: Mapping[str, str]) -> set[str]:
    """The paths of the JSON that were neither taken nor left out for a reason."""
    paths = {path for path in leaves(shown) if path.split(".")[-1] not in KEYS} - taken
    return {
        path for path in paths if path not in left_out and not path.startswith(tuple(f"{each}." for each in left_out))
    }


@pytest.mark.parametrize("name", ["demo", "hostile", "many"])
def test_the_letter_and_the_figures_of_each_unit_are_in_the_pdf(databases: dict[str, Any], name: str) -> None:
    for summary in years(databases[name]):
        assert missing(summary, summary_pdf.render(summary)) == [], summary.customer


# The charts, by the text that stands in for each of them.

MARKS = {"service_call": "service call", "maintenance": "maintenance", "follow_up": "follow-up"}


def time_line_texts(unit: dict[str, Any]) -> Iterator[str]:
    """What the time line of a unit must show."""
    for kind, name in MARKS.items():
        days = [each["on"] for each in unit["visits"] if each["kind"] == kind]
        if days:
            yield f"{name}: {', '.join(days)}."
    for name, reasons in (("failed", {"failed"}), ("replaced", {"precaution", "upgrade", "unknown"})):
        days = [each["on"] for each in unit["replacements"] if each["reason"] in reasons]
        if days:
            yield f"{name}: {', '.join(days)}."
    for outage in unit["outages"]:
        seen, about = (span(outage[name]["value"] / 60) for name in ("seen", "estimated"))
        yield f"about {about}, {seen} of it seen." if outage["seen"]["value"] else f"about {about}, none of it seen."


def span(hours: float) -> str:
    """Under two days in hours, else in days; one digit after the point below ten."""
    if hours < 47.5:
        return f"{hours:.1f} h" if 0 < hours < 9.95 else f"{hours:.0f} h"
    return f"{hours / 24:.1f} days" if hours < 9.95 * 24 else f"{hours / 24:.0f} days"


def alternatives(made: bytes) -> str:
    reader = PdfReader(io.BytesIO(made))
    parts = (reader.get_object(number) for number in range(1, int(reader.trailer["/Size"])))
    return "".join(str(part["/Alt"]) for part in parts if isinstance(part, dict) and "/Alt" in part)


def test_every_time_line_is_described_by_the_figures_of_the_json(databases: dict[str, Any]) -> None:
    for summary in years(databases["demo"]):
        text = alternatives(summary_pdf.render(summary))
        for unit in json.loads(summary_json.render(summary))["units"]:
            if busy(Marked(unit, "", set())):
                assert [each for each in time_line_texts(unit) if each not in text] == []


# The workbook.


def sheets_of(summary: Marked) -> dict[str, list[list[Cell]]]:
    """What each sheet must hold below its heads."""
    shown = {name: [row for unit in summary.units for row in TABLES[name](unit)] for name in TABLES}
    definitions = [[each.term, each.text] for each in summary.definitions]
    return {
        "Answer": list(answer(summary)), "To do": list(to_do(summary)), "Totals": list(totals(summary)),
        "Units": list(map(whole_unit, summary.units)),
        **shown, "Definitions": definitions,
    }  # fmt: skip


def answer(summary: Marked) -> Iterator[list[Cell]]:
    shown, state, sender = summary.headline, summary.data_state, summary.company
    about = {name: getattr(sender, name) for name in ("name", "address", "phone", "email", "licence")}
    yield from ([f"Company: {name}", fact] for name, fact in about.items() if fact)
    yield from (["Customer", summary.customer_name], ["How it went", shown.how_it_went])
    yield from ([each.label, f"{each.text} ({each.more})" if each.more else each.text] for each in shown.figures)
    yield from (["What we did", each] for each in summary.done)
    yield from (["From", day(summary.first_day)], ["To", day(summary.last_day)])
    yield from (["Plan from", day(summary.plan_from)], ["Plan to", day(summary.plan_to)])
    yield from (["As of, UTC", in_utc(summary.as_of)], ["Data", state.digest])
    yield from (["Visits on record", state.visits], ["Units on record", state.units])
    yield from (["Latest visit, UTC", in_utc(state.latest_visit_at)], ["Program version", summary.program_version])
    yield from (["Not known", each.sentence] for each in summary.gaps)
    for unit in summary.units:
        yield from ([f"Not known of {unit.tag}", each.sentence] for each in unit.gaps)


def to_do(summary: Marked) -> Iterator[list[Cell]]:
    for each in summary.actions:
        who = {"you": "you decide", "we": "we will do"}[each.who]
        yield [who, ", ".join(each.units), each.what, " ".join(each.why), day(each.by), words(each.basis)]


def in_utc(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text).astimezone(UTC).replace(tzinfo=None) if text else None


def totals(summary: Marked) -> Iterator[list[Cell]]:
    for each in summary.visits_by_kind:
        yield from (
            [f"Visits: {words(each.kind)}, {who}", n] for who, n in (("by us", each.ours), ("by others", each.others))
        )
    pm, parts, cold = summary.pm, summary.replaced, summary.without_cold_beer
    yield from ([f"PM: {words(n)}", getattr(pm, n)] for n in ("on_time", "late", "missed", "first", "never_recorded"))
    yield ["PM: share on time", pm.share_on_time]
    yield from (["Outages", cold.outages], ["Outages carried over", cold.carried_over])
    yield ["Outages whose beginning is not known", cold.begin_unknown]
    yield ["Outages whose end is not known", cold.end_unknown]
    yield from ([f"Hours without cold beer, {name}", number(getattr(cold, name))] for name in ("seen", "estimated"))
    yield ["Hours without cold beer, at most", number(cold.estimated_high)]
    ways = ("total", "failed", "precaution", "upgrade", "unknown", "ours", "others", "seen", "reported")
    yield from ([f"Replaced: {way}", getattr(parts, way)] for way in ways)
    time, found = summary.time_on_site, summary.root_causes
    yield from (
        ["Visits", time.visits],
        ["Visits whose end is recorded", time.timed],
        ["Hours on site", number(time.total)],
    )
    for what, mass in (("added", summary.refrigerant.added), ("recovered", summary.refrigerant.recovered)):
        yield [f"Refrigerant {what}, {mass.unit}" if mass else f"Refrigerant {what}", mass.value if mass else None]
    states = ("total", "open", "confirmed", "dismissed", "resolved")
    yield from ([f"Root causes: {state}", getattr(found, state)] for state in states)
    before = summary.year_before
    if before:
        names = ("breakdowns", "visits", "pm_on_time", "pm_judged", "failed")
        yield from ([f"{before.year}: {words(name)}", getattr(before, name)] for name in names)
        yield [f"{before.year}: hours without cold beer, estimated", number(before.estimated)]


def out_of_service(span: Marked) -> str:
    what = {"unit": "Out of service", "site": "The site was closed"}[span.of]
    if span.last is None:
        return f"{what} from {span.first} on."
    return f"{what} on {span.first}." if span.first == span.last else f"{what} from {span.first} to {span.last}."


def whole_unit(unit: Marked) -> list[Cell]:
    pm, cold, others = unit.pm, unit.without_cold_beer, sum(each.others for each in unit.visits_by_kind)
    about = [
        unit.site_name,
        unit.place,
        unit.maker,
        unit.model,
        unit.time_zone,
        *map(day, (unit.installed_on, unit.retired_on, unit.moved_in_on, unit.moved_out_on)),
        " ".join(map(out_of_service, unit.out_of_service)) or None,
    ]
    visited = [others + sum(each.ours for each in unit.visits_by_kind), others]
    share = None if pm.share_on_time is None else 100 * pm.share_on_time
    done = [pm.on_time, pm.late, pm.missed, pm.first, pm.never_recorded, share]
    without = [cold.outages, number(cold.seen), number(cold.estimated), number(cold.estimated_high)]
    site = [number(unit.time_on_site.total), unit.time_on_site.timed]
    both = (unit.refrigerant.added, unit.refrigerant.recovered)
    moved = [cell for mass in both for cell in ((mass.value, mass.unit) if mass else (None, None))]
    parts = [unit.replaced.total, unit.replaced.failed]
    return [unit.tag, *about, *visited, *site, *done, *without, *parts, *moved]


NOT_IN_BOOK = {
    "customer": "the code of a record; its name is there",
    "year": "the days from and to are there",
    "units_shown": "the heads name the units of measure",
    "headline.figures.code": "the name of a figure for programs",
    "headline.figures.value": "among the totals",
    "units.site": "the code of a record; its name is there",
    "units.visits.on": "the day of `arrived_at`",
    "units.outages.on": "the visit's row has its arrival",
    "units.outages.restored_on": "the day of `restored_at`",
    "units.outages.earliest_on": "the day of `earliest_at`",
    "units.outages.begin_unknown": "its sentence says so",
    "units.time_on_site.visits": "the row has the visits",
    "units.pm_lines.task": "the code of a task; its name is there",
    "units.plan.task": "as above",
    "units.outages.restored_by": "the instant is there",
    "units.outages.began_before": "its sentence says so",
    "units.outages.estimated_low": "the same as what was seen",
    "units.outages.stretches": "drawn, and in the CSV; their sum stands there",
    "units.without_cold_beer": "the table of the units has it",
    "without_cold_beer.estimated_low": "the same as what was seen",
    "units.glycol.target": "beside each measurement of the strength, where there is one",
    "units.glycol.least_margin": "beside each margin, where there is one",
    "units.glycol.least_margin_source": "a sentence; on the unit's page of the document",
    "units.readings.sample_temperature.entered": "its number and unit of measure stand there",
    **{
        f"units.{path}.entered": "stands among the readings"
        for path in (
            "currents.current",
            "currents.rated",
            "bath.as_found",
            "bath.as_left",
            "beer.as_found",
            "beer.as_left",
        )
    },
    "headline.what_to_do": "the first of the lines on the sheet of what is to do",
    "actions.first": "the reasons name the days",
    "actions.last": "as above",
    "units.actions": "added up on the sheet of what is to do",
    "units.set_point": "drawn",
    "technician": "on the letter",
    "handed_out": "nothing was",
    "units.glycol.not_converted": "a sentence among what is not known",
    "year_before.units": "in the JSON",
    "year_before.since": "the first sentence names it, where the year before was not whole",
    **{
        f"units.replaced.{way}": "each replacement has its row"
        for way in ("precaution", "upgrade", "unknown", "ours", "others", "seen", "reported")
    },
}


@pytest.mark.parametrize("name", ["demo", "hostile", "many"])
def test_every_value_of_the_json_is_in_the_workbook_and_nothing_else(databases: dict[str, Any], name: str) -> None:
    for summary in years(databases[name]):
        shown, taken = json.loads(summary_json.render(summary)), set[str]()
        workbook = load_workbook(io.BytesIO(summary_xlsx.render(summary)))

        expected = sheets_of(Marked(shown, "", taken))

        assert workbook.sheetnames == list(expected)
        for sheet, rows in expected.items():
            found = [[unescaped(each.value) for each in row] for row in workbook[sheet].iter_rows(min_row=2)]
            assert found == approximately(rows), sheet
        assert unread(shown, taken, NOT_IN_BOOK) == set()


def approximately(rows: list[list[Cell]]) -> list[list[Any]]:
    """Numbers of the JSON have six digits. An empty text is an empty cell to the reader."""
    return [[pytest.approx(c, rel=1e-5, abs=1e-9) if isinstance(c, float) else legal(c) for c in row] for row in rows]


def unescaped(cell: Any) -> Any:
    """ECMA-376, part 1, 22.9.2.19 (ST_Xstring): `_xHHHH_` is a character; openpyxl leaves it as it is."""
    return re.sub("_x([0-9A-F]{4})_", lambda code: chr(int(code[1], 16)), cell) if isinstance(cell, str) else cell


def legal(cell: Cell) -> Cell:
    """In a cell a line ends with a line feed."""
    return re.sub("\r\n?", "\n", cell) if isinstance(cell, str) else cell


# The CSV.


@pytest.mark.parametrize("name", ["demo", "hostile", "many"])
def test_every_row_of_the_json_is_in_the_csv_and_nothing_else(databases: dict[str, Any], name: str) -> None:
    places = {"pm": "pm_lines", "glycol": "glycol.points", "refrigerant": "refrigerant_moves"}
    for summary in years(databases[name]):
        units = json.loads(summary_json.render(summary))["units"]
        with ZipFile(io.BytesIO(summary_csv.render(summary))) as archive:
            for table in summary_csv.TABLES:
                rows = list(csv.reader(io.StringIO(archive.read(f"{table}.csv").decode("utf-8-sig"), newline="")))

                assert rows[1:] == [flat(unit, row) for unit in units for row in at(unit, places.get(table, table))]


def at(unit: dict[str, Any], path: str) -> list[dict[str, Any]]:
    for name in path.split("."):
        unit = unit[name]
    return unit  # type: ignore[return-value]


def flat(unit: dict[str, Any], row: dict[str, Any]) -> list[str]:
    """The cells of a row as text; of a quantity, its number and its unit."""
    cells = [guarded(unit["tag"])]
    for name, value in row.items():
        if name != "unit":
            cells += quantity(value) if name in QUANTITIES or (name in FOUND and "tap" in row) else [plain(value)]
    return cells


QUANTITIES = (
    "seen", "estimated", "estimated_low", "estimated_high", "strength", "freezing_point", "coldest", "margin", "split",
    "clean_split", "split_limit", "current", "rated", "share", "value", "sample_temperature", "mass", "time_on_site",
)  # fmt: skip
FOUND = ("as_found", "as_left")  # a word for a condenser, a temperature for the bath and the beer at a tap


def quantity(value: Any) -> list[str]:
    return ["", ""] if value is None else [str(value["value"]), value["unit"]]


def plain(value: Any) -> str:
    if isinstance(value, list):
        return guarded(
            " | ".join(each if isinstance(each, str) else " ".join(map(str, each.values())) for each in value)
        )
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else guarded(value) if isinstance(value, str) else str(value)


def test_no_cell_of_the_csv_is_a_formula(databases: dict[str, Any]) -> None:
    """OWASP, "CSV Injection": a cell must not begin with = + - @, a tab or a line break; numbers may have a sign."""
    for summary in years(databases["hostile"]):
        for table in summary_csv.TABLES:
            text = summary_csv.table(summary, table).decode("utf-8-sig")
            for cell in (cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row):
                assert re.match(r"[-+]?[0-9.]+(e[-+]?[0-9]+)?$", cell) or not re.match(
                    r"[\t\r\n]|\s*[-=+@\uff1d]", cell
                )
