"""Days and instants as JSON schema."""

from typing import Any

CENTURIES = "(?:19|20|21)"
DAY_PATTERN = (
    f"(?:(?:{CENTURIES}[0-9]{{2}}|2200)-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])|"
    "(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))|"
    f"(?:{CENTURIES}(?:0[48]|[2468][048]|[13579][26])|2000)-02-29)"
)
DAY_SCHEMA = {"type": "string", "format": "date", "pattern": f"^{DAY_PATTERN}$", "examples": ["2026-06-09"]}
COMING_YEAR = "20(?:2[6-9]|[3-9][0-9])|21[0-9]{2}|2200"  # no program of this version runs before 2026
COMING_LEAP_YEAR = "20(?:28|[3579][26]|[468][048])|21(?:0[48]|[2468][048]|[13579][26])"
COMING_DAY_PATTERN = (
    f"(?:(?:{COMING_YEAR})-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])|"
    f"(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))|(?:{COMING_LEAP_YEAR})-02-29)"
)
PAST_DAY_PATTERN = (  # to 2039: no program of this version runs after it
    "(?:(?:19[0-9]|20[0-3])[0-9]-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])|"
    "(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))|"
    "(?:19(?:0[48]|[2468][048]|[13579][26])|20(?:[02][048]|[13][26]))-02-29)"
)
IMPRECISE_DAY_SCHEMA = {
    "type": "string",
    "pattern": f"^(?:{DAY_PATTERN}|(?:(?:19|20|21)[0-9]{{2}}|2200)(?:-(?:0[1-9]|1[0-2]))?)$",
    "description": "a day, a month or a year",
    "examples": ["2025-10-14", "2025-10", "2025"],
}
PAST_PATTERN = f"(?:{PAST_DAY_PATTERN}|(?:19[0-9]|20[0-3])[0-9](?:-(?:0[1-9]|1[0-2]))?)"
REPORTED_DAY_SCHEMA = {
    "anyOf": [
        {"type": "string", "pattern": f"^(?:{PAST_PATTERN}(?:/{PAST_PATTERN})?|unknown)$"},
        {
            "type": "object",
            "properties": {
                "between": {
                    "type": "array", "minItems": 2, "maxItems": 2,
                    "items": {"type": "string", "pattern": f"^{PAST_PATTERN}$"},
                },
            },
            "required": ["between"],
            "additionalProperties": False,
        },
    ],
    "description": "a day; of what others did, or was reported, also a month, a year, a range or unknown (as null is)",
    "examples": ["2026-10-14", "2026-10", "2026", "2026-08-01/2026-10-15", "unknown"],
}  # fmt: skip
INSTANT_SCHEMA = {
    "type": "string",
    "format": "date-time",
    "pattern": "^(?:19[0-9]{2}|2[01][0-9]{2}|2200)-",
    "description": "RFC 3339 with offset",
    "examples": ["2026-06-09T13:05:00-06:00"],
}
COMING_DAY_SCHEMA = DAY_SCHEMA | {"pattern": f"^{COMING_DAY_PATTERN}$"}
PAST_DAY_SCHEMA = DAY_SCHEMA | {"pattern": f"^{PAST_DAY_PATTERN}$"}
SHOWN_DAY_SCHEMA = {name: value for name, value in DAY_SCHEMA.items() if name != "pattern"}
SHOWN_INSTANT_SCHEMA = {name: value for name, value in INSTANT_SCHEMA.items() if name != "pattern"}
PAST_INSTANT_SCHEMA = INSTANT_SCHEMA | {"pattern": "^(?:19[7-9][0-9]|20[0-3][0-9])-"}
LOCAL_YEAR = "(?:197[1-9]|19[89][0-9]|20[0-9]{2})"
LOCAL_LEAP_YEAR = "(?:197[26]|198[048]|199[26]|20(?:[02468][048]|[13579][26]))"
LOCAL_DAY_PATTERN = (
    f"(?:{LOCAL_YEAR}-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])|"
    f"(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))|{LOCAL_LEAP_YEAR}-02-29)"
)
PAST_LOCAL_DAY_PATTERN = LOCAL_DAY_PATTERN.replace("20[0-9]{2}", "20[0-3][0-9]").replace(
    "[02468][048]|[13579][26]", "[02][048]|[13][26]"
)
CLOCK_PATTERN = r"T(?:[01][0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9](?:\.[0-9]+)?)?"


def _by_site_clock(instant: dict[str, Any], day: str) -> dict[str, Any]:
    """An instant, or a local time without offset at the site."""
    plain = {name: instant[name] for name in ("type", "format", "pattern")}
    local = {"type": "string", "pattern": f"^{day}{CLOCK_PATTERN}$"}
    return {
        "anyOf": [plain, local],
        "description": "RFC 3339 with offset, or without offset by the site's clock",
        "examples": [*instant["examples"], "2026-06-09T13:05"],
    }


SITE_TIME_SCHEMA = _by_site_clock(INSTANT_SCHEMA, LOCAL_DAY_PATTERN)
PAST_SITE_TIME_SCHEMA = _by_site_clock(PAST_INSTANT_SCHEMA, PAST_LOCAL_DAY_PATTERN)
