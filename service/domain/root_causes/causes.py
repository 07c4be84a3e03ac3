"""The causes that the search knows, as values; adding one is adding a value here and its words in `wording.py`.

Priors are judged, and corrected by the fleet. The ways in which a cause harms a part are of the trade or judged, as
its source in `wording.py` says.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from service.domain.root_causes import views
from service.domain.root_causes.switch_loads import CLEANINGS
from service.domain.root_causes.views import View

HOT = ("burnt", "discoloured")
CONTACTS = (*HOT, "stuck", "open_circuit")
WINDING = (*HOT, "seized", "open_circuit")
WORN_OUT = ("seized", "leaking", "noisy", "broken")
SHOCK = ("power_switch", "contactor", "power_cord")
"""Kinds where a burnt part is a danger of fire and shock."""


@dataclass(frozen=True, slots=True)
class Harm:
    """A kind of component that a cause harms, in which way, and the conditions that it leaves there.

    `share` is how probable the harm is against the kinds that the cause harms first.
    """

    kind: str
    why: str
    marks: tuple[str, ...] = ()
    share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One upstream cause; `views` are views of the exposure to it. Without `harms` it holds for all kinds.

    `prior` is how probable it is at work where nothing was measured, `measured` where it was, in full. `reads` and
    `tasks` are the quantities and kinds of work that bear on it, shown beside each failure. Several views differ in
    where the harm begins and where it is full; the fleet's failures decide between them. Where none of `tasks` was ever
    done its exposure is assumed, not observed.
    """

    code: str
    prior: float
    measured: float
    views: tuple[View, ...]
    harms: tuple[Harm, ...] = ()
    reads: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()

    def harm(self, kind: str) -> Harm | None:
        """How it harms a kind, None where it does not; a cause without a list harms all kinds alike."""
        if not self.harms:
            return Harm(kind, "")
        return next((harm for harm in self.harms if harm.kind == kind), None)

    def marks(self, kind: str) -> tuple[str, ...]:
        """The conditions that it leaves on a kind."""
        harm = self.harm(kind)
        return harm.marks if harm else ()


CAUSES: tuple[Cause, ...] = (
    Cause(
        code="condenser_fouled", prior=0.09, measured=0.30,
        views=(views.CONDENSER_EARLY, views.CONDENSER, views.CONDENSER_LATE), reads=("current",), tasks=CLEANINGS,
        harms=(
            Harm("power_switch", "more current, and the heat of a contact goes with its square", HOT),
            Harm("contactor", "more current, and the heat of a contact goes with its square", HOT),
            Harm("compressor", "high head pressure, hot windings and thin oil", WINDING),
            Harm("overload_protector", "it trips and resets until its contact fails", CONTACTS),
            Harm("start_relay", "hot restarts against high pressure", CONTACTS),
            Harm("start_capacitor", "long starts against high pressure", ("burnt", "broken", "leaking"), 0.5),
            Harm("condenser_fan", "its motor runs in hot air against blocked fins", WINDING, 0.5),
            Harm("temperature_controller", "hot air beside it, long runs, more current in its contact", CONTACTS, 0.5),
        ),
    ),
    Cause(
        code="switch_undersized", prior=0.03, measured=0.92, views=(views.OVERLOAD,),
        reads=("current", "terminal_temperature"),
        harms=(
            Harm("power_switch", "its contact heats with the square of the current", HOT),
            Harm("contactor", "its contact heats with the square of the current", HOT),
        ),
    ),
    Cause(
        code="low_voltage", prior=0.012, measured=0.45, views=(views.LOW_VOLTAGE,), reads=("supply_voltage",),
        harms=(
            Harm("power_switch", "motors draw more current and start slowly", HOT),
            Harm("contactor", "its coil lets the contact chatter", CONTACTS),
            Harm("compressor", "slow starts, hot windings", WINDING),
            Harm("pump", "its motor draws more current and stalls", WINDING),
            Harm("pump_motor", "more current, hot windings", WINDING),
            Harm("condenser_fan", "more current, hot windings", WINDING),
            Harm("agitator", "more current, hot windings", WINDING),
            Harm("start_capacitor", "it stays in the circuit for too long", ("burnt", "broken", "leaking")),
            Harm("start_relay", "it stays closed for too long", CONTACTS),
            Harm("overload_protector", "it trips at each start", CONTACTS),
            Harm("temperature_controller", "its contact breaks long starting currents", CONTACTS),
        ),
    ),
    Cause(
        code="high_voltage", prior=0.004, measured=0.30, views=(views.HIGH_VOLTAGE,), reads=("supply_voltage",),
        harms=(
            Harm("compressor", "saturated iron, hot windings", WINDING),
            Harm("pump", "its motor's windings run hot", WINDING),
            Harm("pump_motor", "saturated iron, hot windings", WINDING),
            Harm("condenser_fan", "saturated iron, hot windings", WINDING),
            Harm("start_capacitor", "more than its rated voltage", ("burnt", "broken", "leaking")),
            Harm("temperature_controller", "its electronics run hot", CONTACTS),
        ),
    ),
    Cause(
        code="ambient_hot", prior=0.008, measured=0.25, views=(views.HOT_PLACE,),
        reads=("ambient_temperature", "condenser_air_in_temperature"),
        harms=(
            Harm("power_switch", "it carries less current in hot air", HOT),
            Harm("contactor", "it carries less current in hot air", HOT),
            Harm("compressor", "high head pressure, hot windings", WINDING),
            Harm("condenser_fan", "hot windings, dry bearings", WINDING),
            Harm("pump", "its motor cannot lose its heat", WINDING, 0.5),
            Harm("pump_motor", "it cannot lose its heat", WINDING, 0.5),
            Harm("start_capacitor", "it ages twice as fast every 10 K", ("burnt", "broken", "leaking")),
            Harm("temperature_controller", "its electronics age in hot air", CONTACTS),
            Harm("overload_protector", "it trips early in hot air", CONTACTS),
        ),
    ),
    Cause(
        code="loose_terminal", prior=0.012, measured=0.75, views=(views.LOOSE, views.HOT_TERMINAL),
        reads=("contact_voltage_drop", "terminal_temperature"),
        harms=(
            Harm("power_switch", "the joint heats the contact beside it", (*HOT, "open_circuit")),
            Harm("contactor", "the joint heats the contact beside it", (*HOT, "open_circuit")),
            Harm("power_cord", "the joint burns the insulation", (*HOT, "open_circuit")),
            Harm("temperature_controller", "the joint heats the contact beside it", CONTACTS, 0.5),
            Harm("start_relay", "the joint heats the contact beside it", CONTACTS, 0.5),
        ),
    ),
    Cause(
        code="glycol_weak", prior=0.05, measured=0.50, views=(views.WEAK, views.SLUSH),
        reads=("glycol_strength", "bath_temperature"),
        harms=(
            Harm("pump", "slush wears and stalls it", WORN_OUT),
            Harm("pump_motor", "slush stalls it", (*WORN_OUT, "burnt")),
            Harm("agitator", "slush stalls it", WORN_OUT),
            Harm("heat_exchanger", "ice bursts it", ("leaking", "broken"), 0.5),
            Harm("compressor", "ice on the coil sends liquid back to it", WINDING, 0.1),
        ),
    ),
    Cause(
        code="glycol_strong", prior=0.02, measured=0.65, views=(views.STRONG,), reads=("glycol_strength", "current"),
        harms=(
            Harm("pump", "thick fluid overloads its motor", WINDING),
            Harm("pump_motor", "thick fluid raises its current", WINDING),
            Harm("agitator", "it works against thick fluid", WORN_OUT),
        ),
    ),
    Cause(
        code="bath_low", prior=0.016, measured=0.35, views=(views.LOW_BATH,), reads=("bath_level",),
        harms=(
            Harm("pump", "it draws air and runs dry", WORN_OUT),
            Harm("pump_motor", "a pump that runs dry seizes it", (*WORN_OUT, "burnt")),
            Harm("agitator", "it runs dry", WORN_OUT),
        ),
    ),
    Cause(
        code="strainer_blocked", prior=0.016, measured=0.25, views=(views.STRAINER,), reads=("current",),
        tasks=views.STRAINER_CLEANINGS,
        harms=(
            Harm("pump", "it cavitates", WORN_OUT),
            Harm("pump_motor", "a pump that cavitates shakes its bearings", WORN_OUT),
        ),
    ),
    Cause(code="after_repair", prior=0.008, measured=0.008, views=(views.REPAIRED,)),
    Cause(code="bad_parts", prior=0.009, measured=0.009, views=(views.NEW_PART, views.NEW_PART_LATE)),
)  # fmt: skip

UNEXPLAINED = Cause(code="unexplained", prior=0.03, measured=0.03, views=())
BY_CODE = {cause.code: cause for cause in (*CAUSES, UNEXPLAINED)}


@cache
def causes_of(kind: str) -> tuple[Cause, ...]:
    """The causes listed for a kind of component; those without a list of kinds hold for all."""
    return tuple(cause for cause in CAUSES if cause.harm(kind))


def dangerous(code: str, kind: str, conditions: Iterable[str]) -> bool:
    """Whether a root cause can hurt somebody: a danger of fire and shock, by its cause or by the parts as found.

    A part that was found burnt or discoloured is one, whatever the cause.
    """
    burns = "burnt" in BY_CODE.get(code, UNEXPLAINED).marks(kind)
    return kind in SHOCK and (burns or not set(HOT).isdisjoint(conditions))
