"""The fields of days that are not known exactly."""

from typing import Any

from service.domain.record.imprecise_days import BETWEEN, UNKNOWN, parse_imprecise_day, parse_reported_day
from service.schemas.fields import Parsed
from service.schemas.times import IMPRECISE_DAY_SCHEMA, REPORTED_DAY_SCHEMA


def read_reported_day(value: Any) -> str:
    """A reported day as text; {"between": [first, last]} is another way to write a range."""
    ends = value["between"] if isinstance(value, dict) and value.keys() == {"between"} else None
    if isinstance(ends, list) and len(ends) == 2:
        return parse_reported_day(BETWEEN.join(map(parse_imprecise_day, ends)))
    return parse_reported_day(value)


class ImpreciseDay(Parsed):
    """A day YYYY-MM-DD, a month YYYY-MM or a year YYYY."""

    read = staticmethod(parse_imprecise_day)
    json_schema = IMPRECISE_DAY_SCHEMA


class ReportedDay(Parsed):
    """A day, a month, a year, a range of them, or "unknown", as null is of what others did or was reported."""

    read = staticmethod(read_reported_day)
    json_schema = REPORTED_DAY_SCHEMA

    def deserialize(self, value: Any, attr: str | None = None, data: Any = None, **kwargs: Any) -> Any:
        """As every field; what null means depends on the replacement, which is `data`."""
        if value is None and data and (data.get("evidence") == "reported" or data.get("by") == "others"):
            return UNKNOWN
        return super().deserialize(value, attr, data, **kwargs)
