"""One customer's year counted again from the exported records, in plain Python; physical values are SI."""

from calendar import monthrange
from collections import Counter
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from tests.summary_recount.due_dates import WORDS, Due
from tests.summary_recount.tables import BUBBLE, DEW, ETHYLENE, PROPYLENE, freezing, saturation, si, strength, unit_of

KINDS = ("maintenance", "service_call", "follow_up", "installation")
AILING = ("warm_pour", "foaming", "no_flow", "unit_dead", "frozen")
WARM_BEER = (40 + 459.67) / 1.8  # K: common practice, no source
WARM_BATH = (33 - 32) / 1.8 + 273.15 + 1e-6  # K: a warmer bath does not show the coil of a cold one
# found so it had failed, by the definition
FAILED = ("burnt", "seized", "leaking", "stuck", "broken", "open_circuit")
KEPT_BATH = 15 / 1.8  # K: the evaporator under the bath
HOTTEST = {"R-404A": 338.15}  # K: beyond it this blend's curve is not answered


def instant(text):
    """In UTC; None stays None."""
    return None if text is None else datetime.fromisoformat(text).astimezone(UTC)


def last_possible(text, visited_on):
    """The last day on which a reported replacement can have been made, which is never after the visit."""
    if text in (None, "unknown"):
        return visited_on
    end = text.split("/")[-1]
    if len(end) == 10:
        last = date.fromisoformat(end)
        return last if end == text else min(last, visited_on)
    year, month = int(end[:4]), int(end[5:] or 12)
    return min(date(year, month, monthrange(year, month)[1]), visited_on)


class Customer:
    """A customer's records, taken apart by unit."""

    def __init__(self, records, code, *, year, as_of, registered):
        of = {kind: [r for r in records if r["record"] == kind] for kind in ("site", "unit", "visit", "void", "task")}
        sites = {site["code"]: site for site in of["site"] if site["customer"] == code}
        gone = {void["visit"] for void in of["void"] if instant(void["at"]) <= as_of}
        right = {
            r["visit"]: r["correction"] for r in records if r["record"] == "correction" and instant(r["at"]) <= as_of
        }
        recorded = [visit | right.get(visit["id"], {}) for visit in of["visit"] if visit["id"] not in gone]
        visits = [visit for visit in recorded if instant(visit["arrived_at"]) <= as_of]
        retired = {unit["tag"]: unit["retired_on"] for unit in of["unit"] if unit.get("retired_on")}
        shop = {task["code"]: task["interval"] for task in of["task"]}
        own = [r for r in records if r["record"] == "unit_task"]
        calls = sorted((r for r in records if r["record"] == "call"), key=lambda call: instant(call["received_at"]))
        self.units = []
        for unit in {unit["tag"]: unit for unit in reversed(of["unit"])}.values():
            if unit["site"] in sites:
                unit = unit | {"retired_on": retired.get(unit["tag"])}  # noqa: PLW2901 - recorded as a last line
                intervals = shop | {each["code"]: each["interval"] for each in own if each["unit"] == unit["tag"]}
                seen = [visit for visit in visits if visit["unit"] == unit["tag"]]
                self.units.append(Unit(unit, sites[unit["site"]], (seen, calls), intervals, (year, as_of, registered)))
        self.units.sort(key=lambda unit: unit.tag)
        by_then = [visit for unit in self.units for visit in unit.visits if unit.day(visit) <= unit.last]
        self.all_visits = len(by_then)
        self.latest = max((instant(visit["arrived_at"]) for visit in by_then), default=None)
        self.there = [unit for unit in self.units if unit.is_there]


class Unit:
    """A unit's year."""

    def __init__(self, unit, site, recorded, intervals, when):
        year, as_of, registered = when
        visits, self.calls = recorded
        self.as_of = as_of
        self.unit, self.tag, self.zone = unit, unit["tag"], ZoneInfo(site["time_zone"])
        self.visits = sorted(visits, key=lambda visit: instant(visit["arrived_at"]))
        today = as_of.astimezone(self.zone).date()
        self.first, self.last = date(year, 1, 1), min(date(year, 12, 31), today)
        self.retired = date.fromisoformat(unit["retired_on"]) if unit["retired_on"] else None
        self.deadline = min(date(year + 1, 1, 1), today, self.retired or date.max)
        self.of_year = [visit for visit in self.visits if self.first <= self.day(visit) <= self.last]
        self.parts = {part["code"]: part for part in unit.get("components", ())}
        recorded = [
            (self.day(visit), task["task"], task["result"], task.get("as_found"), visit.get("by", "us"))
            for visit in self.visits
            for task in visit.get("tasks", ())
        ]
        own = {code: (f"{text.split()[1].rstrip('s')}s", int(text.split()[0])) for code, text in intervals.items()}
        since = date.fromisoformat(unit.get("registered_on") or str(registered.astimezone(self.zone).date()))
        self.due = Due(unit, site, recorded, own, since)
        self.ethylene = unit.get("bath", {}).get("glycol") == "ethylene"

    def day(self, visit):
        """At the site."""
        return instant(visit["arrived_at"]).astimezone(self.zone).date()

    @property
    def is_there(self):
        """In service on a day of the year, or visited or given an item in it."""
        installed = self.due.installed or date.min
        stood = installed <= self.last and (self.retired or date.max) >= self.first
        return stood or bool(self.of_year) or any(self.replacements())

    @property
    def is_out(self):
        """Whether it was out of our care when the period ended."""
        return bool(self.retired and self.retired <= self.last)

    def arrivals(self):
        """{arrival: whether somebody had called}: ours; visits of one attendance were one arrival."""
        made = {}
        for visit in self.of_year:
            if visit.get("by", "us") == "us":
                key = visit.get("attendance") or visit["id"]
                made[key] = made.get(key, False) or visit["kind"] == "service_call"
        return made

    def by_kind(self):
        """{kind: (ours, others')}"""
        counts = Counter((visit["kind"], visit.get("by", "us")) for visit in self.of_year)
        return {kind: (counts[kind, "us"], counts[kind, "others"]) for kind in KINDS}

    def time_on_site(self):
        """(visits, of these timed, seconds)"""
        spans = [
            (instant(visit["left_at"]) - instant(visit["arrived_at"])).total_seconds()
            for visit in self.of_year
            if visit.get("left_at")
        ]
        return len(self.of_year), len(spans), sum(spans)

    def pm(self):
        """(task, due, done, state, days late, grade, interval), in any order."""
        return self.due.lines(self.first, self.last, self.deadline)

    def plan(self):
        """{task: days}, the follow-up after an ailing unit included; nothing for one retired by then."""
        if self.retired and self.retired <= self.last:
            return {}
        made = dict(self.due.plan(self.last))
        ours_done = [
            v for v in self.visits if v.get("by", "us") == "us" and v.get("outcome") and self.day(v) <= self.last
        ]
        if ours_done and ours_done[-1]["outcome"] in ("recovering", "down", "waiting_for_parts"):
            left = self.day(ours_done[-1])
            done = [d for d, task, result, *_ in self.due.recorded if task == "follow_up" and result != "not_done"]
            if not any(left < day <= self.last for day in done):
                day = left + timedelta(1)
                if ours_done[-1]["outcome"] == "waiting_for_parts":  # back on the promised day, else after a week
                    promised = ours_done[-1].get("parts_promised_on")
                    day = date.fromisoformat(promised) if promised else left + timedelta(7)
                while day.weekday() in self.due.closed:
                    day += timedelta(1)
                made["follow_up"] = [day]
        return made

    def signs(self):
        """(instant, "warm", "cold", "pulling down" or "silent", visit or None, symptom or None), by instant.

        In the place of the symptom: "unheard" of a call that no visit names, "outcome" of how a visit left the unit.
        """
        made, calls = [], {call["id"]: call for call in self.calls}
        named = {name for visit in self.visits for name in visit.get("calls", ())}
        for call in self.calls:
            waits = call.get("unit") == self.tag and call["id"] not in named and call.get("state") != "cancelled"
            if waits and call["symptom"] in AILING:
                made.append((instant(call["received_at"]), "warm", None, "unheard"))
                if call.get("how") and call.get("at"):
                    made.append((instant(call["at"]), "silent", None, None))
        for visit in self.visits:
            made += self.signs_of(visit, calls)
        return sorted((each for each in made if each[0] <= self.as_of), key=lambda each: each[0])

    def signs_of(self, visit, calls):
        """Those of one visit, in the order of a visit."""
        heard = [calls[name] for name in visit.get("calls", ()) if name in calls]
        heard = [c for c in heard if c.get("site") in (None, self.unit["site"])]
        ailing = min(
            (c for c in heard if c["symptom"] in AILING), key=lambda c: instant(c["received_at"]), default=None
        )
        complaint = ailing or (heard[0] if heard else visit.get("complaint") or {})
        complains = complaint.get("symptom") in AILING
        if complains:
            at = complaint.get("received_at") or complaint.get("reported_at") or visit["arrived_at"]
            yield instant(at), "warm", None, complaint["symptom"]
        yield from self.called_again(visit, [c for c in heard if c is not ailing and c["symptom"] in AILING])
        found, left = self.poured(visit, "as_found"), self.poured(visit, "as_left")
        if (found and found[0] == "warm") or (complains and not found):
            yield (found[1] if found else instant(visit["arrived_at"])), "warm", visit["id"], None
        elif found and not complains:
            yield found[1], "cold", visit["id"], None
        end, outcome = instant(visit.get("left_at") or visit["arrived_at"]), visit.get("outcome")
        if outcome in ("running", "down"):
            yield end, "cold" if outcome == "running" else "warm", visit["id"], "outcome"
        elif left:
            yield left[1], left[0], visit["id"], None
        elif outcome != "waiting_for_parts":
            yield end, "pulling down" if outcome == "recovering" else "silent", visit["id"], None

    @staticmethod
    def called_again(visit, calls):
        """The calls beside the first one, unless they came when the visit was over."""
        received = [(instant(call["received_at"]), call["symptom"]) for call in calls]
        over = instant(visit.get("left_at") or visit["arrived_at"])
        return [(at, "warm", None, symptom) for at, symptom in received if at <= over]

    def poured(self, visit, when):
        """("warm" or "cold", instant) by the taps; by a bath that is as warm as warm beer where no tap was read."""
        of = [each for each in visit.get("readings", ()) if each["when"] == when]
        taps = [each for each in of if each["quantity"] == "beer_temperature_at_tap"]
        baths = [] if taps else [each for each in of if each["quantity"] == "bath_temperature"]
        warm = [each for each in (*taps, *baths) if si(each["value"]) > WARM_BEER + 1e-9]
        for each in warm or taps:
            return "warm" if warm else "cold", instant(each.get("at")) or self.moment(visit, when)
        return None

    def outages(self):
        """(first visit, restored by, ended, seen [s], estimated [s], at most [s] or None, before) of the year."""
        day = timedelta(days=1)
        begins = datetime.combine(self.first, time(), self.zone).astimezone(UTC)
        ends = datetime.combine(self.last + day, time(), self.zone).astimezone(UTC)
        ends = min(ends, self.as_of)
        free = self.midnight(self.due.installed) if self.due.installed else None
        for run, ended in self.runs():
            colds = [at for at, state, *_ in self.signs() if state == "cold" and at <= run[0][0]]
            free = max([each for each in (free, *colds) if each], default=None)
            gone = self.midnight(self.retired + day) if self.retired else None
            gone = gone if ended == "open" and gone and run[-1][0] < gone <= self.as_of else None
            yield from self.outage(run, "left_service" if gone else ended, begins, ends, (free, gone))
            over = gone or run[-1][0] + (day if ended == "taken_as_ended" else 0 * day)
            free = max(free or over, over)

    def midnight(self, on):
        """When a day begins at the site."""
        return datetime.combine(on, time(), self.zone).astimezone(UTC)

    def runs(self):
        """(signs from the first warm one to the last, how it ended) of each outage, whatever its year."""
        day, run = timedelta(days=1), []
        for sign in (*self.signs(), (self.as_of, "now", None, None)):
            if run and run[-1][1] in ("pulling down", "silent") and sign[0] - run[-1][0] > 3 * day:
                yield run, "taken_as_ended"
                run = []
            if run and run[-1][3] == "unheard" and sign[1] != "now" and sign[0] - run[-1][0] > 7 * day:
                yield run, "open"
                run = []
            if sign[1] == "now":
                if run:
                    yield run, "open"
                return
            if run or sign[1] == "warm":
                run.append(sign)
            if run and sign[1] == "cold":
                left = run[-2][2] == sign[2] or self.mended(run[-2], sign)
                yield run, "left_cold" if left else "found_cold"
                run = []

    @staticmethod
    def mended(before, after):
        """Whether one visit left it down, and the next thing known is that another left it running."""
        return before[1::2] == ("warm", "outcome") and after[1::2] == ("cold", "outcome")

    @classmethod
    def outage(cls, run, ended, begins, ends, known):
        """What of the signs from the first to the last lies between the two instants; nothing for what lies outside."""
        day, stretches = timedelta(days=1), []
        for old, new in pairwise(run):
            (since, before, at, _), (until, after, then, _) = old, new
            likely = after == "warm" or cls.mended(old, new)
            here = at is not None and at == then and after != "silent"
            seen = here or (before == after == "warm" and until - since <= day)
            stretches.append((since, until, 1 if seen else 0, 1 if seen or likely else 0.5))
        last = run[-1][0]
        if ended == "taken_as_ended":
            stretches.append((last, last + day, 0, 0.5))
            last += day
        free, gone = known
        if gone:
            days = 7 if run[-1][3] == "unheard" else (gone - last).days + 1
            spared = min(last + days * day, gone)
            down = run[-1][1::2] == ("warm", "outcome")
            stretches += [(last, spared, 0, 1 if down else 0.5), (spared, gone, 0, 0)]
            last = gone
        if last < begins or run[0][0] > ends:
            return
        if run[0][2]:  # a visit saw it first
            begun, first = run[0][0], max(free or begins, begins)
            likely = max(begun - day, first)
            stretches += [(first, likely, 0, 0), (likely, begun, 0, 0.5)]
        cut = [(max((min(u, ends) - max(s, begins)).total_seconds(), 0), seen, e) for s, u, seen, e in stretches]
        most = None if ended == "open" and run[-1][0] < ends else sum(n for n, _, _ in cut)
        good = run[-1][2] if run[-1][1] == "cold" and run[-1][0] <= ends else None
        yield (run[0][0], good, ended, sum(n * seen for n, seen, _ in cut), sum(n * e for n, _, e in cut), most,
               run[0][0] < begins)  # fmt: skip

    def before_after(self, quantity):
        """{(visit, tap): (first as found [K], last as left [K])}"""
        made = {}
        for visit in self.of_year:
            for reading in visit.get("readings", ()):
                if reading["quantity"] == quantity:
                    found, left = made.get((visit["id"], reading.get("tap")), (None, None))
                    value = si(reading["value"])
                    if reading["when"] == "as_left":
                        left = value
                    elif found is None:
                        found = value
                    made[visit["id"], reading.get("tap")] = found, left
        return made

    def counted(self):
        """{"failed" or another reason: how many} by the definition "Replacement", whatever reason was recorded."""
        return Counter("failed" if how in FAILED else reason for _, _, reason, how, *_ in self.replacements())

    def replacements(self):
        """(day, component, reason, condition, evidence, by, visit) of the year."""
        for visit in self.visits:
            theirs = visit.get("by", "us") == "others"
            for part in visit.get("replacements", ()):
                on = last_possible(part.get("on"), self.day(visit))
                if self.first <= on <= self.last:
                    words = (
                        part["reason"],
                        part["condition"],
                        part["evidence"],
                        "others" if theirs else part.get("by", "us"),
                    )
                    yield on, part["component"], *words, visit["id"]

    def readings(self):
        """(visit, quantity, component, tap, when, SI) of the year, in order."""
        for visit in self.of_year:
            for each in visit.get("readings", ()):
                where = each.get("component"), each.get("tap")
                yield visit["id"], each["quantity"], *where, each["when"], si(each["value"])

    def latest(self, visit, quantity, component=None, most=None):
        """The latest reading of a visit of those that are at most so much [SI]."""
        made = [
            (instant(each.get("at")) or self.moment(visit, each["when"]), each["when"] == "as_left", -place, each)
            for place, each in enumerate(visit.get("readings", ()))
            if each["quantity"] == quantity and each.get("component") == component
            if most is None or si(each["value"]) <= most
        ]
        return max(made, key=lambda each: each[:3])[3] if made else None

    @staticmethod
    def moment(visit, when):
        """As found on arrival, as left at the end, where that was noted."""
        return instant((visit.get("left_at") if when == "as_left" else None) or visit["arrived_at"])

    def glycol(self):
        """{visit: (strength, slack, freezing [K] of a strength, coldest [K] or None, slack [K])}"""
        table, made = (ETHYLENE if self.ethylene else PROPYLENE), {}
        for visit in self.of_year:
            recorded = self.latest(visit, "glycol_strength")
            in_brix = recorded is not None and unit_of(recorded["value"]) == "Brix"
            if recorded is None or (in_brix and (self.ethylene or "sample_temperature" not in recorded)):
                continue
            mass, slack = strength(recorded["value"], table)
            made[visit["id"]] = mass, slack, lambda w: freezing(w, table), *self.coldest(visit)
        return made

    def coldest(self, visit):
        """(coldest surface [K] or None, slack [K])"""
        found, bath = [], self.latest(visit, "bath_temperature", most=WARM_BATH)
        set_point = self.unit.get("bath", {}).get("set_point")
        suction, fluid = self.latest(visit, "suction_pressure"), self.fluid
        if suction and fluid in DEW:
            found.append(saturation(si(suction["value"]), DEW[fluid]))
        if set_point or bath:
            found.append((si(set_point or bath["value"]) - KEPT_BATH, 1e-3))
        return min(found, default=(None, 0.0))

    @property
    def fluid(self):
        """The refrigerant's name."""
        return self.unit.get("refrigeration", {}).get("refrigerant")

    def grades(self):
        """{visit: the condenser as found, of two grades the worse}"""
        made = {}
        for visit in self.of_year:
            found = [t.get("as_found") for t in visit.get("tasks", ()) if t["task"].startswith("condenser")]
            if any(found):
                made[visit["id"]] = max(filter(None, found), key=WORDS.index)
        return made

    def splits(self):
        """{visit: (split [K], slack [K])}; as found before as left, the entering air before the surroundings'."""
        made = {}
        for visit in self.of_year:
            readings = {(each["when"], each["quantity"]): each["value"] for each in visit.get("readings", ())}
            for when in ("as_found", "as_left"):
                air = readings.get((when, "condenser_air_in_temperature")) or readings.get(
                    (when, "ambient_temperature")
                )
                head = readings.get((when, "discharge_pressure"))
                if air and head and self.fluid in BUBBLE:
                    condensing, slack = saturation(si(head), BUBBLE[self.fluid])
                    if condensing < HOTTEST.get(self.fluid, 353.15):
                        made[visit["id"]] = condensing - si(air), slack
                    break
        return made

    def currents(self):
        """(visit, component, when, A, rated A or None)"""
        for visit, quantity, component, _, when, amps in self.readings():
            if quantity == "current":
                rated = self.parts[component].get("rated_current")
                yield visit, component, when, amps, si(rated) if rated else None

    def refrigerant(self, what):
        """The mass [kg] added or recovered; None where none was recorded."""
        masses = [mass for _, quantity, _, _, _, mass in self.readings() if quantity == f"refrigerant_{what}"]
        return sum(masses) if masses else None
