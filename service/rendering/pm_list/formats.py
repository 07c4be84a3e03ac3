"""The formats in which the PM list comes."""

from collections.abc import Callable, Mapping
from datetime import datetime

from service.domain.maintenance.pm_list import PmList
from service.rendering.pm_list import calendar_feed, csv_file, json_body, page, text

# By name: the media type, and what renders the list as of an instant.
FORMATS: Mapping[str, tuple[str, Callable[[PmList, datetime], bytes]]] = {
    "json": ("application/json", lambda pulled, _: json_body.render(pulled)),
    "csv": ("text/csv", lambda pulled, _: csv_file.render(pulled)),
    "ics": ("text/calendar", lambda pulled, instant: calendar_feed.render(pulled, stamp=instant)),
    "html": ("text/html", lambda pulled, _: page.render(pulled)),
    "text": ("text/plain", lambda pulled, _: text.render(pulled).encode()),
}
