"""What every figure of a service summary means; the document carries these sentences."""

from service.domain.messages import term
from service.domain.summary.document import Definition

DEFINITIONS = tuple(
    Definition(term=term(name), text=term(text))
    for name, text in (
        (
            "Moved in, moved out",
            "The first and the last day on which a unit that was moved stood at the customer's sites. The figures are "
            "those of the days from one to the other.",
        ),
        (
            "Visit",
            "Work at one unit, by us or by others as reported to us: both count, and are listed by whom. Hours on "
            "site, PM and replacements include those of others. Voided visits do not count. In what we did, an arrival "
            "that is recorded with several units is one visit.",
        ),
        (
            "The year before",
            "The same figures for the year before, of the units that were the customer's in it, over the whole of "
            "that year, by all that was recorded when this summary was made.",
        ),
        (
            "On time, late",
            "A PM task done, or found not needed, by its due date, or after it. The due date follows from the visits "
            "before, with the intervals that were set when that day began; for the time before the unit was registered "
            "with us, with those set on the day of registration. A larger task done counts as the smaller one that it "
            "includes, and work of others as ours. A task done at several visits of one day counts once.",
        ),
        (
            "Interval, why due then",
            "The interval of a task is set by us, shortened in dusty, greasy or outdoor air. What is found changes "
            "it: heavily fouled to three quarters, blocked to half (of the time in service since the last time where "
            "that was longer, and never to more than it was); clean twice in a row, by a quarter longer; within the "
            "shortest and longest set for the task. A task may go by what was learned or foreseen instead: condenser "
            "cleaning goes by what was learned from grades, where it has any of its own, unless it is set otherwise. "
            "The due date lies one interval after the task was last done, without one after the installation, on the "
            "last open day of the site by then, and not before our care began. Each line of the table PM has its "
            "interval and how its date follows; air, closed days and settings are those recorded when the day began.",
        ),
        (
            "Missed",
            "A PM task not done although its due date passed before the end of the period or, of a unit that left our "
            "care, before the day it did. A task due on the last day of the period and not done on it is missed, and "
            "late in the next where it is done then; while the period still runs, a task due today is not missed. It "
            "counts once, however often it would have been due.",
        ),
        (
            "First, never recorded",
            "A PM task done for the first time on record: no earlier record gives a due date to judge by, so it does "
            "not count in the share on time. Never recorded: its first due date, counted from the installation or else "
            "the registration, has passed; it counts as missed.",
        ),
        ("Share on time", "Tasks on time divided by those on time, late, missed or never recorded."),
        (
            "Hours without cold beer",
            "From the first sign of it (a call or complaint about warm pour, foaming, no flow, a dead or frozen unit; "
            "a pour, or without one the bath, read above 40 °F (4.4 °C) as found; a unit left down) to the first sign "
            "that it was over (a unit left running, or a pour read at or below that), in clock hours, opening hours or "
            "not, cut at the ends of the period.",
        ),
        (
            "Seen, estimated",
            "Seen: between two signs that it was warm at most 24 h apart, and on site until it was cold or recovering. "
            "Estimated: what was seen, all of the time between two other signs that it was warm and from a visit that "
            "left the unit down to the one that left it running, and half of the time before it was found cold. The "
            "range runs from what was seen to all of the time. A visit that does not say how it left the unit or left "
            "it recovering, or advice by phone, ends the outage within 24 h, half of it estimated, where nobody "
            "complained within 72 h; a later complaint begins another outage. So does what is seen more than a week "
            "after a call that no visit answers. What a visit finds and nobody had reported is estimated to have begun "
            "within 24 h before, half of it counted; at the most it is all of the time in the period since the beer "
            "was last cold, the unit was installed or another outage ended. Where nothing shows the end, it is not "
            "known, and the letter says at least what was seen; but it ends at the latest when the unit is taken out "
            "of service: all of that time is estimated where a visit left the unit down, half of it elsewhere, and "
            "half of a week after a call that no visit answers. The limits are judged.",
        ),
        (
            "Breakdown",
            "A time without cold beer that began in the period, however many parts failed in it. A failed part that "
            "others replaced, on a day on which no breakdown is on record, is none: nobody recorded whether the beer "
            "was warm. The letter says how many there were.",
        ),
        ("Hours on site", "From arrival to the end of a visit, added up for the visits whose end is recorded."),
        ("Before and after", "The first temperature as found and the last as left at one visit."),
        (
            "Replacement",
            "An item put into a component's position. Failed: it no longer did its work, or was found "
            "burnt, seized, leaking, stuck, broken or with an open circuit, whatever reason was recorded. Precaution: "
            "before it failed. Upgrade: for a better one. Unknown: the reason is not known. Seen: by us. Reported: to "
            "us by others. At a visit by others it is theirs. "
            "It counts in the year of its own day, whichever visit recorded it; where the day is not known exactly, in "
            "that of the last day possible, so that it may have been made in the year before.",
        ),
        (
            "Glycol strength, freezing point",
            "Glycol by mass, from the latest measurement of a visit, and the temperature at which ice begins to form. "
            "A reading in Brix is taken as that of a refractometer with temperature compensation and counts with the "
            "temperature of its sample.",
        ),
        (
            "Freezing margin",
            "The temperature of the coldest surface that the glycol touches less its freezing point. The surface is "
            "the colder of two: the evaporator by the suction pressure read at the visit, and the evaporator taken "
            "as 15 °F (8.3 °C) below the controller's set point, or below the bath as read where no set point is "
            "recorded.",
        ),
        (
            "Condenser as found",
            "Clean, lightly fouled, heavily fouled or blocked, as recorded before it was cleaned; of two the worse.",
        ),
        (
            "Condenser split",
            "The condensing temperature at the head pressure (bubble point, gauge above 101.325 kPa) less that of the "
            "air that enters the condenser, or of the surroundings where that was not read, both as found or both as "
            "left. Its limit lies 10 °F (5.6 °C) above the unit's own clean split.",
        ),
        ("Share of rating", "A current read, divided by the rating now recorded for the component."),
        (
            "Refrigerant added, recovered",
            "The amounts recorded at visits, each added up. None recorded does not mean that none was moved.",
        ),
        (
            "Root cause",
            "Why components of one kind keep failing at a unit: more often than chance explains well. Listed when "
            "first seen by the end of the period, unless dismissed; decisions and failures after a remedy are followed "
            "up to the day of this summary.",
        ),
        (
            "Whether it worked",
            "Failures of that kind (one a component and day) and component-years before and after the remedy. It "
            "worked: at one and the same rate, so many of them would have come before it with a probability below 0.1 "
            "(exact binomial, Przyborowski and Wilenski 1940). Still failing: they come as often as before. Otherwise "
            "it is too early to say.",
        ),
        (
            "You decide, we will do",
            "What follows from root causes, overdue tasks, the latest readings and what our technicians advised in the "
            "year: danger to people or food first, then root causes, overdue tasks, limits, words of technicians. "
            "Equal lines of several units are one line. Our work is done by the next day in the plan on which "
            "something is due at the unit, of several units the last such day; what is overdue as soon as possible, "
            "what is dangerous at once. Days that were over when the summary was made do not count.",
        ),
        ("Money", "Prices are not recorded, so no money is shown."),
        (
            "Plan",
            "The days on which tasks come due in the following year if each is done on its due date, with the "
            "intervals as set at the end of the period. What is found may change them.",
        ),
    )
)
