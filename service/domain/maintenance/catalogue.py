"""The default PM tasks, each with an interval and its source.

Trade articles and makers' manuals give ranges, not one value, and few are standards: every interval is a starting
point, to be edited. Minutes and what to bring are common practice, no source.

The urgency of a task is judged, no source: 1 where neglect stops or bursts a unit within weeks (a fouled condenser
trips or burns the compressor; weak glycol freezes in the evaporator; a low bath runs the pump dry), 2 where it wears a
part or warms the beer (pump, strainer, trunk, electrical), 3 where it drifts slowly (controller, glycol change, deep
cleaning: the checks of strength and the cleaning in between show an urgent state before).

The cautions are reminders for trained people and replace neither the local code nor the maker's instructions.
"""

from service.domain.maintenance.tasks import COMMON_PRACTICE, LEARNED, Interval, Task

LICENSED = "Follow the local code and the maker's instructions; work that needs a licence is for licensed people."
LOCKOUT = (
    "Switch off, isolate and lock out before opening an electrical box, then verify that it is dead; "
    "live testing is for qualified people."
)
CAPACITORS = "Capacitors stay charged after the power is off; let them discharge, and check before touching them."
FAN = "The fan can start without warning; isolate it before reaching in."
FINS = "Fins are sharp, and dust and cleaning spray fly: wear gloves and eye protection."
HEIGHT = "On roofs and ladders use fall protection, secure the ladder, and stay off in wind, ice or lightning."
HOT = "The compressor, its discharge line and the motors can be hot enough to burn."
FOOD_GRADE = (
    "Use only food-grade propylene glycol near beer, never ethylene glycol or vehicle antifreeze; "
    "if the fluid in the bath is unknown, identify it first."
)
SLIPPERY = "Spilt glycol is slippery: wipe it up at once, and dispose of the old fluid by the local rules."
DRY_PUMP = "Never run the pump dry, not even for seconds."
REFRIGERANT = (
    "Leave the refrigerant circuit closed; only people certified under the local law may open it "
    "(in the US, EPA section 608 certification). Never vent refrigerant."
)

CATALOGUE: tuple[Task, ...] = (
    Task(
        code="condenser_clean",
        name="Condenser cleaning",
        interval=Interval(3, "month"),
        shortest=Interval(14, "day"),
        longest=Interval(6, "month"),
        minutes=30,
        bring=("soft brush", "vacuum cleaner", "fin comb", "dust sheet", "torch"),
        cautions=(LOCKOUT, FAN, FINS, HOT, HEIGHT, LICENSED),
        source=(
            "Foodservice Equipment Reports: every 3 months, monthly in greasy kitchens; Refrigerated & Frozen Foods: "
            "3 to 4 months at the least; shortest from a glycol unit's service manual of 2016, section 10.1: every 2 "
            "weeks. The longest, and the factors for dusty and outdoor: common practice, no source."
        ),
        adapts=True,
        surroundings=(("dusty", 0.5), ("greasy", 1 / 3), ("outdoor", 0.75)),
        also_by=("condenser_deep_clean",),
        urgency=1,
        rule=LEARNED,
        figure="condenser_split_excess",
    ),
    Task(
        code="condenser_deep_clean",
        name="Condenser deep cleaning",
        interval=Interval(6, "month"),
        shortest=Interval(3, "month"),
        longest=Interval(12, "month"),
        minutes=90,
        bring=(
            "coil cleaner allowed by the maker", "sprayer", "soft brush", "fin comb", "drain tray",
            "covers for electrical parts",
        ),
        cautions=(LOCKOUT, CAPACITORS, FAN, FINS, HOT, HEIGHT, REFRIGERANT, LICENSED),
        source=(
            "A glycol unit's service manual of 2016, section 10.2: twice a year; a chiller maker's article: yearly, "
            "twice a year at dusty sites. The shortest, and the factor for greasy: common practice, no source."
        ),
        adapts=True,
        surroundings=(("greasy", 0.5),),
        urgency=3,
    ),
    Task(
        code="glycol_strength_check",
        name="Glycol strength check",
        interval=Interval(3, "month"),
        shortest=Interval(1, "month"),
        longest=Interval(6, "month"),
        minutes=15,
        bring=("refractometer for propylene glycol", "pipette", "distilled water", "thermometer", "pH strips", "wipes"),
        cautions=(FOOD_GRADE, SLIPPERY, LICENSED),
        source=(
            "A heating and cooling maintenance article and a chiller owner's check list: quarterly. "
            "The shortest and the longest (twice a year): common practice, no source."
        ),
        urgency=1,
        also_by=("glycol_change",),
        figure="freeze_margin",
    ),
    Task(
        code="glycol_change",
        name="Glycol change",
        interval=Interval(24, "month"),
        shortest=Interval(12, "month"),
        longest=Interval(60, "month"),
        minutes=120,
        bring=(
            "food-grade propylene glycol", "distilled water", "drum and pump for the old fluid", "refractometer",
            "hose", "wipes",
        ),
        cautions=(FOOD_GRADE, SLIPPERY, DRY_PUMP, LOCKOUT, LICENSED),
        source=COMMON_PRACTICE,
        urgency=3,
    ),
    Task(
        code="bath_level_check",
        name="Bath level check",
        interval=Interval(3, "month"),
        shortest=Interval(7, "day"),
        longest=Interval(6, "month"),
        minutes=10,
        bring=("food-grade propylene glycol mixed to the unit's target strength", "funnel", "torch", "wipes"),
        cautions=(FOOD_GRADE, SLIPPERY, DRY_PUMP, LICENSED),
        source=(
            "A glycol chiller maker's article: quarterly; shortest from Process Cooling: a weekly look. "
            "The longest: common practice, no source."
        ),
        urgency=1,
        also_by=("glycol_change",),
        figure="bath_level",
    ),
    Task(
        code="pump_check",
        name="Pump check",
        interval=Interval(3, "month"),
        shortest=Interval(1, "month"),
        longest=Interval(6, "month"),
        minutes=20,
        bring=("clamp ammeter", "thermometer", "straight edge", "torch"),
        cautions=(LOCKOUT, CAPACITORS, DRY_PUMP, HOT, SLIPPERY, LICENSED),
        source=(
            "A glycol chiller maker's article: pump pressure quarterly. "
            "The shortest and the longest: common practice, no source."
        ),
        urgency=2,
    ),
    Task(
        code="strainer_clean",
        name="Strainer cleaning",
        interval=Interval(3, "month"),
        shortest=Interval(7, "day"),
        longest=Interval(6, "month"),
        minutes=20,
        bring=("spare strainer or screen", "brush", "bucket", "food-grade propylene glycol for topping up", "wipes"),
        cautions=(LOCKOUT, DRY_PUMP, FOOD_GRADE, SLIPPERY, LICENSED),
        source=(
            "Shortest from Process Cooling: a weekly look, cleaned as found. "
            "The interval and the longest: common practice, no source."
        ),
        adapts=True,
        urgency=2,
    ),
    Task(
        code="electrical_check",
        name="Electrical check",
        interval=Interval(12, "month"),
        shortest=Interval(6, "month"),
        longest=Interval(12, "month"),
        minutes=30,
        bring=(
            "voltage tester proved before and after", "clamp ammeter", "thermometer", "torque screwdriver",
            "lockout kit",
        ),
        cautions=(LOCKOUT, CAPACITORS, FAN, HOT, LICENSED),
        source=(
            "A condenser check list in the manner of ASHRAE/ACCA Standard 180, and packaged chiller manual CG-SVX038A, "
            "page 39: yearly. The shortest: common practice, no source."
        ),
        urgency=2,
    ),
    Task(
        code="trunk_check",
        name="Trunk check",
        interval=Interval(3, "month"),
        shortest=Interval(1, "month"),
        longest=Interval(12, "month"),
        minutes=20,
        bring=("thermometer", "closed-cell insulation", "tape for insulation", "torch"),
        cautions=(HEIGHT, SLIPPERY, LICENSED),
        source=(
            "A glycol pump article: felt or measured at every visit. "
            "The interval and its range: common practice, no source."
        ),
        urgency=2,
    ),
    Task(
        code="controller_check",
        name="Controller check",
        interval=Interval(6, "month"),
        shortest=Interval(3, "month"),
        longest=Interval(12, "month"),
        minutes=20,
        bring=(
            "calibrated thermometer", "ice bath for the probe", "voltage tester proved before and after", "lockout kit",
        ),
        cautions=(LOCKOUT, CAPACITORS, HOT, LICENSED),
        source=(
            "A condenser check list in the manner of ASHRAE/ACCA Standard 180: control system every 6 months. "
            "The shortest and the longest: common practice, no source."
        ),
        urgency=3,
    ),
    Task(
        code="follow_up",
        name="Follow-up",
        interval=None,
        shortest=None,
        longest=None,
        minutes=30,
        bring=("thermometer", "clamp ammeter", "notes of the last visit"),
        cautions=(LOCKOUT, CAPACITORS, FAN, HOT, SLIPPERY, REFRIGERANT, LICENSED),
        source=f"The day after a visit that left the unit recovering or down: {COMMON_PRACTICE}.",
    ),
)  # fmt: skip
