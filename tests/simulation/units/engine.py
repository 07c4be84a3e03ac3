"""The engine in process: units are registered, and bodies assessed by the use case of POST /v1/assessments."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from service.app import open_database
from service.domain.audit import Actor
from service.domain.quantities import parse_quantity
from service.domain.record.readings import BY_QUANTITY, implausible
from service.schemas.assessments import assessment_to_json
from service.schemas.fleet import SiteSchema
from service.schemas.reading import read
from service.schemas.units import UnitSchema
from service.schemas.visits import VisitSchema
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases.diagnosis import assessments
from service.usecases.record import fleet, units
from service.usecases.system import FleetDatabase
from tests.simulation.units.text import of
from tests.simulation.units.visits import Visit

MIGRATIONS = Path(__file__).parents[3] / "migrations"
NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)
ACTOR = Actor("simulator", "owner", None, NOW)
Answer = dict[str, Any]


@contextmanager
def new_database() -> Iterator[FleetDatabase]:
    """An empty database in a folder of its own."""
    with TemporaryDirectory(prefix="units") as folder:
        url = f"sqlite:///{folder}/fleet.db"
        upgrade(url, MIGRATIONS)
        database = open_database(Settings(database_url=url, home=Path(folder)))
        try:
            yield database
        finally:
            database.close()


def register(database: FleetDatabase, visits: Sequence[Visit]) -> None:
    """The units of the visits, each at a site of its own, because sites have elevations."""
    with database.writing() as store:
        fleet.add_customer(store, ACTOR, {"code": "simulated", "name": "Simulated"})
        for visit in visits:
            tag = visit.unit.tag
            fleet.add_site(store, ACTOR, read(SiteSchema(), _site(visit)))
            record = {**visit.unit.records, "site": tag.lower()}
            record["bath"] = {**record["bath"], "glycol": visit.scene.found.now.glycol}
            units.add_unit(store, ACTOR, read(UnitSchema(), record))


def _site(visit: Visit) -> dict[str, Any]:
    tag = visit.unit.tag
    site = {"code": tag.lower(), "customer": "simulated", "name": tag, "time_zone": "America/Denver"}
    if "elevation" in SiteSchema().fields and visit.unit.elevation_known:
        site["elevation"] = of(visit.unit.elevation, "ft", 0)
    return site


def assessed(database: FleetDatabase, bodies: Sequence[Mapping[str, Any]]) -> list[Answer]:
    """The assessment of each body."""
    schema = VisitSchema()
    with database.reading() as store:
        shown = (assessments.assess_unstored(store, ACTOR, read(schema, _known(body)), "us") for body in bodies)
        return [assessment_to_json(each, "us") for each in shown]


def _known(body: Mapping[str, Any]) -> dict[str, Any]:
    """A body without readings that the API does not take."""
    return {**body, "readings": accepted(body["readings"])}


def accepted(readings: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The readings that the API takes: of quantities that it knows, and plausible, as air of 200 degF is not."""
    return [each for each in readings if each["quantity"] in BY_QUANTITY and _plausible(each)]


def _plausible(reading: Mapping[str, Any]) -> bool:
    value = parse_quantity(reading["value"], *BY_QUANTITY[reading["quantity"]].dimensions)
    return implausible(reading["quantity"], value) is None
