"""JSON of a glycol unit with its components and trunks."""

from marshmallow import Schema, fields, validate

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.record.fleet import (
    COMPONENT_KINDS,
    GLYCOLS,
    METERING,
    RUN_SURROUNDINGS,
    SWITCH_RATINGS,
    TUBINGS,
    UNIT_SYSTEMS,
)
from service.schemas.fields import Choice, Code, Count, Day, Flag, Measure, Parts, line, version
from service.schemas.imprecise_days import ImpreciseDay
from service.schemas.paging import Page, PageQuery

REPORTED = tuple(task.code for task in CATALOGUE if task.interval is not None)


class SupplySchema(Schema):
    """The electrical supply."""

    voltage = Measure("voltage", low=0, high="1000 V", allow_none=True)
    phases = Count(validate=validate.OneOf([1, 3]), allow_none=True)
    frequency = Measure("frequency", low=0, high="400 Hz", allow_none=True)
    breaker = Measure("current", low=0, high="500 A", allow_none=True)
    rated_current = Measure("current", low=0, high="500 A", allow_none=True)


class RefrigerationSchema(Schema):
    """The refrigerant circuit."""

    refrigerant = line(40, allow_none=True)
    charge = Measure("mass", low=0, high="100 kg", allow_none=True)
    metering = Choice(METERING, allow_none=True)
    low_side_port = Flag(allow_none=True)
    high_side_port = Flag(allow_none=True)
    rated_cooling = Measure("power", low=0, high="100 kW", allow_none=True)
    rated_ambient = Measure("temperature", low=233, high="140 degF", allow_none=True)
    rated_bath = Measure("temperature", low=233, high="140 degF", allow_none=True)
    clean_split = Measure("temperature_difference", low=0, high="90 deltaF", allow_none=True)


class BathSchema(Schema):
    """The glycol bath and its controller's settings."""

    volume = Measure("volume", low=0, high="5 m3", allow_none=True)
    glycol = Choice(GLYCOLS, allow_none=True)
    glycol_brand = line(allow_none=True)
    target_strength = Measure("mass_fraction", "volume_fraction", low=0, high="100 mass%", allow_none=True)
    set_point = Measure("temperature", low=233, high="100 degF", allow_none=True)
    differential = Measure("temperature_difference", low=0, high="40 deltaF", allow_none=True)


class ComponentSchema(Schema):
    """A position in the unit that holds an item."""

    code = Code(required=True)
    kind = Choice(COMPONENT_KINDS, required=True)
    feeds = fields.List(Code(), validate=validate.Length(max=50))
    rated_current = Measure("current", low=0, high="500 A", allow_none=True)
    rated_power = Measure("power", low=0, high="100 kW", allow_none=True)
    rating = Choice(SWITCH_RATINGS, allow_none=True)
    maker = line(allow_none=True)
    model = line(allow_none=True)
    installed_on = Day(past=True, allow_none=True)
    removed_on = Day(past=True, allow_none=True)


class RunSchema(Schema):
    """A stretch of trunk in one kind of surroundings."""

    surroundings = Choice(RUN_SURROUNDINGS, required=True)
    length = Measure("length", low=0, high="1000 m", required=True)
    temperature = Measure("temperature", low=213, high="180 degF", allow_none=True)
    rise = Measure("length", low=-100, high="100 m", allow_none=True)


class BeerLineSchema(Schema):
    """One beer line, named by its tap."""

    tap = line(40, required=True)
    bore = Measure("length", low=0, high="2 in", allow_none=True)
    tubing = Choice(TUBINGS, allow_none=True)
    product = line(allow_none=True)


class TrunkSchema(Schema):
    """The insulated bundle from cooler to taps."""

    code = Code(required=True)
    core_diameter = Measure("length", low=0, high="1 m", allow_none=True)
    insulation_thickness = Measure("length", low=0, high="0.5 m", allow_none=True)
    glycol_bore = Measure("length", low=0, high="3 in", allow_none=True)
    runs = Parts(RunSchema, most=100)
    beer_lines = Parts(BeerLineSchema, most=200)


class LastDoneSchema(Schema):
    """When a task was last done before our care; without a day, nobody knows."""

    task = Choice(REPORTED, required=True)
    on = ImpreciseDay(allow_none=True)


class UnitSchema(Schema):
    """One glycol unit: only tag and site are required, the rest may be filled in later."""

    tag = Code(required=True, metadata={"description": "on its sticker; after a change the unit is found by both"})
    site = Code(required=True)
    maker = line(allow_none=True)
    model = line(allow_none=True)
    serial = line(allow_none=True)
    place = line(2000, allow_none=True)
    installed_on = Day(past=True, allow_none=True)
    installed_by = line(allow_none=True)
    retired_on = Day(allow_none=True, metadata={"description": "the day on which it goes out of service"})
    registered_on = Day(
        past=True, metadata={"description": "the day it came under our care; default: today at the site"}
    )
    care_from = Day(
        allow_none=True,
        metadata={"description": "the day from which we care for it; default: its site's or customer's"},
    )
    last_done = Parts(LastDoneSchema, most=len(REPORTED))
    supply = fields.Nested(SupplySchema, allow_none=True)
    refrigeration = fields.Nested(RefrigerationSchema, allow_none=True)
    bath = fields.Nested(BathSchema, allow_none=True)
    components = fields.List(fields.Nested(ComponentSchema), validate=validate.Length(max=200))
    trunks = Parts(TrunkSchema, most=50)
    replaces = Code(allow_none=True, metadata={"description": "the unit in whose place it was put"})
    replaced_by = Code(dump_only=True, allow_none=True, metadata={"description": "the unit that was put in its place"})
    replaced_on = Day(dump_only=True, allow_none=True)
    version = version()


class UnitPatch(UnitSchema):
    """Changes of a unit; a component that is there needs its code only."""

    components = fields.List(fields.Nested(ComponentSchema(partial=("kind",))), validate=validate.Length(max=200))


class UnitPage(Page):
    """A page of units."""

    items = fields.List(fields.Nested(UnitSchema), required=True)


class Shown(Schema):
    """The system of units of the answer; default: that of the token."""

    units = Choice(UNIT_SYSTEMS)


class UnitQuery(PageQuery, Shown):
    """How to narrow the list of units."""

    customer = Code()
    site = Code()
    tag = Code()
    text = line(
        metadata={"description": "in tags, maker, model, serial, place, site, address, customer or phone; any case"}
    )
    retired = fields.Boolean(load_default=False, metadata={"description": "true: retired units as well"})
