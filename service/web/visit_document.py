"""From the fields of the form of a visit to the JSON document that the API takes; and from its faults back to fields.

Only the shape is made here. What can be true of a visit, the schema and the use case say, as for every client.
"""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from werkzeug.datastructures import MultiDict

from service.domain.errors import Fault
from service.domain.instants import at_site, zone
from service.domain.record.failed import BROKEN
from service.domain.record.readings import BY_QUANTITY
from service.web.visit_rows import unit_of

MOMENTS = {"found": "as_found", "left": "as_left"}
STRENGTH = "glycol_strength"
PLAIN = ("kind", "technician", "work", "advice", "internal_note", "signed_by", "outcome", "parts_promised_on")
NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
MOST_BATH = 100
ASKED = (
    "Replaced as a precaution, yet the old one was {}, which counts as failed. "
    'Choose "failed" or another condition, or tick "Yes, as entered".'
)
Form = MultiDict[str, str]


@dataclass(slots=True)
class Written:
    """A document, which field of the form each of its parts came from, by path, and what is asked back at fields."""

    document: dict[str, Any]
    fields: dict[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def add(self, parts: str, part: Mapping[str, Any], name: str) -> None:
        """Append a part, which the field `name` gave."""
        listed = self.document.setdefault(parts, [])
        self.fields[f"{parts}.{len(listed)}"] = name
        listed.append(dict(part))

    def ask(self, name: str, value: object, question: str) -> None:
        """Ask back at a field before the visit is stored."""
        self.fields[name] = name
        self.faults.append(Fault(name, value, question))

    def field_of(self, path: str) -> str:
        """The field of the form to which a fault of the document belongs."""
        steps = path.split(".")
        for n in range(len(steps), 0, -1):
            if known := self.fields.get(".".join(steps[:n])):
                return known
        return steps[0]


def written(form: Form, *, unit: str, visit_id: str, zone_name: str) -> Written:
    """The visit that a form holds; empty fields are left out."""
    made = Written({"id": visit_id, "unit": unit})
    made.document |= {name: text for name in PLAIN if (text := form.get(name, "").strip())}
    _times(made, form, zone_name)
    for write in (_readings, _strength, _tasks, _replacements, _observations, _customer):
        write(made, form)
    _bath(made, form, zone_name)
    return made


def number(text: str) -> str:
    """A number as people type it, with a decimal comma or point and full-width digits; other text as it is.

    >>> number(" 28,4"), number("−3"), number("1,234.5")
    ('28.4', '-3', '1,234.5')
    """
    plain = unicodedata.normalize("NFKC", text).strip().replace("\N{MINUS SIGN}", "-")
    return plain.replace(",", ".") if NUMBER.fullmatch(plain) else plain


def _times(made: Written, form: Form, zone_name: str) -> None:
    """Arrival and leaving by the site's clock; leaving before the arrival's time of day is after midnight."""
    day, arrived, left = (form.get(name, "").strip() for name in ("day", "arrived", "left_at"))
    made.fields |= {"arrived_at": "arrived", "left_at": "left_at"}
    if day or arrived:
        made.document["arrived_at"] = local_instant(day, arrived, zone_name)
    if left:
        made.document["left_at"] = local_instant(_day_after(day) if left < arrived else day, left, zone_name)


def local_instant(day: str, clock: str, zone_name: str) -> str:
    """A date and a time of day as an instant with its offset; other text as it is, for the schema to refuse.

    >>> local_instant("2026-06-09", "13:05", "America/Denver")
    '2026-06-09T13:05:00-06:00'
    """
    try:
        local = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=zone(zone_name))
    except ValueError:
        return f"{day} {clock}".strip()
    return at_site(local, zone_name)


def _day_after(day: str) -> str:
    try:
        return (date.fromisoformat(day) + timedelta(days=1)).isoformat()
    except (ValueError, OverflowError):
        return day


def _readings(made: Written, form: Form) -> None:
    """The fields "found:bath_temperature::", "left:current:pump-1:"."""
    system = _system(form)
    for name, text in form.items():
        moment, _, rest = name.partition(":")
        quantity, _, where = rest.partition(":")
        if moment not in MOMENTS or quantity not in BY_QUANTITY or quantity == STRENGTH or not text.strip():
            continue
        component, _, tap = where.partition(":")
        unit = unit_of(BY_QUANTITY[quantity].dimensions[0], system)
        reading = {"quantity": quantity, "value": f"{number(text)} {unit}", "when": MOMENTS[moment]}
        places = {"component": component, "tap": tap}
        made.add("readings", reading | {key: code for key, code in places.items() if code}, name)


def _strength(made: Written, form: Form) -> None:
    """Glycol strength is given in one of several ways, chosen beside it."""
    way = form.get("strength_in", "brix")
    dimension = way if way in BY_QUANTITY[STRENGTH].dimensions else "brix"
    for moment, when in MOMENTS.items():
        name = f"{moment}:{STRENGTH}::"
        if text := form.get(name, "").strip():
            value = f"{number(text)} {unit_of(dimension, _system(form))}"
            made.add("readings", {"quantity": STRENGTH, "value": value, "when": when}, name)


def _bath(made: Written, form: Form, zone_name: str) -> None:
    """Timed readings of the bath while it pulls down: the fields "bath:0" and "bath_at:0" and so on."""
    day, arrived, unit = form.get("day", ""), form.get("arrived", ""), unit_of("temperature", _system(form))
    for n in range(MOST_BATH):
        text, clock = form.get(f"bath:{n}", "").strip(), form.get(f"bath_at:{n}", "").strip()
        if not text and not clock:
            continue
        reading = {"quantity": "bath_temperature", "value": f"{number(text)} {unit}", "when": "as_left"}
        if clock:
            reading["at"] = local_instant(_day_after(day) if clock < arrived else day, clock, zone_name)
        made.add("readings", reading, f"bath:{n}")


def _tasks(made: Written, form: Form) -> None:
    for code, result in _named(form, "task"):
        more = {"reason": form.get(f"reason:{code}", "").strip(), "as_found": form.get(f"grade:{code}", "")}
        given = {name: text for name, text in more.items() if text}
        made.add("tasks", {"task": code, "result": result, **given}, f"task:{code}")


def _replacements(made: Written, form: Form) -> None:
    """The fields "part:pump-1" with the reason, "condition:pump-1" and so on; "new" is a position not yet recorded."""
    for code, reason in _named(form, "part"):
        mine = {name: form.get(f"{name}:{code}", "").strip() for name in ("condition", "note", "on", "kind", "code")}
        part = {"component": mine["code"] or code, "reason": reason, "condition": mine["condition"] or "unknown"}
        reported = bool(form.get(f"reported:{code}"))
        part |= {"evidence": "reported", "by": "others"} if reported else {"evidence": "seen"}
        mine["on"] = mine["on"].lower()
        part |= {name: mine[name] for name in ("note", "on", "kind") if mine[name]}
        item = {name: text for name in ("maker", "model", "serial") if (text := form.get(f"{name}:{code}", "").strip())}
        made.add("replacements", part | ({"item": item} if item else {}), f"part:{code}")
        if is_doubtful(reason, part["condition"]) and not form.get(f"sure:{code}"):
            made.ask(f"part:{code}", reason, ASKED.format(part["condition"].replace("_", " ")))


def is_doubtful(reason: str, condition: str) -> bool:
    """Whether a part is recorded as replaced before it failed, and found in the condition of one that failed."""
    return reason == "precaution" and condition in BROKEN


def _observations(made: Written, form: Form) -> None:
    note = form.get("seen_note", "").strip()
    for code in form.getlist("seen"):
        made.add("observations", {"code": code} | ({"note": note} if code == "other" and note else {}), "seen")
    if note and "other" not in form.getlist("seen"):
        made.add("observations", {"code": "other", "note": note}, "seen_note")


def _customer(made: Written, form: Form) -> None:
    """What the customer noticed, the calls that are answered, and who else was there."""
    if symptom := form.get("symptom", ""):
        words = form.get("words", "").strip()
        made.document["complaint"] = {"symptom": symptom} | ({"words": words} if words else {})
        made.fields["complaint"] = "symptom"
    for name, parts in (("call", "calls"), ("crew", "crew")):
        if given := _once(form.getlist(name)):
            made.document[parts] = given
            made.fields[parts] = name


def _once(values: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(value for value in values if value))


def _named(form: Form, kind: str) -> Iterator[tuple[str, str]]:
    """(what follows the colon, value) of the fields of a kind that are filled in."""
    for name, value in form.items():
        first, _, rest = name.partition(":")
        if first == kind and rest and value:
            yield rest, value


def _system(form: Form) -> str:
    """The units in which the form was shown, whatever the caller's are by now."""
    return "si" if form.get("system") == "si" else "us"
