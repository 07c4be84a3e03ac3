"""The forms that change a record: their fields, with what each of them means for the work."""

from service.domain.record.fleet import COMPONENT_KINDS, GLYCOLS, METERING, SURROUNDINGS, SWITCH_RATINGS, WEEKDAYS
from service.schemas.company import CompanySchema
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.units import ComponentSchema, UnitPatch
from service.web.pasted_place import place_of
from service.web.plain_form import Field, PlainForm
from service.web.register import CARE_FROM, EMAIL, NAME, OF_CUSTOMER, PHONE, TECHNICIAN, place
from service.web.unit_lists import LAST_DONE

SAVE = "Store the change"
WITH_UNIT = "with its unit, such as "
ENDED = "the first day on which we no longer serve it; its units then leave all lists, and their histories stay"
CUSTOMER = PlainForm(
    title="Change", button=SAVE, schema=CustomerSchema(partial=True),
    fields=(
        *OF_CUSTOMER,
        Field(name="ended_on", label="Ended on", kind="date", hint=ENDED),
    ),
)  # fmt: skip
SITE = PlainForm(
    title="Change", button=SAVE, schema=SiteSchema(partial=True), shape=place_of,
    fields=(
        NAME,
        Field(name="address", label="Address"),
        Field(name="time_zone", label="Time zone", hint="such as America/Denver"),
        Field(name="access", label="Access", kind="area", hint="keys, codes, roof, dogs"),
        Field(
            name="surroundings", label="Surroundings of the condensers", kind="choice", options=SURROUNDINGS,
            hint="dusty, greasy and outdoor places shorten the interval of cleaning the condenser; see PM settings",
        ),
        Field(name="closed_weekdays", label="Closed on", kind="ticks", options=WEEKDAYS),
        TECHNICIAN,
        Field(
            name="elevation", label="Height above sea level",
            hint=f"{WITH_UNIT}5280 ft; gauges and condensers work differently in thin air",
        ),
        *place(),
        CARE_FROM,
        Field(name="ended_on", label="Ended on", kind="date", hint=ENDED),
    ),
)  # fmt: skip
UNIT = PlainForm(
    title="Change", button=SAVE, schema=UnitPatch(partial=True),
    fields=(
        Field(name="tag", label="Tag on its sticker", hint="after a change it is found by both"),
        Field(name="place", label="Place", hint="where on the site"),
        Field(name="maker", label="Maker"),
        Field(name="model", label="Model"),
        Field(name="serial", label="Serial number"),
        Field(name="installed_on", label="Installed on", kind="date"),
        Field(name="installed_by", label="Installed by"),
        CARE_FROM,
        Field(name="replaces", label="In place of", hint="the tag of the unit that stood there before"),
        Field(
            name="retired_on", label="Retired on", kind="date",
            hint="the day on which it goes out of service for good; nothing is due from then on, its history stays",
        ),
        Field(name="", label="Bath and glycol", kind="heading"),
        Field(name="bath.volume", label="Bath volume", hint=f"{WITH_UNIT}38 L or 10 gal"),
        Field(name="bath.set_point", label="Set point", hint=f"{WITH_UNIT}29 degF"),
        Field(name="bath.differential", label="Differential", hint=f"{WITH_UNIT}4 deltaF"),
        Field(name="bath.glycol", label="Glycol", kind="choice", options=GLYCOLS),
        Field(name="bath.glycol_brand", label="Brand of the glycol"),
        Field(name="bath.target_strength", label="Strength to keep", hint=f"{WITH_UNIT}35 mass%"),
        Field(name="", label="Refrigerant circuit", kind="heading"),
        Field(name="refrigeration.refrigerant", label="Refrigerant", hint="such as R290"),
        Field(name="refrigeration.charge", label="Charge", hint=f"{WITH_UNIT}150 g"),
        Field(name="refrigeration.metering", label="Metering", kind="choice", options=METERING),
        Field(name="refrigeration.rated_cooling", label="Rated cooling", hint=f"{WITH_UNIT}1200 W"),
        Field(name="", label="Electrical supply", kind="heading"),
        Field(name="supply.voltage", label="Supply voltage", hint=f"{WITH_UNIT}230 V"),
        Field(name="supply.breaker", label="Breaker", hint=f"{WITH_UNIT}15 A"),
        Field(name="supply.rated_current", label="Rated current", hint=f"{WITH_UNIT}8.2 A"),
        *LAST_DONE,
    ),
)  # fmt: skip
COMPONENT = PlainForm(
    title="Change", button=SAVE, schema=ComponentSchema(partial=True),
    fields=(
        Field(name="kind", label="What it is", kind="select", options=COMPONENT_KINDS),
        Field(name="maker", label="Maker"),
        Field(name="model", label="Model"),
        Field(name="rated_current", label="Rated current", hint=f"{WITH_UNIT}6 A"),
        Field(name="rated_power", label="Rated power", hint=f"{WITH_UNIT}370 W"),
        Field(
            name="rating", label="Rating of a switch", kind="choice", options=SWITCH_RATINGS,
            hint="a switch that is not rated for motors burns under one",
        ),
        Field(name="installed_on", label="Installed on", kind="date"),
        Field(name="removed_on", label="Taken out for good on", kind="date", hint="it stays in the history"),
    ),
)  # fmt: skip
NEW_COMPONENT = PlainForm(
    title="One more component of", button="Add it", schema=ComponentSchema(),
    fields=(Field(name="code", label="Its name in the record", hint="such as fan-2"), *COMPONENT.fields[:-1]),
)  # fmt: skip
A_TECHNICIAN = PlainForm(
    title="Change", button=SAVE, schema=TechnicianSchema(partial=True), shape=place_of,
    fields=(
        NAME,
        PHONE,
        EMAIL,
        Field(
            name="hours_per_day", label="Hours of work on a day", kind="decimal",
            hint="without travel; where none is given, the company's",
        ),
        Field(name="skills", label="Skills", kind="codes", hint="that tasks ask for, with commas between: refrigerant"),
        Field(name="day_starts_at", label="The day begins at", kind="time"),
        *place("of where the day begins and ends: "),
        Field(name="left_on", label="Left on", kind="date", hint="ends the access too; past visits keep the name"),
    ),
)  # fmt: skip
COMPANY = PlainForm(
    title="Our company", button=SAVE, schema=CompanySchema(partial=True), shape=place_of,
    intro="This is printed at the head of lists, letters and reports. What is left out is not printed.",
    fields=(
        NAME,
        Field(name="address", label="Address"),
        PHONE,
        EMAIL,
        Field(name="licence", label="Line about licences"),
        Field(
            name="hours_per_day", label="Hours of work of a technician on a day", kind="decimal",
            hint="without travel; the plan of the first work counts with it",
        ),
        Field(name="day_starts_at", label="A day begins at", kind="time"),
        Field(name="time_zone", label="Time zone of the office", hint="such as America/Denver"),
        Field(name="road_factor", label="Road over the straight line", kind="decimal", hint="usually 1.3"),
        Field(name="travel_speed_kmh", label="Speed on the road in km/h", kind="decimal", hint="usually 40"),
        Field(name="minutes_at_door", label="Minutes at the door", kind="decimal", hint="of each site"),
        *place("of where the days begin and end: "),
    ),
)  # fmt: skip
