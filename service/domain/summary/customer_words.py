"""The words of a service summary that depend on a code: root causes and limits, for whoever owns the bar.

What only trained people may do is never asked of the customer: `decide` is what the customer can decide or do.
"""

from dataclasses import dataclass

from service.domain.messages import gettext

ELECTRICIAN = gettext("Have a licensed electrician check and correct the power supply of the unit.")


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseWords:
    """What we think, what we do, and what the customer decides, if anything."""

    think: str
    do: str
    decide: str | None = None


CAUSES: dict[str, CauseWords] = {
    "condenser_fouled": CauseWords(
        think=gettext(
            "By our records the condenser was dirty for long, so that the unit ran hot and drew more current."
        ),
        do=gettext(
            "We will clean the condenser whenever it is due, more often if it fouls before that, and measure the "
            "current before and after."
        ),
    ),
    "switch_undersized": CauseWords(
        think=gettext("The switch carries more motor current than it is made for."),
        do=gettext("We will measure what it carries and propose a switch of the right rating."),
        decide=gettext("Decide whether we fit a motor-rated switch instead of the same part again."),
    ),
    "low_voltage": CauseWords(
        think=gettext("The supply voltage at the unit is low."),
        do=gettext("We will measure the voltage while the unit starts."),
        decide=ELECTRICIAN,
    ),
    "high_voltage": CauseWords(
        think=gettext("The supply voltage at the unit is high."),
        do=gettext("We will measure the voltage over a day."),
        decide=ELECTRICIAN,
    ),
    "ambient_hot": CauseWords(
        think=gettext("The air that the unit draws in is too hot for it."),
        do=gettext("We will measure the air at the unit in the hottest hour."),
        decide=gettext("Decide whether the unit gets cooler air or a better place; keep the space around it free."),
    ),
    "loose_terminal": CauseWords(
        think=gettext("A terminal is loose or oxidised and heats up."),
        do=gettext("We will measure the terminals, with the power off cut the wire back and connect it again."),
    ),
    "glycol_weak": CauseWords(
        think=gettext("The glycol was too weak, so that slush or ice formed."),
        do=gettext("We will bring it back to strength and look for where the water comes from."),
        decide=gettext("Please do not top up the bath with water; call us when it is low."),
    ),
    "glycol_strong": CauseWords(
        think=gettext("The glycol was too strong to circulate easily."),
        do=gettext("We will thin it to its target strength."),
    ),
    "bath_low": CauseWords(
        think=gettext("The level in the bath was too low, so that the pump drew air."),
        do=gettext("We will look for the leak and fill the bath with the right mix."),
        decide=gettext("Please call us when the level falls; do not fill it with water."),
    ),
    "strainer_blocked": CauseWords(
        think=gettext("The strainer was blocked, so that the pump wore out."),
        do=gettext("We will clean the strainer at a shorter interval."),
    ),
    "after_repair": CauseWords(
        think=gettext("The part failed soon after another repair of the same unit."),
        do=gettext("We will inspect that repair and correct it."),
    ),
    "bad_parts": CauseWords(
        think=gettext("New parts failed soon after they were fitted."),
        do=gettext("We will look for what the new parts die of and, if all were of one maker or lot, fit another."),
    ),
    "unexplained": CauseWords(
        think=gettext("Our records do not show the cause yet."),
        do=gettext("We will measure the unit and find the cause before we fit the next part."),
    ),
}

ASSUMED: dict[str, CauseWords] = {
    "condenser_fouled": CauseWords(
        think=gettext(
            "By our records the condenser was not cleaned for long; it may have been dirty, so that the unit ran hot."
        ),
        do=CAUSES["condenser_fouled"].do,
    ),
    "switch_undersized": CauseWords(
        think=gettext("The switch may be too small for what it carries: its rating is not recorded."),
        do=gettext("We will read its rating, measure what it carries and, if it is too small, propose the right one."),
    ),
}
"""Those of a cause that follows from days alone, or from a rating that nobody recorded, where they differ."""


CONDENSER_NOT_OURS = CauseWords(
    think=CAUSES["condenser_fouled"].think,
    do=gettext("We will measure the current before and after the condenser is cleaned."),
    decide=gettext(
        "Have the condenser cleaned at a shorter interval: by our agreed tasks that is not our work at this unit. We "
        "can take it on."
    ),
)
"""Where cleaning the condenser is none of our tasks at the unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitWords:
    """What we do about a measured limit; whether it endangers people or food; what the customer decides."""

    why: str
    do: str
    danger: bool = False
    decide: str | None = None


VOLTAGE_OFF = LimitWords(
    why=gettext("The supply voltage was last measured more than 10 % off the nameplate, which can burn motors."),
    do=gettext("Measure the supply voltage again."),
    danger=True,
    decide=ELECTRICIAN,
)
BAD_JOINT = LimitWords(
    why=gettext("An electrical connection was last measured bad: it heats up and can burn."),
    do=gettext("With the power off, repair the bad connection."),
    danger=True,
)
LIMITS: dict[str, LimitWords] = {
    "ethylene_glycol": LimitWords(
        why=gettext(
            "The fluid in the bath is recorded as ethylene glycol, which is poisonous and not for use near food."
        ),
        do=gettext("Drain and flush the bath and fill it with food-grade propylene glycol."),
        danger=True,
        decide=gettext("Agree a day with us on which the unit may stand still while we change its fluid."),
    ),
    "glycol_weak": LimitWords(
        why=gettext("The glycol was last measured too weak: it can freeze in the unit."),
        do=gettext("Bring the glycol to its target strength."),
    ),
    "glycol_strong": LimitWords(
        why=gettext("The glycol was last measured too strong: it carries less cold."),
        do=gettext("Bring the glycol to its target strength."),
    ),
    "freeze_margin_small": LimitWords(
        why=gettext("The glycol was last measured close to where it freezes in the unit."),
        do=gettext("Bring the glycol to its target strength."),
    ),
    "condenser_split_high": LimitWords(
        why=gettext("The condenser gave off its heat poorly at the last measurement."),
        do=gettext("Clean the condenser and check its fan."),
    ),
    "current_over_rating": LimitWords(
        why=gettext("A motor or switch last carried more current than it is rated for, which can burn it."),
        do=gettext("Find the cause of the high current."),
        danger=True,
    ),
    "coil_can_freeze": LimitWords(
        why=gettext("The glycol was last measured too weak for how cold the coil gets: it can freeze there."),
        do=gettext("Find why the coil gets so cold, and bring the glycol to its target strength."),
    ),
    "contact_drop_bad": BAD_JOINT,
    "terminal_hot": BAD_JOINT,
    "voltage_off": VOLTAGE_OFF,
    "voltage_far_off": VOLTAGE_OFF,
}
SPLIT_NOT_OURS = LimitWords(
    why=LIMITS["condenser_split_high"].why,
    do=gettext("Check the condenser and its fan."),
    decide=CONDENSER_NOT_OURS.decide,
)
DANGERS = {
    "controls_scorched": (gettext("Repair the scorched controls."), gettext("Controls were seen scorched.")),
    "cover_panel_missing": (gettext("Fit the missing cover panel."), gettext("A cover panel was missing.")),
}
