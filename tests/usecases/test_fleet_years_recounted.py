"""The fleet's year of the demo fleet, recounted in plain Python from its exported records."""

import importlib.util
import json
import sys
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from math import comb, exp, factorial, sqrt
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from service.app import open_database
from service.domain.audit import Actor
from service.rendering.year import fleet_json as fleet_year_json
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases.transfer import exporting, importing
from service.usecases.year import summaries
from service.usecases.year.summaries import summarise_fleet

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
ACTOR = Actor("tester", "owner", None, NOW)
YEARS = (2025, 2026)


@pytest.fixture(scope="module", params=[1, 2])
def demo(request, tmp_path_factory):
    """The demo fleet of a seed in a database, and its export as plain records."""
    spec = importlib.util.spec_from_file_location("make_fleet", ROOT / "seed_data" / "make_fleet.py")
    maker = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = maker
    spec.loader.exec_module(maker)
    home = tmp_path_factory.mktemp("fleet")
    settings = Settings(database_url=f"sqlite:///{home}/fleet.db", home=home)
    upgrade(settings.database_url, ROOT / "migrations")
    database = open_database(settings)
    raw = [json.dumps(record).encode() for record in maker.make_fleet(NOW.date(), request.param)]
    closed = {"from": f"{NOW.year}-03-10", "until": f"{NOW.year}-04-20", "reason": "bar closed"}
    tags = [each["tag"] for each in map(json.loads, raw) if each["record"] == "unit"]
    entered = {"number": 1, "withdrawn": False, "at": f"{NOW.year}-03-01T12:00:00Z", "by": "anna", "former": []}
    raw += [json.dumps({"record": "pause", "unit": tag, **closed, **entered}).encode() for tag in tags[::7]]
    with database.writing() as store:
        assert not importing.import_records(store, ACTOR, read_lines(raw), keep_good=False).errors
    with database.reading() as store:
        records = json.loads(json.dumps(list(exporting.records(store))))
    yield database, records
    database.close()


def reported(database, year):
    with database.reading() as store:
        found = summarise_fleet(store, year, as_of=NOW, program_version="0")
    return json.loads(fleet_year_json.render(found))


class Recount:
    """The fleet's year from the exported records alone; days are the sites' own."""

    def __init__(self, records, year):
        self.first, self.last = date(year, 1, 1), min(date(year, 12, 31), NOW.date())
        self.sites = {each["code"]: each for each in records if each["record"] == "site"}
        self.units = {}
        for each in records:
            if each["record"] == "unit":  # a retirement comes as a record of its own
                self.units[each["tag"]] = self.units.get(each["tag"], {}) | each
        self.away = {}
        for each in records:
            if each["record"] == "pause":
                days = [date.fromisoformat(each[name]).toordinal() for name in ("from", "until")]
                self.away.setdefault(each["unit"], set()).update(range(days[0], days[1] + 1))
        void = {each["visit"] for each in records if each["record"] == "void"}
        self.visits = [
            each | {"day": self.day(each)} for each in records if each["record"] == "visit" and each["id"] not in void
        ]
        self.visits.sort(key=lambda each: each["arrived_at"])
        self.in_year = [each for each in self.visits if self.first <= each["day"] <= self.last]
        self.ours = [each for each in self.in_year if each.get("by", "us") == "us"]
        self.parts = [
            part | {"day": date.fromisoformat(part["on"]) if part.get("on") else visit["day"], "visit": visit}
            | {"kind": self.kind(visit["unit"], part["component"]), "by": part.get("by", "us")}
            for visit in self.visits
            for part in visit.get("replacements", ())
        ]  # fmt: skip
        self.parts_in_year = [each for each in self.parts if self.first <= each["day"] <= self.last]

    def day(self, visit):
        zone = self.sites[self.units[visit["unit"]]["site"]]["time_zone"]
        return datetime.fromisoformat(visit["arrived_at"]).astimezone(ZoneInfo(zone)).date()

    def kind(self, tag, code):
        return next(each["kind"] for each in self.units[tag]["components"] if each["code"] == code)

    def has(self, tag, kind):
        return any(each["kind"] == kind for each in self.units[tag]["components"])

    def life(self, tag):
        """(day of age 0, first day watched, last day watched)."""
        unit = self.units[tag]
        mine = [each["day"] for each in self.visits if each["unit"] == tag and each.get("by", "us") == "us"]
        begun = min([date.fromisoformat(unit["registered_on"]), *mine])
        installed = date.fromisoformat(unit["installed_on"]) if unit.get("installed_on") else None
        end = min(self.last, date.fromisoformat(unit.get("retired_on") or "9999-12-31"))
        if installed and installed >= begun:
            return installed, installed, end
        return installed or begun, begun + timedelta(days=1), end

    def in_service(self):
        visited = {each["unit"] for each in self.in_year} | {each["visit"]["unit"] for each in self.parts_in_year}
        return {
            tag
            for tag, unit in self.units.items()
            if tag in visited
            or (
                (unit.get("installed_on") or "") <= str(self.last)
                and (unit.get("retired_on") or "z") >= str(self.first)
            )
        }

    def failures(self, tags, kind=None):
        """Days of failures while watched, by unit."""
        found = {tag: [] for tag in tags}
        for each in self.parts:
            tag = each["visit"]["unit"]
            if tag in found and has_failed(each) and kind in (None, each["kind"]):
                found[tag] += [each["day"]] if each["day"].toordinal() in self.watched(tag, date.min, date.max) else []
        return found

    def years(self, tags, first, last):
        return sum(len(self.watched(tag, first, last)) for tag in tags) / 365.25

    def watched(self, tag, first, last):
        """The days watched, one by one: not those out of service."""
        _, start, end = self.life(tag)
        begins, ends = max(start, first).toordinal(), min(end, last).toordinal()
        return set(range(begins, ends + 1)) - self.away.get(tag, set())


def has_failed(part):
    """By the document's definition "Failed, precaution, upgrade, unknown"."""
    found_so = ("burnt", "seized", "leaking", "stuck", "broken", "open_circuit")
    return part["reason"] == "failed" or part["condition"] in found_so


def hours(visits):
    spans = [(each["arrived_at"], each["left_at"]) for each in visits if each.get("left_at")]
    return sum((datetime.fromisoformat(b) - datetime.fromisoformat(a)).total_seconds() for a, b in spans) / 60


def cost(visits):
    repairs = [each for each in visits if each["kind"] in ("service_call", "follow_up")]
    return len(visits), len(repairs), pytest.approx(hours(visits), rel=1e-5)


def cost_shown(line):
    return line["visits"], line["repair_visits"], line["hours_on_site"]["value"]


@pytest.fixture(params=YEARS)
def both(request, demo):
    """(as the program answers, as it is recounted)"""
    database, records = demo
    return reported(database, request.param), Recount(records, request.param)


def test_visits_and_hours_of_fleet_customers_sites_and_units(both):
    year, again = both
    site_of = {tag: unit["site"] for tag, unit in again.units.items()}
    customer_of = {tag: again.sites[site]["customer"] for tag, site in site_of.items()}

    for each in year["visits_by_kind"]:
        by = Counter(visit.get("by", "us") for visit in again.in_year if visit["kind"] == each["kind"])
        assert (each["ours"], each["others"]) == (by["us"], by["others"])
    for name, key, of in (("units", "unit", None), ("sites", "code", site_of), ("customers", "code", customer_of)):
        for line in year[name]:
            mine = [each for each in again.ours if (of[each["unit"]] if of else each["unit"]) == line[key]]
            assert cost_shown(line) == cost(mine)
    assert {line["unit"] for line in year["units"]} == again.in_service()


def test_units_unvisited_new_and_retired(both):
    year, again = both
    visited = {each["unit"] for each in again.ours}
    span = (str(again.first), str(again.last))
    dated = {
        name: sorted(t for t, unit in again.units.items() if span[0] <= (unit.get(name) or "") <= span[1])
        for name in ("installed_on", "retired_on")
    }

    assert year["unvisited"] == sorted(again.in_service() - visited)
    assert (year["new_units"], year["retired_units"]) == (dated["installed_on"], dated["retired_on"])


def test_replacements_by_reason_whom_and_kind(both):
    year, again = both
    reasons = Counter("failed" if has_failed(each) else each["reason"] for each in again.parts_in_year)
    whom = Counter(each["by"] for each in again.parts_in_year)
    by_kind = Counter((each["kind"], "failed" if has_failed(each) else each["reason"]) for each in again.parts_in_year)
    names = ("failed", "precaution", "upgrade", "unknown")

    assert [year["replaced"][name] for name in names] == [reasons[name] for name in names]
    assert (year["replaced"]["ours"], year["replaced"]["others"]) == (whom["us"], whom["others"])
    for line in year["parts"]:
        assert [line[name] for name in names] == [by_kind[line["kind"], name] for name in names]
        assert line["units"] == sum(again.has(tag, line["kind"]) for tag in again.in_service())


def test_visits_by_part_condition_and_complaint(both):
    year, again = both
    at = {}
    for each in again.parts_in_year:
        visit = each["visit"]
        if visit["day"] == each["day"] and each["by"] == "us" and visit.get("by", "us") == "us":
            at.setdefault(("part", each["kind"]), {})[visit["id"]] = visit
            if has_failed(each):
                at.setdefault(("condition", each["condition"]), {})[visit["id"]] = visit
    for visit in again.ours:
        if visit.get("complaint"):
            at.setdefault(("complaint", visit["complaint"]["symptom"]), {})[visit["id"]] = visit

    for basis, word, line in (
        *(("part", line["kind"], line) for line in year["parts"]),
        *((line["basis"], line["cause"], line) for line in year["causes"] if line["basis"] != "root_cause"),
    ):
        assert cost_shown(line) == cost(list(at.get((basis, word), {}).values()))
    assert {(b, w) for b, w in at if b != "part"} <= {(line["basis"], line["cause"]) for line in year["causes"]}


def at_most(count, mean):
    return exp(-mean) * sum(mean**k / factorial(k) for k in range(count + 1))


def assert_limits(count, years, low, high):
    """Garwood 1936: at the limits the tails hold 2.5 % each."""
    assert at_most(count, high * years) == pytest.approx(0.025, rel=1e-6)
    assert (1 - at_most(count - 1, low * years) if count else 0.025) == pytest.approx(0.025, rel=1e-6)


def test_failures_a_unit_year_by_model_with_their_exact_limits(both):
    year, again = both
    for line in year["models"]:
        tags = [
            tag
            for tag in again.in_service()
            if again.units[tag].get("maker") == line["maker"] and line["model"] in (None, again.units[tag].get("model"))
        ]
        failed = sum(again.first <= day <= again.last for days in again.failures(tags).values() for day in days)
        years = again.years(tags, again.first, again.last)

        assert (line["units"], line["failed"]) == (len(tags), failed)
        assert (line["unit_years"], line["rate"]) == pytest.approx((years, failed / years))
        assert_limits(failed, years, line["low"], line["high"])


def test_each_kind_this_year_against_before(both):
    year, again = both
    for line in year["kinds"]:
        tags = [tag for tag in again.units if again.has(tag, line["kind"])]  # those retired before too
        days = [day for each in again.failures(tags, line["kind"]).values() for day in each]
        now, before = sum(day >= again.first for day in days), sum(day < again.first for day in days)
        eve = again.first - timedelta(days=1)
        spans = again.years(tags, again.first, again.last), again.years(tags, date(1900, 1, 1), eve)
        share, total = spans[0] / sum(spans), now + before
        chances = [comb(total, k) * share**k * (1 - share) ** (total - k) for k in range(total + 1)]
        unlikely = sum(chance for chance in chances if chance <= chances[now] * (1 + 1e-9))

        assert (line["failed"], line["failed_before"]) == (now, before)
        assert (line["unit_years"], line["unit_years_before"]) == pytest.approx(spans)
        assert line["chance"] == (None if not total else pytest.approx(unlikely))


def test_curves_by_brute_force_in_fractions(both):
    year, again = both
    assert len(year["curves"]) >= 10
    for curve in year["curves"]:
        tags = [tag for tag in sorted(again.units) if again.has(tag, curve["kind"])]
        lives = [again.life(tag) for tag in tags]
        ages = [
            [
                (each["day"] - origin).days
                for each in again.parts
                if each["visit"]["unit"] == tag and each["kind"] == curve["kind"] and start <= each["day"] <= end
                and (curve["reason"] == "all" or has_failed(each))
            ]
            for tag, (origin, start, end) in zip(tags, lives, strict=True)
        ]  # fmt: skip
        spans = [((start - origin).days, (end - origin).days) for origin, start, end in lives]
        low, high = longest(spans)
        steps = brute(ages, spans, low, high)

        assert (curve["after_days"], curve["until_days"]) == (max(low - 1, 0), high)
        assert [(each["age_days"], each["watched"]) for each in curve["steps"]] == [step[:2] for step in steps]
        for each, (_, _, mean, variance) in zip(curve["steps"], steps, strict=True):
            factor = exp(1.959963985 * sqrt(variance) / float(mean))
            assert (each["mean"], each["low"], each["high"]) == pytest.approx(
                (float(mean), float(mean) / factor, float(mean) * factor)
            )


def longest(spans):
    """The longest run of ages at each of which five units were watched."""
    best, run = (0, -1), None
    for age in range(-1, max(end for _, end in spans) + 2):
        if sum(start <= age <= end for start, end in spans) >= 5:
            run = (run[0], age) if run else (age, age)
            best = run if run[1] - run[0] > best[1] - best[0] else best
        else:
            run = None
    return best


def brute(ages, spans, low, high):
    mean, strays, steps = Fraction(0), [Fraction(0)] * len(ages), []
    for age in sorted({age for each in ages for age in each if low <= age <= high}):
        watched = [n for n, (start, end) in enumerate(spans) if start <= age <= end]
        each = Fraction(sum(ages[n].count(age) for n in watched), len(watched))
        mean += each
        for n in watched:
            strays[n] += (ages[n].count(age) - each) / len(watched)
        steps.append((age, len(watched), mean, sum(stray * stray for stray in strays)))
    return steps


@pytest.mark.parametrize("year", YEARS)
def test_pm_and_hours_without_cold_beer_are_those_of_the_customers_added_up(demo, year):
    database, _ = demo
    fleet = reported(database, year)
    with database.reading() as store:
        each = [
            summaries.summarise(store, code, year, as_of=NOW, program_version="0", units_shown=None)
            for code in summaries.customers(store)
        ]

    for state in ("on_time", "late", "missed", "first", "never_recorded"):
        whole = sum(getattr(customer.pm, state) for customer in each)
        assert fleet["pm"][state] == sum(task[state] for task in fleet["tasks"]) == whole
    for name in ("seen", "estimated"):
        hours = sum(getattr(customer.without_cold_beer, name).value for customer in each) / 60
        assert fleet["without_cold_beer"][name]["value"] == pytest.approx(hours)
    assert fleet["without_cold_beer"]["outages"] == sum(customer.without_cold_beer.outages for customer in each)


def test_hours_to_repair_and_pm_missed_by_month(demo):
    database, records = demo
    year, again = reported(database, 2026), Recount(records, 2026)
    for line in year["units"]:
        repairs = [v for v in again.ours if v["unit"] == line["unit"] and v["kind"] in ("service_call", "follow_up")]
        assert line["hours_to_repair"]["value"] == pytest.approx(hours(repairs), rel=1e-5)
    assert [line["hours_to_repair"]["value"] for line in year["customers"]] == sorted(
        (line["hours_to_repair"]["value"] for line in year["customers"]), reverse=True
    )
    undone = year["pm"]["missed"] + year["pm"]["never_recorded"]
    assert sum(line["missed"] for line in year["missed"]) == undone
