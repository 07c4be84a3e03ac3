"""Every figure of the JSON, read back from the PDF (pypdf), the workbook (openpyxl) and the CSV (csv).

What a document must show is worked out here from the JSON alone. Each value taken from it is marked, so that a new key
of the JSON which no document shows fails the test, unless it stands in NOT_ON_PAPER or NOT_IN_BOOK with its reason.
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
from service.domain.summary.lines import Cause, Refrigerant, RefrigerantMove, RootCauseCount, RootCauseLine
from service.rendering.csv_guard import guarded
from service.rendering.year import summary_csv, summary_json, summary_pdf, summary_xlsx
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases import importing, summaries
from tests.rendering.conftest import HOSTILE

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)

NOT_ON_PAPER = {
    "customer": "the code of a record; its name is shown",
    "units_shown": "the heads name the units of measure",
    "headline.figures.code": "the name of a figure for programs",
    "headline.figures.value": "`text` is the same for a reader",
    "units.site": "the code of a record; its name is shown",
    "units.time_zone": "a name for programs; the times are the site's",
    "units.visits_by_kind.kind": "kinds without a visit are not named on a unit's page",
    "units.readings": "the document says that they stand in the workbook and in the CSV",
    "units.glycol.points.coldest_is": "a sentence a row; in the workbook",
    "units.pm_lines.task": "the code of a task; its name is shown",
    "units.plan.task": "as above",
    "units.advice.on": "the reason names the day",
    "units.visits.on": "the day of `arrived_at`",
    "units.outages.on": "the visit's row has its arrival",
    "units.outages.restored_on": "the day of `restored_at`",
    "units.outages.started_by": "in the CSV; the sentence beside it says what is not known",
    "units.outages.began_before": "its sentence says so",
    "units.outages.estimated_low": "the same as what was seen",
    "units.outages.stretches": "drawn, and in the CSV; their sum stands there",
    "units.without_cold_beer": "the table of the units has it",
    "without_cold_beer.carried_over": "in the workbook",
    "without_cold_beer.end_unknown": "in the workbook; each unit names its own",
    "without_cold_beer.estimated_low": "the same as what was seen",
    "units.visits.left_at": "shown as hours",
    "units.currents.current.entered": "as it was typed stands among the readings of the workbook",
    "units.currents.rated.entered": "as above",
    "units.bath.as_found.entered": "as above",
    "units.bath.as_left.entered": "as above",
    "units.beer.as_found.entered": "as above",
    "units.beer.as_left.entered": "as above",
}
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
    for number, said in enumerate([*HOSTILE.values(), "\u0639" * 200, "x" * 200]):
        name = "".join(c for c in said if c >= " " or c in "\n\t")[:200].strip() or "x"
        code, tag = f"c{number}", f"GU-H{number}"
        yield {"record": "customer", "code": code, "name": name, "units_shown": "si" if number % 2 else "us"}
        yield {"record": "site", "code": code, "customer": code, "name": name, "time_zone": "Asia/Kathmandu"}
        yield {"record": "unit", "tag": tag, "site": code, "installed_on": "2023-05-02", "place": name, "maker": name}
        yield a_visit(f"0199d1f0-6c1e-7a51-9f0a-{number:012d}", tag, "2026-03-02T09:10:00+05:45", (said * 20)[:2000])
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


def a_visit(key: str, tag: str, arrived: str, said: str) -> dict[str, Any]:
    reading = {"quantity": "bath_temperature", "value": "47 degF", "when": "as_found"}
    return {
        "record": "visit", "id": key, "unit": tag, "kind": "service_call", "arrived_at": arrived, "technician": "rhea",
        "readings": [reading, {**reading, "value": "28.4 degF", "when": "as_left"},
                     {"quantity": "glycol_strength", "value": "35 mass%", "when": "as_found"}],
        "complaint": {"symptom": "warm_pour", "words": said[:200].strip() or "x"}, "work": said, "advice": said,
        "tasks": [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}], "outcome": "running",
    }  # fmt: skip


@pytest.fixture(scope="module")
def databases(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    records = {
        "demo": [company("Towpath Cooling"), *maker().make_fleet(NOW.date(), 1)],
        "hostile": hostile_records(),
        "many": many_records(60, 400),
    }
    opened = {name: _book(tmp_path_factory.mktemp(name), list(each)) for name, each in records.items()}
    yield opened
    for database in opened.values():
        database.close()


def _book(home: Path, records: list[dict[str, Any]]) -> Any:
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
    today, likely = NOW.date(), (Cause(cause="hot_cabinet", probability=0.62),)
    mass = Quantity(0.3, "mass", "")
    undecided = RootCauseLine(
        unit=first.tag, kind="power_switch", tier="probable", state="open", probability_of_chance=0.0123,
        first_seen_on=today, explanation="Three in a year.", causes=likely,
        next_check="Feel the contacts.", remedy="A motor-rated switch.", decided_by=None, decided_on=None, why=None,
        resolved_on=None, failed_before=None, years_before=None, failed_after=None, years_after=None, chance=None,
        verdict=None,
    )  # fmt: skip
    resolved = replace(
        undecided, state="resolved", decided_by="anna", decided_on=today, why="a better one", resolved_on=today,
        failed_before=4, years_before=2.5, failed_after=1, years_after=0.75, chance=0.041, verdict="it worked",
    )  # fmt: skip
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


def visits(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for v in unit.visits:
        began, who = [unit.tag, day(v.arrived_at)], [words(v.kind), by(v), v.technician]
        if paper:
            yield [*began, number(v.time_on_site), *who, words(v.outcome), " ".join(work_of(v)) or None]
        else:
            shown = [words(v.symptom), day(v.reported_at), words(v.outcome), v.words, v.work, v.advice, v.id]
            yield [*began, day(v.left_at), number(v.time_on_site), *who, *shown]


def work_of(visit: Any) -> Iterator[str]:
    if visit.symptom:
        when = f", reported {visit.reported_at[:16].replace('T', ' ')}" if visit.reported_at else ""
        complaint = f"Complaint: {words(visit.symptom)}{when}" + (f": {visit.words}" if visit.words else "")
        yield complaint if complaint[-1] in ".!?" else f"{complaint}."
    if visit.work:
        yield visit.work
    if visit.advice:
        yield f"Advice: {visit.advice}"


def pm(unit: Any, _: bool) -> Iterator[list[Cell]]:
    for p in unit.pm_lines:
        yield [unit.tag, p.name, day(p.due_on), day(p.done_on), words(p.state), p.days_late, fouling(p.as_found)]


def outages(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for o in unit.outages:
        times = [day(o.reported_at), day(o.started_at), day(o.restored_at)]
        hours = [number(o.seen), number(o.estimated), number(o.estimated_high)]
        yield [unit.tag, words(o.symptom), *times, *hours, words(o.ended), o.why, *([] if paper else [o.visit])]


def replacements(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for r in unit.replacements:
        what = [r.component, words(r.kind), words(r.reason), words(r.condition), by(r), r.note]
        yield [unit.tag, day(r.on), *what, *([] if paper else [r.visit])]


def temperatures(unit: Any, _: bool) -> Iterator[list[Cell]]:
    beer = sorted(unit.beer, key=lambda each: f"beer at tap {each.tap}" if each.tap else "beer")
    for what, t in [*(("bath", each) for each in unit.bath), *(("beer", each) for each in beer)]:
        place = f"{what} at tap {t.tap}" if t.tap else what
        yield [unit.tag, place, day(t.on), number(t.as_found), number(t.as_left)]


def glycol(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for g in unit.glycol.points:
        shown = (g.strength, unit.glycol.target, g.freezing_point, g.coldest, g.margin, unit.glycol.least_margin)
        yield [unit.tag, day(g.on), *map(number, shown), *([] if paper else [g.coldest_is])]


def condenser(unit: Any, _: bool) -> Iterator[list[Cell]]:
    for c in unit.condenser:
        yield [unit.tag, day(c.on), fouling(c.as_found), *map(number, (c.split, c.clean_split, c.split_limit))]


def currents(unit: Any, _: bool) -> Iterator[list[Cell]]:
    for c in sorted(unit.currents, key=lambda each: each.component):
        yield [unit.tag, c.component, day(c.on), words(c.when), *map(number, (c.current, c.rated, c.share))]


def refrigerant(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for r in unit.refrigerant_moves:
        yield [unit.tag, day(r.on), r.what, r.mass.value, r.mass.unit, *([] if paper else [r.visit])]


def root_causes(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for c in [] if paper else unit.root_causes:
        causes = "; ".join(f"{each.cause} {each.probability:.3f}" for each in c.causes)
        found = [words(c.kind), day(c.first_seen_on), c.tier, c.probability_of_chance, c.explanation, causes]
        decided = [c.next_check, c.remedy, c.state, c.decided_by, day(c.decided_on), c.why, day(c.resolved_on)]
        after = [c.failed_before, c.years_before, c.failed_after, c.years_after, c.chance, c.verdict]
        yield [unit.tag, *found, *decided, *after]


def advice(unit: Any, _: bool) -> Iterator[list[Cell]]:
    for a in unit.advice:
        yield [unit.tag, a.what, a.reason, a.source]


def plan(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for p in unit.plan:
        if paper:
            days = ", ".join(p.due_on)
            yield [unit.tag, p.name, p.interval, days[:10] + (" (overdue)" if p.overdue else "") + days[10:], p.why]
            continue
        for place, on in enumerate(p.due_on):
            yield [unit.tag, p.name, p.interval, day(on), "overdue" if p.overdue and not place else None, p.why]


def kinds(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    if not paper:
        yield from ([unit.tag, words(k.kind), k.ours, k.others] for k in unit.visits_by_kind)


def readings(unit: Any, paper: bool) -> Iterator[list[Cell]]:
    for r in [] if paper else unit.readings:
        sample, value = r.sample_temperature, [r.value.value, r.value.unit]
        value += [sample.value, sample.unit] if sample else [None, None]
        entered = r.value.entered if r.value.has("entered") else None
        place = [words(r.quantity), r.component, r.tap, words(r.when)]
        yield [unit.tag, day(r.on), day(r.at), *place, *value, r.evidence, entered, r.visit]


TABLES: Mapping[str, Callable[[Any, bool], Iterator[list[Cell]]]] = {
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
    "Advice": advice,
    "Plan": plan,
    "Visits by kind": kinds,
    "Readings": readings,
}
DIGITS = {"Currents": (0, 0, 0, 0, 2, 2, 0)}


# The PDF.


def printed(cell: Cell, digits: int) -> str:
    if cell is None:
        return "\u2013"
    if isinstance(cell, datetime):
        return f"{cell:%Y-%m-%d}" if (cell.hour, cell.minute) == (0, 0) else f"{cell:%Y-%m-%d %H:%M}"
    return f"{cell:.{digits}f}".replace("-", "\u2212") if isinstance(cell, float) else str(cell)


def squeezed(text: str) -> str:
    """Without blanks and hyphens, which lines that are broken move about."""
    return re.sub(r"[\s\u00ad\u200b\u2010-]", "", text)


def lines_of(summary: Marked) -> Iterator[str]:
    """What the document must hold, in its order."""
    yield from first_page(summary)
    side = [side_by_side(unit) for unit in summary.units]
    yield from side if len(side) <= 12 else ()
    yield from (each.sentence for each in summary.gaps)
    for unit in summary.units:
        yield from unit_lines(unit)
    yield from side if len(side) > 12 else ()
    yield from table_lines(summary)
    state = summary.data_state
    latest = f", the latest visit on {utc(state.latest_visit_at)} UTC" if state.latest_visit_at else ""
    yield f"{state.visits} visits and {state.units} units, as of {utc(summary.as_of)} UTC{latest}; data "
    yield f"{state.digest}; glycol-fleet {summary.program_version}. The plan runs from {summary.plan_from} to "
    yield summary.plan_to
    yield from (f"{each.term}. {each.text}" for each in summary.definitions)


def first_page(summary: Marked) -> Iterator[str]:
    sender = summary.company
    contact = ", ".join(filter(None, (sender.phone, sender.email)))
    yield from (line or "" for line in (sender.name, sender.address, contact, sender.licence))
    yield from (f"{summary.first_day} to {summary.last_day}", f"Service summary {summary.year}")
    yield from (summary.customer_name, summary.headline.how_it_went)
    without, _, failed = summary.headline.figures
    yield f"{without.text}{without.label}"
    yield f"{share_text(summary.pm)}{summary.headline.figures[1].label}"
    yield f"{failed.text}{failed.label}"
    yield from summary.headline.what_to_do
    for each in summary.visits_by_kind:
        yield f"visits: {words(each.kind)}{each.ours}{each.others}{each.ours + each.others}"
    yield f"replacements{summary.replaced.ours}{summary.replaced.others}{summary.replaced.total}"
    yield from (site_text(summary.time_on_site), pm_text(summary.pm), without_text(summary.without_cold_beer))
    yield parts_text(summary.replaced)
    yield from moved_text(summary.refrigerant)
    found = summary.root_causes
    states = f"open {found.open}, confirmed {found.confirmed}, dismissed {found.dismissed}, resolved {found.resolved}"
    yield from [f"Root causes: {found.total}; {states}."] if found.total else []


def table_lines(summary: Marked) -> Iterator[str]:
    for name, rows_of in TABLES.items():
        for row in (row for unit in summary.units for row in rows_of(unit, True)):
            digits = DIGITS.get(name, (1,) * len(row))
            yield "".join(printed(cell, places) for cell, places in zip(row, digits, strict=True))


def utc(text: str) -> str:
    return f"{datetime.fromisoformat(text).astimezone(UTC):%Y-%m-%d %H:%M}"


def site_text(time: Marked) -> str:
    of = f"the {time.timed} of {time.visits} visits whose end is recorded"
    return f"Time on site: {number(time.total):.1f} h, from {of}."


def moved_text(moved: Marked) -> Iterator[str]:
    """Amounts are rounded to about three digits, as a person would."""
    both = (("added", moved.added), ("recovered", moved.recovered))
    shown = [f"{what} {float(f'{mass.value:.3g}'):g} {mass.unit}" for what, mass in both if mass]
    yield from [f"Refrigerant: {', '.join(shown)}."] if shown else []


def pm_text(pm: Marked) -> str:
    judged = pm.on_time + pm.late + pm.missed
    return (
        f"PM: {judged} judged, {pm.on_time} on time, {pm.late} late, {pm.missed} missed; first on record {pm.first}, "
        f"never recorded {pm.never_recorded}."
    )


def share_text(pm: Marked) -> str:
    judged, share = pm.on_time + pm.late + pm.missed, pm.share_on_time
    return "not judged" if share is None else f"{pm.on_time} of {judged} ({100 * share:.0f} %)"


def without_text(cold: Marked) -> str:
    return f"Outages (no cold beer): {cold.outages}, in all {span(cold)}."


def short(cold: Marked) -> str:
    seen, estimated, high = number(cold.seen), number(cold.estimated), number(cold.estimated_high)
    if high is None:
        return f"about {estimated:.1f} h or more" if estimated else "not known"
    return f"{seen:.1f} h" if high == seen else f"about {estimated:.1f} h"


def span(cold: Marked) -> str:
    seen, high = number(cold.seen), number(cold.estimated_high)
    if high is not None and high == seen:
        return short(cold)
    most = "the end of some not known" if high is None else f"{high:.1f} h at the most"
    return f"{short(cold)}, {seen:.1f} h of it seen, {most}"


def parts_text(parts: Marked) -> str:
    return (
        f"Replacements: {parts.total} in all. Failed {parts.failed}, precaution {parts.precaution}, upgrade "
        f"{parts.upgrade}, reason unknown {parts.unknown}. By us {parts.ours}, by others {parts.others}. Seen by us "
        f"{parts.seen}, reported to us {parts.reported}."
    )


def side_by_side(unit: Marked) -> str:
    pm, cold, share = unit.pm, unit.without_cold_beer, unit.pm.share_on_time
    made = sum(each.ours + each.others for each in unit.visits_by_kind)
    on_time = None if share is None else 100.0 * share
    hours = [number(cold.seen), number(cold.estimated), number(cold.estimated_high)]
    cells = [unit.tag, unit.site_name, made, pm.on_time, pm.late, pm.missed, on_time, cold.outages, *hours]
    shown = [printed(cell, 0 if place == 6 else 1) for place, cell in enumerate(cells)]
    return "".join([*shown, str(unit.replaced.total), str(unit.replaced.failed)])


def unit_lines(unit: Marked) -> Iterator[str]:
    days = (
        ("installed", unit.installed_on),
        ("retired", unit.retired_on),
        ("moved in", unit.moved_in_on),
        ("moved out", unit.moved_out_on),
    )
    about = [unit.site_name, unit.place, unit.maker, unit.model, *(f"{what} {on}" for what, on in days if on)]
    yield unit.tag + ", ".join(each for each in about if each)
    pm, parts = unit.pm, unit.replaced
    yield short(unit.without_cold_beer) + "Hours without cold beer" + f"Outages: {unit.without_cold_beer.outages}."
    yield f"{share_text(pm)}PM on time"
    yield f"Late {pm.late}, missed {pm.missed}; first {pm.first}, never recorded {pm.never_recorded}."
    yield f"{parts.failed}Parts failed"
    yield f"Of {parts.total} replaced; precaution {parts.precaution}, upgrade {parts.upgrade}, unknown "
    yield f"{parts.unknown}; by us {parts.ours}, by others {parts.others}; seen {parts.seen}, reported "
    yield f"{parts.reported}."
    for kind in unit.visits_by_kind:
        if kind.ours or kind.others:
            yield f"{words(kind.kind)} {kind.ours + kind.others}"
    yield site_text(unit.time_on_site)
    yield from moved_text(unit.refrigerant)
    for each in unit.advice:
        of_root_cause = each.source == "the failures on record"
        yield f"{each.what} {'See the root causes.' if of_root_cause else each.reason}"
    for found in unit.root_causes:
        yield from root_cause_lines(found)
    yield from (each.sentence for each in unit.gaps)
    target, least, source = limits(unit)
    if any(each.margin for each in unit.glycol.points):
        yield (f"Target strength {target}. " if target else "") + f"Least margin {least}: {source}."


def root_cause_lines(found: Marked) -> Iterator[str]:
    kind = (words(found.kind) or "").capitalize()
    yield f"{kind}: tier {found.tier}, {found.state}. {found.explanation} First seen on {found.first_seen_on}. "
    yield f"Probability of chance: {100 * found.probability_of_chance:.3g} %."
    yield ", ".join(
        f"{words(each.cause)} {100 * each.probability:.0f} %" for each in found.causes if each.probability >= 0.01
    )
    yield ", ".join(words(each.cause) or "" for each in found.causes if each.probability < 0.01)
    todo = (("Next check", found.next_check), ("Remedy", found.remedy))  # once: most explanations name them
    yield " ".join(f"{label}: {text}" for label, text in todo if text not in found.explanation)
    decided_on, by, why = found.decided_on, found.decided_by, found.why  # an undecided one has none, and shows none
    if decided_on:
        yield f"on {decided_on} by {by}: {why}."
    if found.resolved_on:
        yield f"Resolved on {found.resolved_on}."
    before, years_before = found.failed_before, found.years_before
    after, years_after, chance = found.failed_after, found.years_after, found.chance
    if found.verdict:
        yield f"Failures: {before} in {years_before:.1f} component-years before the remedy, "
        yield f"{after} in {years_after:.1f} after it. At one and the same rate that has a probability of "
        yield f"{chance:.2g}. {found.verdict.capitalize()}."


def limits(unit: Marked) -> tuple[str | None, str, str]:
    """As a person would round them. Where no glycol was measured they say nothing, and are not shown."""
    target, least = unit.glycol.target, unit.glycol.least_margin
    wanted = f"{float(f'{target.value:.3g}'):g} mass%" if target else None
    return wanted, f"{round(least.value, 1):g} \u00b0{least.unit[-1]}", unit.glycol.least_margin_source


def readable(line: str) -> str:
    """The part of a line that a reader of PDFs gives back as it was typed: other scripts are looked at elsewhere."""
    found = re.match(r"[ -~\u2013\u2212\u00b0]*", line)
    return squeezed(found[0] if found else "")[:150]


def missing(summary: Any, made: bytes) -> tuple[list[str], set[str]]:
    """The lines that the PDF does not hold in their order, and the paths of the JSON that were looked for."""
    shown, taken = json.loads(summary_json.render(summary)), set[str]()
    pages = (page.extract_text() for page in PdfReader(io.BytesIO(made)).pages)
    text, place, lost = squeezed("\n".join(pages)), 0, []
    for line in lines_of(Marked(shown, "", taken)):
        found = text.find(readable(line), place)
        lost += [line] if found < 0 else []
        place = max(place, found)
    return lost, unread(shown, taken, NOT_ON_PAPER)


def unread(shown: Any, taken: set[str], left_out: Mapping[str, str]) -> set[str]:
    """The paths of the JSON that were neither taken nor left out for a reason."""
    paths = {path for path in leaves(shown) if path.split(".")[-1] not in KEYS} - taken
    return {
        path for path in paths if path not in left_out and not path.startswith(tuple(f"{each}." for each in left_out))
    }


@pytest.mark.parametrize("name", ["demo", "hostile", "many"])
def test_every_figure_of_the_json_is_in_the_pdf(databases: dict[str, Any], name: str) -> None:
    for summary in years(databases[name]):
        assert missing(summary, summary_pdf.render(summary)) == ([], set()), summary.customer


# The charts, by the text that stands in for each of them.

SIGNS = {"degC": "\u00b0C", "degF": "\u00b0F", "deltaC": "\u00b0C", "deltaF": "\u00b0F"}
REASONS = {"failed": "failed", "precaution": "as a precaution", "upgrade": "upgrade", "unknown": "reason unknown"}
Points = list[tuple[str, Any]]


def series_of(unit: dict[str, Any]) -> Iterator[tuple[str, Points]]:
    """What each series of a unit's charts must show: its name, and day and value of each point."""
    yield "margin", [(each["on"], each["margin"]) for each in unit["glycol"]["points"] if each["margin"]]
    yield "split", [(each["on"], each["split"]) for each in unit["condenser"] if each["split"]]
    yield "as found", [(each["on"], fouling(each["as_found"])) for each in unit["condenser"] if each["as_found"]]
    for what in ("beer", "bath"):
        for when in ("as_found", "as_left"):
            yield f"{what} {when.replace('_', ' ')}", [(each["on"], each[when]) for each in unit[what] if each[when]]
    for reason, name in REASONS.items():
        parts = [
            (each["on"], each["kind"].replace("_", " ")) for each in unit["replacements"] if each["reason"] == reason
        ]
        yield name, parts


def series_text(name: str, points: Points) -> str:
    """Eight points one by one; of more, the first eight words, or how many numbers lie between which."""
    shown = [f"{value_text(value)} on {on}" for on, value in points]
    if len(points) <= 8:
        return f"{name}: {', '.join(shown)}."
    if isinstance(points[0][1], str):
        return f"{name}: {', '.join(shown[:8])} and {len(points) - 8} more."
    low, high = (pick((value for _, value in points), key=lambda each: each["value"]) for pick in (min, max))
    return f"{name}: {len(points)} readings between {value_text(low)} and {value_text(high)}."


def value_text(value: Any) -> str:
    return value if isinstance(value, str) else f"{value['value']:.1f} {SIGNS[value['unit']]}"


def spell_text(outage: dict[str, Any]) -> str:
    ended = outage["restored_at"]
    until = f"to {ended[:10]}" if ended else "and not known to have ended"
    seen, about = (outage[name]["value"] / 60 for name in ("seen", "estimated"))
    return f"no cold beer: from {outage['started_at'][:10]} {until}, about {about:.1f} h, {seen:.1f} h of it seen."


def alternatives(made: bytes) -> str:
    reader = PdfReader(io.BytesIO(made))
    parts = (reader.get_object(number) for number in range(1, int(reader.trailer["/Size"])))
    return "".join(str(part["/Alt"]) for part in parts if isinstance(part, dict) and "/Alt" in part)


def test_every_chart_is_described_by_the_figures_of_the_json(databases: dict[str, Any]) -> None:
    for summary in years(databases["demo"]):
        text = alternatives(summary_pdf.render(summary))
        for unit in json.loads(summary_json.render(summary))["units"]:
            wanted = [series_text(name, points) for name, points in series_of(unit) if points]

            assert [each for each in (*wanted, *map(spell_text, unit["outages"])) if each not in text] == []


# The workbook.


def sheets_of(summary: Marked) -> dict[str, list[list[Cell]]]:
    """What each sheet must hold below its heads."""
    shown = {name: [row for unit in summary.units for row in TABLES[name](unit, False)] for name in TABLES}
    definitions = [[each.term, each.text] for each in summary.definitions]
    return {
        "Answer": list(answer(summary)), "Totals": list(totals(summary)), "Units": list(map(whole_unit, summary.units)),
        **shown, "Definitions": definitions,
    }  # fmt: skip


def answer(summary: Marked) -> Iterator[list[Cell]]:
    shown, state, sender = summary.headline, summary.data_state, summary.company
    about = {name: getattr(sender, name) for name in ("name", "address", "phone", "email", "licence")}
    yield from ([f"Company: {name}", fact] for name, fact in about.items() if fact)
    yield from (["Customer", summary.customer_name], ["How it went", shown.how_it_went])
    yield from ([each.label, each.text] for each in shown.figures)
    yield from (["What to do", each] for each in shown.what_to_do)
    yield from (["From", day(summary.first_day)], ["To", day(summary.last_day)])
    yield from (["Plan from", day(summary.plan_from)], ["Plan to", day(summary.plan_to)])
    yield from (["As of, UTC", in_utc(summary.as_of)], ["Data", state.digest])
    yield from (["Visits on record", state.visits], ["Units on record", state.units])
    yield from (["Latest visit, UTC", in_utc(state.latest_visit_at)], ["Program version", summary.program_version])
    yield from (["Not known", each.sentence] for each in summary.gaps)
    for unit in summary.units:
        yield from ([f"Not known of {unit.tag}", each.sentence] for each in unit.gaps)


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


def whole_unit(unit: Marked) -> list[Cell]:
    pm, cold, others = unit.pm, unit.without_cold_beer, sum(each.others for each in unit.visits_by_kind)
    about = [
        unit.site_name,
        unit.place,
        unit.maker,
        unit.model,
        unit.time_zone,
        *map(day, (unit.installed_on, unit.retired_on, unit.moved_in_on, unit.moved_out_on)),
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
    "units.advice.on": "the reason names the day",
    "units.outages.on": "the visit's row has its arrival",
    "units.outages.restored_on": "the day of `restored_at`",
    "units.time_on_site.visits": "the row has the visits",
    "units.pm_lines.task": "the code of a task; its name is there",
    "units.plan.task": "as above",
    "units.outages.restored_by": "the instant is there",
    "units.outages.started_by": "in the CSV; the sentence beside it says what is not known",
    "units.outages.began_before": "its sentence says so",
    "units.outages.estimated_low": "the same as what was seen",
    "units.outages.stretches": "drawn, and in the CSV; their sum stands there",
    "units.without_cold_beer": "the table of the units has it",
    "without_cold_beer.estimated_low": "the same as what was seen",
    "units.glycol.target": "beside each measurement of the strength, where there is one",
    "units.glycol.least_margin": "beside each margin, where there is one",
    "units.glycol.least_margin_source": "a sentence; on the unit's page of the document",
    "units.readings.sample_temperature.entered": "its number and unit of measure stand there",
    **{path: "stands among the readings" for path in NOT_ON_PAPER if path.endswith(".entered")},
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
