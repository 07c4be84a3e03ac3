"""Sites in as many time zones as there are: every list still answers, each site by its own day."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import orjson

from service.schemas.fields import ZONE_SCHEMA
from tests.api.resources.following import take_in

NAMES: list[str] = ZONE_SCHEMA["enum"][:500]


def test_sites_in_five_hundred_time_zones_are_listed_by_their_own_days(shop) -> None:
    """The day of each site is taken from the standard library's zoneinfo."""
    lines = [{"record": "customer", "code": "lantern", "name": "The Lantern Room", "care_from": "2026-06-10"}]
    for n, name in enumerate(NAMES):
        site = {"record": "site", "code": f"s{n}", "customer": "lantern", "name": name, "time_zone": name}
        unit = {"record": "unit", "tag": f"GU-{n}", "site": f"s{n}", "installed_on": "2020-01-01"}
        lines += [site, unit | ({"retired_on": "2026-06-11"} if n % 2 else {})]
    take_in(shop, b"\n".join(orjson.dumps(line) for line in lines))
    for hour in (5, 11, 21):  # of 10 June: two or three dates at a time
        shop.now = datetime(2026, 6, 10, hour, 30, tzinfo=UTC)
        today = {n: shop.now.astimezone(ZoneInfo(name)).date().isoformat() for n, name in enumerate(NAMES)}
        retired = {n for n, day in today.items() if n % 2 and day >= "2026-06-11"}
        stops, path = [], "/v1/pm-list"
        while path:
            page = shop.get(path)
            stops += page["stops"]
            path = page["next"]

        wanted = {f"s{n}" for n, day in today.items() if day >= "2026-06-10" and n not in retired}
        assert {stop["site"] for stop in stops} == wanted
        listed = {unit["tag"] for unit in shop.walk("/v1/units?limit=500")}
        assert listed == {f"GU-{n}" for n in today if n not in retired}

    assert shop.get("/v1/pm-list?on=2026-06-09")["stops"] == []  # a past day, from the histories
    assert len(NAMES) == 500
