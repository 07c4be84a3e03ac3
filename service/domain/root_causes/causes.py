"""The causes that the search knows, as values; adding one is adding a value here.

Priors are judged, and corrected by the fleet. The limits of a score are of the trade or judged; each says which.
"""

from collections.abc import Callable
from dataclasses import dataclass

from service.domain.physics.electrical.switch_load import MOTOR_SHARE
from service.domain.record.fleet import Component
from service.domain.root_causes import exposure
from service.domain.root_causes.exposure import Track, ramp
from service.domain.root_causes.history import FailureHistory, si

Score = Callable[[FailureHistory, str], Track]
ELECTRICAL = ("power_switch", "contactor")
PUMPS = ("pump", "pump_motor")
HOT = ("burnt", "discoloured")
WORN_OUT = ("seized", "leaking", "noisy", "broken")
LIVE = "Isolate and lock out before opening; live readings are for qualified people under the local code."


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One upstream cause; each of `scores` is a view of its exposure over time, `typical` the conditions it leaves.

    `reads` and `tasks` are the quantities and kinds of work that tell of it, shown beside each failure.
    Several views differ in where the harm begins and where it is full; the fleet's failures tell which one holds.
    Without any of `tasks` done in a record its exposure is assumed, not seen.
    """

    code: str
    kinds: tuple[str, ...]
    prior: float
    scores: tuple[Score, ...]
    sentence: str
    confirm: str
    remedy: str
    bring: tuple[str, ...]
    source: str
    typical: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()


CLEANINGS = ("condenser_clean", "condenser_deep_clean")


def condenser(history: FailureHistory, _kind: str) -> Track:
    """From 90 to 180 days since the condenser was cleaned, corrected by how it was found."""
    return exposure.since_cleaning(history, CLEANINGS, none=90, full=180)


def condenser_early(history: FailureHistory, _kind: str) -> Track:
    """The same from 45 to 135 days, as in a greasy kitchen."""
    return exposure.since_cleaning(history, CLEANINGS, none=45, full=135)


def condenser_late(history: FailureHistory, _kind: str) -> Track:
    """The same from 120 to 270 days."""
    return exposure.since_cleaning(history, CLEANINGS, none=120, full=270)


def strainer(history: FailureHistory, _kind: str) -> Track:
    """From 180 to 360 days since the strainer was cleaned, where it has been looked after at all."""
    if not any(task.task == "strainer_clean" and task.as_found for task in history.performed):
        return exposure.NOTHING
    return exposure.since_cleaning(history, ("strainer_clean",), none=180, full=360)


def overload(history: FailureHistory, kind: str) -> Track:
    """What the switch carries of what it may, from 1.0 to 1.15: the median of the readings, else the plate's."""
    shares = [
        share for place in history.components if place.kind == kind for share in (_share(history, place),) if share
    ]
    return exposure.constant(ramp(max(shares), none=0.98, full=1.13), history) if shares else exposure.NOTHING


def _share(history: FailureHistory, place: Component) -> float | None:
    rated = si(place.rated_current, "current")
    if not rated:
        return None
    limit = MOTOR_SHARE.get(place.rating or "ac_only", 0.8) * rated
    read = _clean_median(history, place.code)
    if read is not None:
        return read / limit
    fed = [other for other in history.components if other.code in place.feeds]
    read_each = [_clean_median(history, other.code) or si(other.rated_current, "current") for other in fed]
    return sum(each for each in read_each if each) / limit if fed and all(read_each) else None


def _clean_median(history: FailureHistory, code: str) -> float | None:
    """The median current, each freed of what a fouled condenser adds, which is that cause's and not the rating's."""
    read = [
        t for t in history.readings if (t.reading.quantity, t.reading.component) == ("current", code) and t.as_found
    ]
    if not read:
        return None
    fouled = condenser(history, "")
    freed = sorted(t.reading.value.value / (1.0 + 0.22 * exposure.at(fouled, t.on.toordinal())) for t in read)
    return freed[len(freed) // 2]


def low_voltage(history: FailureHistory, _kind: str) -> Track:
    """From 94 to 88 % of the plate's voltage."""
    volts = history.supply_voltage
    return exposure.scored(history, "supply_voltage", none=0.94 * volts, full=0.88 * volts) if volts else ()


def loose(history: FailureHistory, kind: str) -> Track:
    """From 0.1 to 0.5 V across the closed contact or lug of such a part.

    Not as read on the day it was replaced: across a burnt contact the drop is what came of it.
    """
    own = {place.code for place in history.components if place.kind == kind}
    replaced = {(part.component, part.on) for part in history.replaced}
    drops = (
        taken for taken in history.readings
        if taken.reading.quantity == "contact_voltage_drop"
        and taken.reading.component in own
        and (taken.reading.component, taken.on) not in replaced
    )  # fmt: skip
    return exposure.of_readings((taken, ramp(taken.reading.value.value, none=0.1, full=0.5)) for taken in drops)


def weak(history: FailureHistory, _kind: str) -> Track:
    """From 7 to 13 points under the strength wanted, 35 % by mass where none is told."""
    wanted = history.target_strength or 0.35
    return exposure.strength_track(history, none=wanted - 0.07, full=wanted - 0.13)


def slush(history: FailureHistory, _kind: str) -> Track:
    """From 27 to 21 % by mass, whatever strength is wanted."""
    return exposure.strength_track(history, none=0.27, full=0.21)


def strong(history: FailureHistory, _kind: str) -> Track:
    """From 7 to 15 points over the strength wanted."""
    wanted = history.target_strength or 0.35
    return exposure.strength_track(history, none=wanted + 0.07, full=wanted + 0.15)


def low_bath(history: FailureHistory, _kind: str) -> Track:
    """From 85 to 70 % full."""
    return exposure.scored(history, "bath_level", none=0.85, full=0.70)


def hot_place(history: FailureHistory, _kind: str) -> Track:
    """From 35 to 46 degC around the unit."""
    return exposure.scored(history, "ambient_temperature", none=308.15, full=319.15)


def repaired(history: FailureHistory, kind: str) -> Track:
    """30 days after something else was replaced in the unit."""
    return exposure.windows((part.on.toordinal() for part in history.replaced if part.kind != kind), 30)


def new_part(history: FailureHistory, kind: str) -> Track:
    """60 days after the same part was replaced."""
    return exposure.windows((part.on.toordinal() for part in history.replaced if part.kind == kind), 60)


CAUSES: tuple[Cause, ...] = (
    Cause(
        code="condenser_fouled", kinds=(*ELECTRICAL, "compressor", "overload_protector", "start_relay"), prior=0.06,
        scores=(condenser_early, condenser, condenser_late), typical=HOT, reads=("current",), tasks=CLEANINGS,
        sentence="the condenser went uncleaned too long, so that the unit ran hot and drew more current",
        confirm="Clean the condenser and read the amps before and after. " + LIVE, bring=("soft brush", "clamp meter"),
        remedy="Clean the condenser and shorten its interval.",
        source="Foodservice Equipment Reports, burnt wiring from dirty condensers; 90 to 180 days judged.",
    ),
    Cause(
        code="switch_undersized", kinds=ELECTRICAL, prior=0.03, scores=(overload,), typical=HOT,
        reads=("current", "terminal_temperature"),
        sentence="the switch carries more motor current than its rating allows",
        confirm="Add up the amps of all it feeds and hold them against the kind of rating. " + LIVE,
        remedy="Fit a motor-rated switch or a contactor of the right size, by licensed people.",
        bring=("motor-rated switch", "clamp meter"), source="NEC 404.14, 430.83, 430.109; UL 982.",
    ),
    Cause(
        code="low_voltage",
        kinds=(*ELECTRICAL, "compressor", "pump_motor", "start_capacitor", "temperature_controller"),
        prior=0.012, scores=(low_voltage,), typical=HOT,
        reads=("supply_voltage",), sentence="the supply voltage is low",
        confirm="Read the voltage at the unit while it starts. " + LIVE, bring=("voltmeter",),
        remedy="Have the supply put right by licensed people.",
        source="NEMA MG 1, 10 %; TM 55-1930-209, contacts stuck where voltage was off by more than 10 %.",
    ),
    Cause(
        code="ambient_hot", kinds=(*ELECTRICAL, "compressor", "condenser_fan", "start_capacitor"), prior=0.008,
        scores=(hot_place,), typical=HOT,
        reads=("ambient_temperature",), sentence="the place around the unit is too hot",
        confirm="Read the air at the condenser's inlet in the hottest hour.",
        remedy="Give the unit cooler air, or move it.", bring=("thermometer",),
        source="Makers' usual limit of about 100 degF; the span to 115 degF judged.",
    ),
    Cause(
        code="loose_terminal", kinds=(*ELECTRICAL, "power_cord"), prior=0.012, scores=(loose,), typical=HOT,
        reads=("contact_voltage_drop", "terminal_temperature"),
        sentence="a terminal is loose or oxidised",
        confirm="Read the voltage drop across each closed contact and lug under load. " + LIVE,
        remedy="Cut back and re-terminate, dead and locked out.", bring=("lugs", "torque screwdriver", "voltmeter"),
        source="A trade training page: hundredths of a volt are good, tenths bad.",
    ),
    Cause(
        code="glycol_weak", kinds=PUMPS, prior=0.05, scores=(weak, slush), typical=WORN_OUT,
        reads=("glycol_strength", "bath_temperature"),
        sentence="the glycol was too weak, so that slush wore the pump",
        confirm="Read the strength with a refractometer and look for ice on the coil.",
        remedy="Bring the glycol back to strength and find where the water comes from.",
        bring=("food-grade propylene glycol", "refractometer"), source="Trade: slush under 24 % by mass; judged.",
    ),
    Cause(
        code="glycol_strong", kinds=PUMPS, prior=0.02, scores=(strong,), typical=WORN_OUT,
        reads=("glycol_strength", "current"),
        sentence="the glycol was too strong, so that the pump laboured in thick fluid",
        confirm="Read the strength with a refractometer and the pump's amps. " + LIVE,
        remedy="Dilute the glycol to its target.",
        bring=("refractometer", "clean water"), source="Viscosity of propylene glycol; trade: over 41 % by mass.",
    ),
    Cause(
        code="bath_low", kinds=PUMPS, prior=0.016, scores=(low_bath,), typical=WORN_OUT, reads=("bath_level",),
        sentence="the bath was low, so that the pump drew air",
        confirm="Read the level, mark it, and read again in a week.", remedy="Find the leak, then fill with the mix.",
        bring=("glycol mix", "marker"),
        source="A chiller guide: at least 85 % full; a pump guide: dry for seconds only.",
    ),
    Cause(
        code="strainer_blocked", kinds=PUMPS, prior=0.016, scores=(strainer,), typical=WORN_OUT,
        reads=("current",), tasks=("strainer_clean",),
        sentence="the strainer was blocked, so that the pump cavitated",
        confirm="Clean the strainer and read the pump's amps before and after. " + LIVE,
        remedy="Clean the strainer more often.",
        bring=("strainer mesh", "gasket"), source="A rotary-vane pump guide; days judged.",
    ),
    Cause(
        code="after_repair", kinds=(), prior=0.008, scores=(repaired,),
        sentence="it fails within weeks of another repair in the same unit",
        confirm="Look over what the last repair touched: wiring, alignment, rotation, overload. " + LIVE,
        remedy="Put the repair right.", bring=("hand tools", "clamp meter"), source="Common practice, no source.",
    ),
    Cause(
        code="bad_parts", kinds=(), prior=0.006, scores=(new_part,),
        sentence="new parts fail within weeks of being fitted",
        confirm="Compare maker and lot of the parts that failed.", remedy="Fit a part of another maker or lot.",
        bring=("a part of another lot",), source="Common practice, no source.",
    ),
)  # fmt: skip

UNEXPLAINED = Cause(
    code="unexplained", kinds=(), prior=0.02, scores=(),
    sentence="a cause that the record does not show",
    confirm="Check sizing, supply and installation, and read amps, volts and terminals. " + LIVE,
    remedy="Find the cause before fitting the next part.", bring=("clamp meter", "voltmeter"),
    source="No cause listed.",
)  # fmt: skip
BY_CODE = {cause.code: cause for cause in (*CAUSES, UNEXPLAINED)}


def causes_of(kind: str) -> tuple[Cause, ...]:
    """The causes listed for a kind of component; those without kinds hold for all."""
    return tuple(cause for cause in CAUSES if kind in cause.kinds or not cause.kinds)
