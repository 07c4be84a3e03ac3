"""The causes that the search knows, as values; adding one is adding a value here.

Priors are judged, and corrected by the fleet.
"""

from dataclasses import dataclass

from service.domain.root_causes import views
from service.domain.root_causes.views import View

ELECTRICAL = ("power_switch", "contactor")
PUMPS = ("pump", "pump_motor")
HOT = ("burnt", "discoloured")
WORN_OUT = ("seized", "leaking", "noisy", "broken")
LIVE = "Isolate and lock out before opening; live readings are for qualified people under the local code."


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One upstream cause; `views` are views of the exposure to it, `typical` the conditions that it leaves.

    `reads` and `tasks` are the quantities and kinds of work that bear on it, shown beside each failure.
    Several views differ in where the harm begins and where it is full; the fleet's failures decide between them.
    Where none of `tasks` was ever done its exposure is assumed, not observed.
    """

    code: str
    kinds: tuple[str, ...]
    prior: float
    views: tuple[View, ...]
    sentence: str
    confirm: str
    remedy: str
    bring: tuple[str, ...]
    source: str
    typical: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()


CAUSES: tuple[Cause, ...] = (
    Cause(
        code="condenser_fouled", kinds=(*ELECTRICAL, "compressor", "overload_protector", "start_relay"), prior=0.06,
        views=(views.CONDENSER_EARLY, views.CONDENSER, views.CONDENSER_LATE), typical=HOT,
        reads=("current",), tasks=views.CLEANINGS,
        sentence="condenser not cleaned for too long: the unit ran hot and drew more current",
        confirm="Clean the condenser and read the amps before and after. " + LIVE, bring=("soft brush", "clamp meter"),
        remedy="Clean the condenser and shorten its interval.",
        source="Foodservice Equipment Reports, burnt wiring from dirty condensers; 90 to 180 days judged.",
    ),
    Cause(
        code="switch_undersized", kinds=ELECTRICAL, prior=0.03, views=(views.OVERLOAD,), typical=HOT,
        reads=("current", "terminal_temperature"),
        sentence="switch loaded with more motor current than its rating allows",
        confirm="Add up the amps of all it feeds and compare with its motor rating. " + LIVE,
        remedy="Have a licensed electrician fit a motor-rated switch or a contactor of the right size.",
        bring=("motor-rated switch", "clamp meter"), source="NEC 404.14, 430.83, 430.109; UL 982.",
    ),
    Cause(
        code="low_voltage",
        kinds=(*ELECTRICAL, "compressor", "pump_motor", "start_capacitor", "temperature_controller"),
        prior=0.012, views=(views.LOW_VOLTAGE,), typical=HOT,
        reads=("supply_voltage",), sentence="low supply voltage",
        confirm="Read the voltage at the unit while it starts. " + LIVE, bring=("voltmeter",),
        remedy="Have a licensed electrician correct the supply.",
        source="NEMA MG 1, 10 %; TM 55-1930-209, contacts stuck where voltage was off by more than 10 %.",
    ),
    Cause(
        code="ambient_hot", kinds=(*ELECTRICAL, "compressor", "condenser_fan", "start_capacitor"), prior=0.008,
        views=(views.HOT_PLACE,), typical=HOT,
        reads=("ambient_temperature",), sentence="surroundings of the unit too hot",
        confirm="Read the air at the condenser's inlet in the hottest hour.",
        remedy="Give the unit cooler air, or move it.", bring=("thermometer",),
        source="Makers' usual limit of about 100 degF; the span to 115 degF judged.",
    ),
    Cause(
        code="loose_terminal", kinds=(*ELECTRICAL, "power_cord"), prior=0.012, views=(views.LOOSE,), typical=HOT,
        reads=("contact_voltage_drop", "terminal_temperature"),
        sentence="loose or oxidised terminal",
        confirm="Read the voltage drop across each closed contact and lug under load. " + LIVE,
        remedy="Cut back and re-terminate, dead and locked out.", bring=("lugs", "torque screwdriver", "voltmeter"),
        source="A trade training page: hundredths of a volt are good, tenths bad.",
    ),
    Cause(
        code="glycol_weak", kinds=PUMPS, prior=0.05, views=(views.WEAK, views.SLUSH), typical=WORN_OUT,
        reads=("glycol_strength", "bath_temperature"),
        sentence="glycol too weak: slush wore the pump",
        confirm="Read the strength with a refractometer and look for ice on the coil.",
        remedy="Bring the glycol back to strength and find where the water comes from.",
        bring=("food-grade propylene glycol", "refractometer"), source="Trade: slush under 24 % by mass; judged.",
    ),
    Cause(
        code="glycol_strong", kinds=PUMPS, prior=0.02, views=(views.STRONG,), typical=WORN_OUT,
        reads=("glycol_strength", "current"),
        sentence="glycol too strong: the pump worked against thick fluid",
        confirm="Read the strength with a refractometer and the pump's amps. " + LIVE,
        remedy="Dilute the glycol to its target.",
        bring=("refractometer", "clean water"), source="Viscosity of propylene glycol; trade: over 41 % by mass.",
    ),
    Cause(
        code="bath_low", kinds=PUMPS, prior=0.016, views=(views.LOW_BATH,), typical=WORN_OUT, reads=("bath_level",),
        sentence="bath level low: the pump drew air",
        confirm="Read the level, mark it, and read again in a week.", remedy="Find the leak, then fill with the mix.",
        bring=("glycol mix", "marker"),
        source="A chiller guide: at least 85 % full; a pump guide: dry for seconds only.",
    ),
    Cause(
        code="strainer_blocked", kinds=PUMPS, prior=0.016, views=(views.STRAINER,), typical=WORN_OUT,
        reads=("current",), tasks=views.STRAINER_CLEANINGS,
        sentence="strainer blocked: the pump cavitated",
        confirm="Clean the strainer and read the pump's amps before and after. " + LIVE,
        remedy="Clean the strainer more often.",
        bring=("strainer mesh", "gasket"), source="A rotary-vane pump guide; days judged.",
    ),
    Cause(
        code="after_repair", kinds=(), prior=0.008, views=(views.REPAIRED,),
        sentence="failure within weeks of another repair in the same unit",
        confirm="Inspect what the last repair affected: wiring, alignment, rotation, overload. " + LIVE,
        remedy="Correct the repair.", bring=("hand tools", "clamp meter"), source="Common practice, no source.",
    ),
    Cause(
        code="bad_parts", kinds=(), prior=0.006, views=(views.NEW_PART,),
        sentence="new parts that fail within weeks of being fitted",
        confirm="Compare maker and lot of the parts that failed.", remedy="Fit a part of another maker or lot.",
        bring=("a part of another lot",), source="Common practice, no source.",
    ),
)  # fmt: skip

UNEXPLAINED = Cause(
    code="unexplained", kinds=(), prior=0.02, views=(),
    sentence="a cause that the records do not show",
    confirm="Check sizing, supply and installation, and read amps, volts and terminals. " + LIVE,
    remedy="Find the cause before fitting the next part.", bring=("clamp meter", "voltmeter"),
    source="No cause listed.",
)  # fmt: skip
BY_CODE = {cause.code: cause for cause in (*CAUSES, UNEXPLAINED)}


def causes_of(kind: str) -> tuple[Cause, ...]:
    """The causes listed for a kind of component; those without kinds hold for all."""
    return tuple(cause for cause in CAUSES if kind in cause.kinds or not cause.kinds)


def dangerous(code: str, kind: str) -> bool:
    """Whether a cause can hurt somebody: it burns electrical parts of this kind, a danger of fire and shock."""
    burns = any(cause.code == code and "burnt" in cause.typical for cause in CAUSES)
    return burns and kind in (*ELECTRICAL, "power_cord")
