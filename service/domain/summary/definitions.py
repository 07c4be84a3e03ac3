"""What every figure of a service summary means; the document carries these sentences."""

from service.domain.root_causes.engine import PROBABLE, STRONG, WATCH
from service.domain.summary.summary import Definition

DEFINITIONS = tuple(
    Definition(term=term, text=text)
    for term, text in (
        ("Visit", "One attendance at one unit, by us or by others as reported to us; voided visits do not count."),
        (
            "On time, late",
            "A PM task done, or found not needed, by the date on which it was due, or after it. The due date is the "
            "one that followed from the visits before, with the intervals as they were set when that day began, or, "
            "before the unit was registered here, as they were set then. A larger task done counts as the smaller one "
            "in it too. A task done at several visits of one day counts once.",
        ),
        (
            "Missed",
            "A PM task whose due date passed before the end of the time looked at, or before the unit's retirement, "
            "without being done by then; it counts once, however often it would have come round.",
        ),
        (
            "First, never recorded",
            "A PM task done for the first time on record, or one never recorded whose first date, counted from the "
            "installation or else the registration, has passed: nothing earlier on record gives a due date to judge "
            "by, so these are told and left out of the share on time.",
        ),
        ("Share on time", "Tasks on time divided by those on time, late or missed."),
        (
            "Hours without cold beer",
            "From the report of a complaint (warm pour, foaming, no flow, unit dead, frozen) to the end of the visit "
            "that left the unit running; clock hours, closed or open. Told as a least and a most where visits leave it "
            "open; it counts in the year of the visit that took up the complaint. A further complaint before the unit "
            "ran again belongs to the same time. Where the report's hour was not noted it runs from the arrival.",
        ),
        ("Hours on site", "From arrival to the end of a visit, added up for the visits whose end was noted."),
        ("Before and after", "The first temperature told as found and the last told as left at one visit."),
        (
            "Replacement",
            "An item put into a component's place. Failed: it no longer did its work. Precaution: before it failed. "
            "Upgrade: for a better one. Unknown: the reason is not known. Seen: by us; reported: told to us. "
            "It counts in the year of its own day, whichever visit told it.",
        ),
        (
            "Glycol strength, freezing point",
            "Glycol by mass, from the latest measurement of a visit, and the temperature at which ice begins to form. "
            "A reading in Brix is taken for a compensating refractometer's and counts with its sample's temperature.",
        ),
        (
            "Freezing margin",
            "The coldest surface that the glycol touches less its freezing point. The surface is the colder of the "
            "evaporator by the suction pressure read at the visit and the evaporator taken as 15 °F (8.3 °C) under the "
            "controller's set point, or under the bath as read where no set point is recorded.",
        ),
        (
            "Condenser as found",
            "Clean, light, heavy or blocked, as the visit's cleaning told it before it was done; of two the worse.",
        ),
        (
            "Condenser split",
            "The condensing temperature at the head pressure (bubble point, gauge above 101.325 kPa) less that of the "
            "air that enters the condenser, or of the surroundings where that was not read, both as found or both as "
            "left. Its limit lies 10 °F (5.6 °C) over the unit's own clean split.",
        ),
        ("Share of rating", "A current read, divided by the rating now recorded for the component."),
        (
            "Refrigerant added, recovered",
            "Amounts recorded at visits, added up, each its own way. None recorded does not mean that none was moved.",
        ),
        (
            "Root-cause candidate",
            "A unit and kind of component whose failures chance does not explain well, with its causes by probability, "
            f"as last found. Tier watch, probable, strong: chance explains them with a probability below {WATCH:g}, "
            f"{PROBABLE:g}, {STRONG:g}; it says nothing of what was decided. First seen by the end of the time "
            "looked at; decided and followed up to the day this was told.",
        ),
        (
            "Whether it worked",
            "Failures of that kind, once a place and day, and component-years before and after the remedy. It worked: "
            "at one and the same rate so many of them would have fallen before it with a probability below 0.1 (exact "
            "binomial, Przyborowski and Wilenski 1940). It goes on: they come as often as before. Otherwise it is too "
            "early to tell.",
        ),
        (
            "Advice",
            "What follows from the latest readings, from root-cause candidates and from missed tasks, and what we said "
            "at a visit last. Words of a visit that left the unit recovering or down end with the one that left it "
            "running.",
        ),
        ("Money", "Prices are not recorded, so no money is told."),
        (
            "Plan",
            "The days on which tasks come due in the year that follows, were each done on the day it is due, with the "
            "intervals as they were set at the end of the time looked at; what is found may change them.",
        ),
    )
)
