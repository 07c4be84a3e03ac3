"""Fills in the templates. Everything from the record is escaped."""

import gzip
import re
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

from flask import Response, g, request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from service.api.state import now
from service.domain.condition.latest import LatestReading
from service.domain.instants import zone
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.fleet import WEEKDAYS
from service.domain.record.imprecise_days import in_words
from service.domain.record.visits import FOULING, Reading
from service.domain.root_causes.explanation import how_sure, lines
from service.rendering.pm_list.wording import duration, number
from service.web.assets import address_of
from service.web.menu import OF_THE_OFFICE, above, menu_of, part_of
from service.web.visit_rows import label_of

HTML = "text/html; charset=utf-8"
WORTH_COMPRESSING = 1400  # bytes: less fits into one packet
DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
SPELT = {"follow_up": "follow-up", **{day: day.capitalize() for day in WEEKDAYS}}
TASK_NAMES = {task.code: task.name for task in CATALOGUE}


@cache
def templates() -> Environment:
    """The templates beside this module."""
    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals |= {"asset": address_of, "number": number, "duration": duration}
    made.filters |= {"words": words, "amount": amount, "clock": clock, "reading_name": reading_name}
    made.filters |= {
        "reported_day": in_words,
        "degrees": degrees,
        "chance": chance,
        "sentence": sentence,
        "dates": dates,
    }
    made.filters["how_sure"] = how_sure
    made.filters["explained"] = lines
    made.globals |= {"task_names": TASK_NAMES, "fouling": FOULING, "of_the_office": OF_THE_OFFICE}
    return made


def show(template: str, *, status: int = 200, headers: dict[str, str] | None = None, **values: Any) -> Response:
    """A page; one that is shown to a signed-in caller has the links that the role may follow."""
    caller = g.get("caller") if "session" in g else None
    page = templates().get_template(template)
    common = {"caller": caller, "menu": (), "here": request.path, "above": None, "part": ""}
    if caller:
        common |= {"menu": menu_of(caller.role), "above": above(request.path, caller.role)}
        common["printed_at"] = clock(now(), "UTC")
        common["part"] = part_of(request.path, caller.role)
    content = page.render(**common, **values).encode()
    kept = {name: value for name, value in (headers or {}).items() if not name.lower().startswith("content-")}
    answer = Response(content, status, kept, content_type=HTML)
    return packed(answer)


def packed(answer: Response) -> Response:
    """The answer compressed where the browser takes it and it is worth it. Pages with secrets are short."""
    answer.vary.add("Accept-Encoding")
    content = answer.get_data()
    if len(content) >= WORTH_COMPRESSING and request.accept_encodings.quality("gzip") > 0:
        answer.set_data(gzip.compress(content, 6, mtime=0))
        answer.headers["Content-Encoding"] = "gzip"
    return answer


def words(code: str | None) -> str:
    """A code of the record as words.

    >>> words("waiting_for_parts")
    'waiting for parts'
    >>> words("follow_up"), words("monday")
    ('follow-up', 'Monday')
    """
    return SPELT.get(code or "", (code or "").replace("_", " "))


def chance(share: float) -> str:
    """A probability as a percentage that claims no certainty.

    >>> chance(0.234), chance(0.004), chance(0.996), chance(1.0)
    ('23 %', 'under 1 %', 'over 99 %', '100 %')
    """
    if 0 < share < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < share < 1 else f"{share:.0%}".replace("%", " %")


def degrees(text: str) -> str:
    """A sentence with temperatures as the rest of the page writes them.

    >>> degrees("33.9 degC (93 degF) on 2025-06-29")
    '33.9 °C (93 °F) on 2025-06-29'
    """
    return text.replace(" degC", " °C").replace(" degF", " °F")


def dates(text: str) -> Markup:
    """A sentence of the record whose dates are not broken at the end of a line.

    >>> dates("done on 2026-10-25 & clean")
    Markup('done on <time>2026-10-25</time> &amp; clean')
    """
    return Markup(DATE.sub(r"<time>\g<0></time>", str(escape(text))))  # noqa: S704 - escaped here


def sentence(text: str) -> str:
    """A text that begins a line: its first letter large, all others as they are.

    >>> sentence("glycol pH")
    'Glycol pH'
    """
    return text[:1].upper() + text[1:]


def amount(quantity: Quantity | None, system: str) -> str:
    """A quantity in the reader's units; nothing for none."""
    return "" if quantity is None else format_quantity(quantity, system)


def clock(instant: datetime, zone_name: str) -> str:
    """An instant by the clock of a zone, to the minute.

    >>> clock(datetime.fromisoformat("2026-06-09T21:00:00+00:00"), "America/Denver")
    '2026-06-09 15:00'
    """
    return instant.astimezone(zone(zone_name)).strftime("%Y-%m-%d %H:%M")


def reading_name(reading: Reading | LatestReading) -> str:
    """What was read, and where."""
    return label_of((reading.quantity, reading.component, reading.tap))
