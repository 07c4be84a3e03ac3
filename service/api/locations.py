"""Routes of /v1/units/{tag}/locations: where a unit stands, stood and is to stand."""

from collections.abc import Mapping
from typing import Any

from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.schemas.locations import LocationList, LocationSchema, shown_locations
from service.usecases.record import locations

routes = Routes("locations")


@routes.get("/v1/units/{tag}/locations", allow=STAFF, answers={200: LocationList})
def list_locations(tag: str) -> dict[str, Any]:
    """List the locations of a unit by day, the planned ones too."""
    with database().reading() as store:
        return shown_locations(store.log_of(tag))


@routes.post("/v1/units/{tag}/locations", allow=OFFICE, body=LocationSchema, answers={201: Answer(LocationList)})
def add_location(tag: str, body: Mapping[str, Any]) -> Any:
    """Move a unit from a day on: past, today or to come. A second location from the same day takes its place.

    Visits from that day on are at the new site; those before it keep site, customer and local day.
    """
    with database().writing() as store:
        log = locations.move(store, actor(), tag, body)
    return shown_locations(log), 201
