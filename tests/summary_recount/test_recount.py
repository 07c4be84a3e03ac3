"""Every figure of the JSON summary equals a second count of the exported records, on demo and generated fleets."""

import importlib.util
import json
import re
import sqlite3
import sys
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from service.app import open_database
from service.domain.audit import Actor
from service.rendering.year import plan_strip, summary_json, unit_charts
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases.transfer import exporting, importing
from service.usecases.year import summaries
from tests.summary_recount import advice, curves
from tests.summary_recount.generated import fleet
from tests.summary_recount.recount import Customer, instant
from tests.summary_recount.tables import si

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
ROUNDING = 2e-5  # answers show six significant digits
LONG = "Ünï \"q\" 'a' 🍺 \u202eמשקה <b>&amp; " + "x" * 1960
HOSTILE = {"formula": "=cmd|' /C calc'!A0", "right to left": "\u202eמשקה بار", "long": LONG}


def demo(seed):
    """The demo fleet's maker, loaded from its path."""
    spec = importlib.util.spec_from_file_location("make_fleet", ROOT / "seed_data" / "make_fleet.py")
    maker = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = maker
    spec.loader.exec_module(maker)
    return maker.make_fleet(NOW.date(), seed)


FLEETS = {
    "demo 1": lambda: demo(1),
    "demo 3": lambda: demo(3),
    "no units": lambda: fleet(units=0, visits=0, seed=1),
    "no visits": lambda: fleet(units=3, visits=0, seed=1),
    "one unit": lambda: fleet(units=1, visits=12, seed=2, name=HOSTILE["formula"]),
    "many visits": lambda: fleet(units=2, visits=80, seed=3, shown="si", name=HOSTILE["right to left"]),
    "large": lambda: fleet(units=60, visits=400, seed=4, name=HOSTILE["long"]),
    "registered early": lambda: fleet(units=8, visits=30, seed=6, registered="2024-06-11"),
    "one year": lambda: fleet(units=9, visits=90, seed=5, days=300),
}


@pytest.fixture(scope="module", params=FLEETS)
def database(request, tmp_path_factory):
    """(database, its records as `export` writes them)"""
    home = tmp_path_factory.mktemp("recount")
    settings = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home)
    upgrade(settings.database_url, ROOT / "migrations")
    opened, actor = open_database(settings), Actor("tester", "owner", None, NOW)
    lines = read_lines(json.dumps(record).encode() for record in FLEETS[request.param]())
    with opened.writing() as store:
        importing.import_records(store, actor, lines, keep_good=False)
    opened.close()
    with sqlite3.connect(home / "fleet.db") as raw:  # as if each had been recorded when it happened
        raw.execute("UPDATE visit SET posted_at = arrived_at")
        raw.execute("UPDATE call SET posted_at = received_at")
    raw.close()
    opened = open_database(settings)
    with opened.reading() as store:
        records = [json.loads(json.dumps(record)) for record in exporting.records(store)]
    yield opened, records
    opened.close()


YEARS = [(2024, NOW), (2025, NOW), (2026, NOW), (2026, datetime(2026, 5, 2, 3, tzinfo=UTC))]


@pytest.fixture(scope="module", params=YEARS, ids=lambda year: f"{year[0]} as of {year[1]:%m-%d}")
def summarised(request, database):
    """[(summary, the same as JSON, recount)] of every customer."""
    (opened, records), (year, as_of) = database, request.param
    made = []
    for code in [record["code"] for record in records if record["record"] == "customer"]:
        with opened.reading() as store:
            document = summaries.summarise(store, code, year, as_of=as_of, program_version="0", units_shown=None)
        again = Customer(records, code, year=year, as_of=as_of, registered=NOW)
        made.append((document, json.loads(summary_json.render(document)), again))
    return made


@pytest.fixture
def years(summarised):
    """[(JSON summary, recount)] of every customer."""
    return [(document, again) for _, document, again in summarised]


@pytest.fixture
def units(years):
    """[(unit of the JSON, recount)]"""
    return [pair for document, again in years for pair in zip(document["units"], again.there, strict=True)]


def close(shown, again, slack=0.0):
    """Whether a shown value is the recounted one, to six digits and this slack."""
    if shown is None or again is None:
        return shown is None and again is None
    return abs(si(shown) - again) <= max(abs(again) * ROUNDING, 1e-9) + slack


def test_the_customer_its_units_and_the_state_of_the_data(years):
    for document, again in years:
        assert [unit["tag"] for unit in document["units"]] == [unit.tag for unit in again.there]
        assert (document["data_state"]["visits"], document["data_state"]["units"]) == (
            again.all_visits,
            len(again.units),
        )
        assert instant(document["data_state"]["latest_visit_at"]) == again.latest


def test_visits_by_kind_and_hours_on_site(units):
    for document, again in units:
        assert {each["kind"]: (each["ours"], each["others"]) for each in document["visits_by_kind"]} == again.by_kind()
        time = document["time_on_site"]
        assert (time["visits"], time["timed"]) == again.time_on_site()[:2]
        assert close(time["total"], again.time_on_site()[2])


def test_every_visit_is_reported(units):
    for document, again in units:
        shown = [(v["id"], v["on"], v["kind"], v["outcome"], v["symptom"], v["by"]) for v in document["visits"]]
        assert shown == [
            (v["id"], again.day(v).isoformat(), v["kind"], v.get("outcome"),
             (v.get("complaint") or {}).get("symptom"), v.get("by", "us"))
            for v in again.of_year
        ]  # fmt: skip
        for visit, record in zip(document["visits"], again.of_year, strict=True):
            assert [instant(visit[name]) for name in ("arrived_at", "left_at")] == [
                instant(record.get(name)) for name in ("arrived_at", "left_at")
            ]


def test_every_reading_is_reported(units):
    for document, again in units:
        counted = list(again.readings())
        assert [(r["visit"], r["quantity"], r["component"], r["tap"], r["when"]) for r in document["readings"]] == [
            each[:5] for each in counted
        ]
        assert all(close(r["value"], each[5], 1e-6) for r, each in zip(document["readings"], counted, strict=True))


def test_pm_line_by_line_and_added_up(units):
    for document, again in units:
        shown = [
            (
                line["task"],
                day(line["due_on"]),
                day(line["done_on"]),
                line["state"],
                line["days_late"],
                line["as_found"],
                line["interval"],
            )
            for line in document["pm_lines"]
        ]
        assert sorted(shown, key=str) == sorted(again.pm(), key=str)
        states = Counter(line[3] for line in again.pm())
        assert {name: document["pm"][name] for name in STATES} == {name: states[name] for name in STATES}
        assert document["pm"]["share_on_time"] == share(states)


STATES = ("on_time", "late", "missed", "first", "never_recorded")


def share(states):
    judged = sum(states[name] for name in STATES if name != "first")
    return states["on_time"] / judged if judged else None


def day(text):
    return None if text is None else date.fromisoformat(text)


def test_the_plan(units):
    for document, again in units:
        assert {line["task"]: [day(on) for on in line["due_on"]] for line in document["plan"]} == again.plan()
        overdue = {line["task"] for line in document["plan"] if line["overdue"]}
        assert overdue == {task for task, days in again.plan().items() if days[0] <= again.last}


def outages_added_up(document, counted):
    """Whether a total is that of the recounted outages."""
    assert (document["outages"], document["carried_over"]) == (
        sum(not before for *_, before in counted), sum(before for *_, before in counted),
    )  # fmt: skip
    most = [most for *_, most, _ in counted]
    assert document["end_unknown"] == most.count(None)
    assert close(document["seen"], sum(seen for _, _, _, seen, *_ in counted))
    assert close(document["estimated"], sum(estimated for *_, estimated, _, _ in counted))
    assert close(document["estimated_high"], None if None in most else sum(most))


def test_hours_without_cold_beer(units):
    for document, again in units:
        counted = list(again.outages())
        assert [
            (instant(o["started_at"]), o["restored_by"], o["ended"], o["began_before"]) for o in document["outages"]
        ] == [(begun, good, ended, before) for begun, good, ended, _, _, _, before in counted]
        for shown, (_, _, _, seen, estimated, most, _) in zip(document["outages"], counted, strict=True):
            assert close(shown["seen"], seen)
            assert close(shown["estimated"], estimated)
            assert close(shown["estimated_low"], seen)
            assert close(shown["estimated_high"], most)
            stretches = [(instant(each["started_at"]), instant(each["ended_at"])) for each in shown["stretches"]]
            assert sum((until - since).total_seconds() for since, until in stretches) == pytest.approx(seen, abs=1e-3)
        outages_added_up(document["without_cold_beer"], counted)


def test_temperatures_before_and_after(units):
    for document, again in units:
        for name, quantity in (("beer", "beer_temperature_at_tap"), ("bath", "bath_temperature")):
            counted = again.before_after(quantity)
            shown = {(each["visit"], each["tap"]): each for each in document[name]}
            assert shown.keys() == counted.keys()
            for key, (found, left) in counted.items():
                assert close(shown[key]["as_found"], found, 1e-3)
                assert close(shown[key]["as_left"], left, 1e-3)


def test_replacements_one_by_one_and_counted_four_ways(units):
    for document, again in units:
        counted = list(again.replacements())
        assert Counter(
            (day(r["on"]), r["component"], r["reason"], r["condition"], r["evidence"], r["by"], r["visit"])
            for r in document["replacements"]
        ) == Counter(counted)
        words = Counter(word for *_, evidence, by, _ in counted for word in (evidence, f"by {by}")) + again.counted()
        names = ("failed", "precaution", "upgrade", "unknown", "seen", "reported")
        assert {name: document["replaced"][name] for name in names} == {name: words[name] for name in names}
        assert (document["replaced"]["ours"], document["replaced"]["others"]) == (words["by us"], words["by others"])
        assert document["replaced"]["total"] == len(counted)


def test_glycol_strength_freezing_point_and_margin(units):
    """Within what the ASHRAE table and the program's source differ: of propylene 0.5 K to 35 % and 1.7 K beyond.

    Of ethylene both are that table, and differ by 0.4 K at most as they interpolate between other strengths.
    """
    for document, again in units:
        counted, points = again.glycol(), {point["visit"]: point for point in document["glycol"]["points"]}
        assert points.keys() <= counted.keys()
        assert all(counted[visit][0] > 0.58 for visit in counted.keys() - points.keys())
        for visit, point in points.items():
            mass, slack, freezes, coldest, surface_slack = counted[visit]
            assert close(point["strength"], mass, slack)
            weight = si(point["strength"])
            table_slack = 0.4 if again.ethylene else 0.5 if weight <= 0.35 else 1.7
            assert close(point["freezing_point"], freezes(weight), table_slack)
            assert close(point["coldest"], coldest, surface_slack + 1e-3)
            if coldest is not None:
                assert si(point["margin"]) == pytest.approx(
                    si(point["coldest"]) - si(point["freezing_point"]), abs=2e-3
                )


def test_the_condenser_as_found_and_its_split(units):
    for document, again in units:
        points = {point["visit"]: point for point in document["condenser"]}
        grades, splits = again.grades(), again.splits()
        assert {visit: point["as_found"] for visit, point in points.items() if point["as_found"]} == grades
        assert {visit for visit, point in points.items() if point["split"]} == splits.keys()
        clean = again.unit.get("refrigeration", {}).get("clean_split")
        for visit, point in points.items():
            if visit in splits:
                assert close(point["split"], *splits[visit])
            assert close(point["split_limit"], si(clean) + 10 / 1.8 if clean else None)


def test_currents_against_ratings(units):
    for document, again in units:
        counted = list(again.currents())
        assert [(c["visit"], c["component"], c["when"]) for c in document["currents"]] == [each[:3] for each in counted]
        for shown, (*_, amps, rated) in zip(document["currents"], counted, strict=True):
            assert close(shown["current"], amps)
            assert close(shown["rated"], rated)
            assert close(shown["share"], amps / rated if rated else None)


def test_refrigerant_added_and_recovered(units):
    for document, again in units:
        for what in ("added", "recovered"):
            assert close(document["refrigerant"][what], again.refrigerant(what))
            moves = [si(move["mass"]) for move in document["refrigerant_moves"] if move["what"] == what]
            assert sum(moves) == pytest.approx(again.refrigerant(what) or 0.0, rel=1e-4)


def test_what_is_overdue_and_what_was_advised_is_to_do(units):
    for document, again in units:
        if again.is_out:
            assert document["actions"] == []
            continue
        late = [line[3] for line in again.pm() if line[3] in ("missed", "never_recorded")]
        assert sum(each["basis"] == "overdue" for each in document["actions"]) == len(late)
        advised = Counter(v["advice"] for v in again.of_year if v.get("advice") and v.get("by", "us") == "us")
        shown = {each["what"]: each for each in document["actions"] if each["basis"] == "words"}
        assert {what: len(each["why"]) for what, each in shown.items()} == advised
        ranks = [BASES.index(each["basis"]) for each in document["actions"]]
        assert ranks == sorted(ranks)
        assert all(each["who"] == "you" for each in shown.values())


BASES = ["danger", "root_cause", "overdue", "limit", "words"]


def test_equal_lines_of_several_units_are_one(years):
    for document, _ in years:
        lines = [(each["who"], each["what"]) for each in document["actions"]]
        of_units = {(each["who"], each["what"]) for unit in document["units"] for each in unit["actions"]}
        assert (len(lines), set(lines)) == (len(set(lines)), of_units)


def test_the_totals_are_those_of_the_units(years):
    for document, again in years:
        kinds = [unit.by_kind() for unit in again.there]
        assert {each["kind"]: each["ours"] + each["others"] for each in document["visits_by_kind"]} == {
            kind["kind"]: sum(sum(unit[kind["kind"]]) for unit in kinds) for kind in document["visits_by_kind"]
        }
        states = Counter(line[3] for unit in again.there for line in unit.pm())
        assert {name: document["pm"][name] for name in STATES} == {name: states[name] for name in STATES}
        counted = [outage for unit in again.there for outage in unit.outages()]
        outages_added_up(document["without_cold_beer"], counted)
        parts = [part for unit in again.there for part in unit.replacements()]
        failed = sum(unit.counted()["failed"] for unit in again.there)
        assert (document["replaced"]["total"], document["replaced"]["failed"]) == (len(parts), failed)
        assert close(document["time_on_site"]["total"], sum(unit.time_on_site()[2] for unit in again.there))
        cases = [case["state"] for unit in document["units"] for case in unit["root_causes"]]
        states = ("open", "confirmed", "dismissed", "resolved")
        assert document["root_causes"] == {"total": len(cases), **{state: cases.count(state) for state in states}}


def test_how_often_we_came_and_what_was_not_seen(years):
    for document, again in years:
        made = {}
        for unit in again.there:
            for key, called in unit.arrivals().items():
                made[key] = made.get(key, False) or called
        if made:
            assert document["done"][0].split(" visit")[0] == str(len(made))
            assert (f"{sum(made.values())} of them because" in document["done"][0]) == (
                0 < sum(made.values()) < len(made)
            )
        tags = {unit.tag for unit in again.there}
        unseen = {unit.tag for unit in again.there if not unit.of_year}
        without = [each["sentence"] for each in document["gaps"] if each["sentence"].startswith("Units without")]
        assert without == [f"Units without a visit in this period: {len(unseen)} of {len(tags)}."] * bool(unseen)


def test_the_three_figures_of_the_headline(years):
    for document, again in years:
        figures = {each["code"]: each["value"] for each in document["headline"]["figures"]}
        counted = [each for unit in again.there for each in unit.outages()]
        states = Counter(line[3] for unit in again.there for line in unit.pm())
        seen, hours = (sum(each[place] for each in counted) / 3600 for place in (3, 4))
        known = hours if counted else any(unit.of_year for unit in again.there)
        known = seen if any(each[5] is None for each in counted) else known
        assert figures["hours_without_cold_beer"] == (pytest.approx(hours) if known else None)
        assert figures["breakdowns"] == sum(not before for *_, before in counted)
        assert figures["pm_on_time"] == share(states)


def test_what_is_to_do_is_ranked_and_equal_lines_are_one(years):
    for document, again in years:
        assert document["actions"] == sorted(document["actions"], key=advice.order)
        names = {line["task"]: line["name"] for unit in document["units"] for line in unit["pm_lines"]}
        due = advice.merged(again.there, lambda unit, names=names: advice.overdue(unit, names))
        for basis, counted in (("overdue", due), ("words", advice.merged(again.there, advice.words))):
            shown = [each for each in document["actions"] if each["basis"] == basis]
            assert [
                (each["what"], each["units"], len(each["why"]), day(each["first"]), day(each["last"])) for each in shown
            ] == counted
            assert all(each["by"] is None for each in shown)


def test_dangers_and_limits_that_are_clear_are_to_do_or_not(units):
    for document, again in units:
        shown = {each["what"]: each["basis"] for each in document["actions"]}
        for line, there in ({} if again.is_out else advice.clear(again)).items():
            assert (line in shown) == there, (document["tag"], line)
        dangers = {advice.POISON, advice.VOLTAGE, advice.CURRENT, *advice.SEEN.values()}
        assert all(shown[line] == "danger" for line in dangers & shown.keys())
        assert all(shown[line] == "limit" for line in {advice.SPLIT, advice.STRENGTH} & shown.keys())


def test_root_causes_are_to_do_while_they_are_probable_and_not_settled(summarised, database):
    """By the records, which hold the latest tier: in the year under way exactly these, in others no more than shown."""
    _, records = database
    found = [r for r in records if r["record"] == "root_cause" and r["tier"] in ("probable", "strong")]
    open_at = {r["unit"] for r in found if r["state"] in ("open", "confirmed")}
    for summary, document, again in summarised:
        for unit, counted in zip(document["units"], again.there, strict=True):
            acts = any(each["basis"] == "root_cause" for each in unit["actions"])
            if (document["year"], summary.as_of) == (NOW.year, NOW):
                assert acts == (unit["tag"] in open_at and not counted.is_out)
            unsettled = [each for each in unit["root_causes"] if each["state"] in ("open", "confirmed")]
            assert not acts or unsettled
            assert acts or not unsettled or unit["tag"] not in open_at or unit["retired_on"]


def test_by_when_it_is_to_do(years):
    for document, again in years:
        next_on = {unit.tag: advice.next_visit(unit) for unit in again.there}
        for each in (*document["actions"], *(each for unit in document["units"] for each in unit["actions"])):
            if each["basis"] != "words":
                waits = each["basis"] not in ("danger", "overdue")  # these are due at once, whatever the plan says
                days = [next_on[tag] for tag in each["units"]]
                assert day(each["by"]) == (advice.done_at_all(days) if waits else None)


def test_the_year_before(summarised, database):
    _, records = database
    for summary, document, _ in summarised:
        year, as_of = document["year"] - 1, summary.as_of
        before = Customer(records, document["customer"], year=year, as_of=as_of, registered=NOW).there
        counted = [each for unit in before for each in unit.outages()]
        visits, states = sum(len(unit.of_year) for unit in before), Counter(line[3] for u in before for line in u.pm())
        shown = document["year_before"]
        if not visits and not counted:
            assert shown is None
            continue
        begun = sum(not carried for *_, carried in counted)
        assert (shown["year"], shown["units"], shown["visits"], shown["breakdowns"]) == (
            year, len(before), visits, begun,
        )  # fmt: skip
        judged = sum(states[name] for name in STATES if name != "first")
        assert (shown["pm_on_time"], shown["pm_judged"]) == (states["on_time"], judged)
        assert shown["failed"] == sum(unit.counted()["failed"] for unit in before)
        assert close(shown["estimated"], sum(each[4] for each in counted))


def test_the_strip_of_next_year_has_every_day_of_the_plan(summarised):
    for summary, document, again in summarised:
        sites = {}
        for unit, counted in zip(document["units"], again.there, strict=True):
            for days in counted.plan().values():
                since = max(days[0], day(document["plan_from"]))
                sites.setdefault(unit["site_name"], Counter()).update((on.year, on.month) for on in (since, *days[1:]))
        months = [divmod(day(document["plan_from"]).month - 1 + number, 12) for number in range(13)]
        months = [(day(document["plan_from"]).year + years, month + 1) for years, month in months]
        strips = plan_strip.strips(summary)
        shown = {strip["name"]: strip["rows"] for strip in strips}
        if len(sites) > plan_strip.MOST_SITES:
            shown = {row[0]: [row] for row in shown["All sites"]}
        assert shown.keys() == sites.keys()
        for site, rows in shown.items():
            added = [sum(int(cell.rstrip("*") or 0) for cell in column) for column in list(zip(*rows, strict=True))[1:]]
            assert added == [sites[site][month] for month in months[: len(added)]]
            assert sum(added) == sum(sites[site].values())


def test_the_limits_of_the_curves_drawn(summarised):
    for summary, document, again in summarised:
        for unit, shown, counted in zip(summary.units, document["units"], again.there, strict=True):
            drawn = {str(chart.title): chart for chart in unit_charts.charts(unit, summary)}
            for title, (limits, band) in curves.limits(counted, document["units_shown"]).items():
                if title in drawn:
                    at = [value for _, value in drawn[title].limits]
                    assert at == pytest.approx(limits, rel=ROUNDING)
                    assert (drawn[title].band or (None,))[1:] == (pytest.approx(band, rel=ROUNDING) if band else ())
                    worded = [float(re.search(r"-?\d+(\.\d+)?", words)[0]) for words, _ in drawn[title].limits]
                    assert worded == pytest.approx(limits, abs=0.051)
            assert ("Pour and bath" in drawn) == bool(shown["beer"] or shown["bath"])
            near = curves.margin_is_near(counted)
            assert near is None or ("Freezing margin of the glycol" in drawn) == near
