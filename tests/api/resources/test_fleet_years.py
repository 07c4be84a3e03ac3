"""/v1/fleet-years/{year}: for the owner alone, in every format."""

from uuid import uuid4

import pytest

PATH = "/v1/fleet-years/2026"


def test_the_owner_reads_the_fleets_year(stocked):
    year = stocked.get(PATH)

    assert (year["year"], [unit["unit"] for unit in year["units"]]) == (2026, ["GU-0007"])
    assert (year["data_state"]["units"], year["unvisited"]) == (1, ["GU-0007"])


@pytest.mark.parametrize(
    "path",
    [
        "/v1/fleet-years/2027",
        "/v1/fleet-years/0",
        f"{PATH}?table=units",
        f"{PATH}?format=csv&table=visits",
        f"{PATH}?format=docx",
        f"{PATH}?units=si",
        f"{PATH}?as_of=2026-07-10T00:00:00Z",
    ],
)
def test_what_cannot_be_answered_is_refused(stocked, path):
    assert stocked.ask("GET", path).status_code == 422


# PostgreSQL gives rows in the order in which they were last written.
def test_the_order_in_which_settings_were_changed_is_no_other_data(shop) -> None:
    shop.unit()
    for task, interval in (("trunk_check", 5), ("pump_check", 2), ("trunk_check", 4)):
        path = f"/v1/tasks/{task}"
        tag = shop.ask("GET", path).headers["ETag"]
        assert shop.ask("PATCH", path, {"interval": f"{interval} months"}, If_Match=tag).status_code == 200
        with shop.database.reading() as store:
            tasks = [code for code, _ in store.task_settings.texts()]
        assert tasks == sorted(tasks)


def test_a_call_that_nobody_answered_counts_where_the_unit_stood_and_in_the_fleet_once(shop) -> None:
    """The unit moved to another site of the customer, then to another customer: the call stays with the first."""
    shop.unit()
    shop.post("/v1/customers", {"code": "heron", "name": "Heron"})
    for code, customer in (("lantern-lock", "lantern"), ("heron-dock", "heron")):
        shop.post("/v1/sites", {"code": code, "customer": customer, "name": code, "time_zone": "America/Denver"})
    call = {"id": str(uuid4()), "received_at": "2026-03-02T10:00:00-07:00", "symptom": "warm_pour", "unit": "GU-0007"}
    shop.post("/v1/calls", call)
    for site, since in (("lantern-lock", "2026-04-01"), ("heron-dock", "2026-05-01")):
        shop.post("/v1/units/GU-0007/locations", {"site": site, "from": since, "reason": "move"})
        years = [shop.get(f"/v1/customers/{code}/service-summaries/2026") for code in ("lantern", "heron")]
        counted = [each["without_cold_beer"]["end_unknown"] for each in (*years, shop.get(PATH))]
        assert counted == [1, 0, 1], site
