"""Why somebody calls: each cause with the words of the caller, what is found, what is done and how the unit is left."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Cause:
    """One kind of trouble.

    `part` is the kind of component that failed, `condition` how it was found; `neighbour` is the condition of a second
    one of that kind, replaced along with it as a precaution. `bath` is the bath as found in degF; None: it was cold
    enough. `tasks` maps work done to as-found words.
    """

    code: str
    symptom: str
    words: tuple[str, ...]
    work: str
    advice: str = ""
    part: str | None = None
    condition: str = "broken"
    reason: str = "failed"
    neighbour: str | None = None
    bath: tuple[float, float] | None = None
    observations: tuple[str, ...] = ()
    note: str = ""
    tasks: dict[str, str | None] = field(default_factory=dict)
    outcome: str = "recovering"


CAUSES = (
    Cause("pump_seized", "no_flow", ("both ends of the bar run warm", "nothing cold comes up any more"),
          "Pump would not turn by hand. Fitted a new one, bled the loop, watched the bath come down.",
          "Expect cold taps by tomorrow noon; do not turn the dial down meanwhile.", part="pump", condition="seized",
          bath=(46, 58), observations=("pump_noisy",)),
    Cause("pump_leaking", "leaking", ("a sticky puddle under the cooling box", "the mop comes up sticky every morning"),
          "Shaft seal wept. Changed the pump, wiped up, filled the bath with mixed glycol.",
          "Glycol on tiles is slippery: wipe it up and ring us.", part="pump", condition="leaking", outcome="running",
          observations=("glycol_leak",), tasks={"bath_level_check": None}),
    Cause("motor_noisy", "noisy", ("it howls as soon as the room is quiet",),
          "Bearings of the pump motor rumbled. Changed the motor, lined up the coupling.", part="pump_motor",
          condition="noisy", outcome="running", observations=("pump_noisy",)),
    Cause("fan_seized", "warm_pour", ("the lager has lost its chill since the lunch rush", "customers send pints back"),
          "Condenser fan stood still, blades free of the shroud. New fan, head came down at once.",
          part="condenser_fan", condition="seized", bath=(45, 55), outcome="recovering"),
    Cause("controller_stuck", "frozen", ("taps give slush, then nothing",),
          "Controller held on, ice around the coil. Thawed it with the unit off, fitted a new controller.",
          "Ring before anybody chips at ice: the coil is thin.", part="temperature_controller", condition="stuck",
          bath=(17, 22), observations=("ice_on_coil",), outcome="recovering"),
    Cause("controller_dark", "alarm", ("it beeps and the little window stays black",),
          "Display dark, probe shorted. New controller and probe, set point checked in an ice bath.",
          part="temperature_controller", bath=(38, 46), observations=("display_dark",),
          tasks={"controller_check": None}, outcome="recovering"),
    Cause("contactor_burnt", "warm_pour", ("warm at four, warmer at six",),
          "Contacts welded and burnt through. New contactor, lugs tightened.",
          "The lugs were loose: we look again at the next round.", part="contactor", condition="burnt", bath=(48, 60),
          observations=("controls_scorched",), outcome="recovering"),
    Cause("switch_discoloured", "unit_dead", ("dead as a doornail, not a hum",),
          "Power switch browned and open under load. Changed it and, as a precaution, its neighbour.",
          part="power_switch", condition="discoloured", neighbour="worn", bath=(50, 60),
          observations=("controls_scorched",), outcome="recovering"),
    Cause("cord_open", "unit_dead", ("went off when the cleaner moved it",),
          "Cord broken inside at the plug. New cord with strain relief.", "Do not pull the unit by its cord.",
          part="power_cord", condition="open_circuit", bath=(45, 52), outcome="recovering"),
    Cause("compressor_dead", "warm_pour", ("hums, clicks, hums, clicks",),
          "Compressor windings open. Ordered one; the bar serves cans until it is here.", part="compressor",
          condition="open_circuit", bath=(52, 60), outcome="waiting_for_parts"),
    Cause("condenser_blocked", "warm_pour", ("the back of the box blows like an oven", "lukewarm on a full terrace"),
          "Condenser packed solid and boxes stacked against it. Cleared and cleaned it.",
          "Keep an arm's length free around the air side.", bath=(45, 53),
          observations=("airflow_obstructed", "area_littered"), tasks={"condenser_clean": "blocked"}),
    Cause("weak_glycol", "frozen", ("slow trickle and a crunching noise",),
          "Ice in the bath: far too much water in it. Changed the glycol.", "Never top up with plain water.",
          bath=(24, 26), observations=("ice_on_coil",), tasks={"glycol_change": None, "glycol_strength_check": None},
          outcome="running"),
    Cause("trunk_wet", "foaming", ("mostly head at the far taps", "spits foam, worst when the sun is on the roof"),
          "Insulation of the trunk soaked over two arm lengths. Dried, re-wrapped and sealed it.",
          "The roof drips on the trunk there; have it mended.", observations=("insulation_wet", "insulation_damaged"),
          tasks={"trunk_check": None}, outcome="running"),
    Cause("cooler_warm", "foaming", ("every first pint is a wig of foam",),
          "Glycol unit is in order; the walk-in itself stands too warm. Told the manager.",
          "Call whoever looks after the walk-in.", observations=("other",),
          note="walk-in door does not close by itself", outcome="running"),
    Cause("agitator_broken", "warm_pour", ("fine in the morning, tepid by happy hour",),
          "Agitator shaft sheared, bath layered warm over cold. New agitator.", part="agitator", bath=(45, 50),
          outcome="recovering"),
    Cause("strainer_blocked", "no_flow", ("gurgles and then runs dry",),
          "Strainer screen full of scale and split at the seam. New strainer, loop flushed.", part="strainer",
          condition="worn", bath=(45, 49), observations=("air_in_lines", "bath_cap_missing"),
          tasks={"strainer_clean": "heavy"}),
    Cause("exchanger_leaking", "leaking", ("oily drops on the shelf below",),
          "Plate exchanger seeps at the brazing. Not safe to run: left it off.", part="heat_exchanger",
          condition="leaking", bath=(50, 58), observations=("oil_stain", "glycol_leak"), outcome="down"),
    Cause("panel_rattles", "other", ("smells like a hot iron beside it",),
          "A rag lay on the discharge line; side panel off, screws gone. Took the rag away, closed the panel.",
          "Leave the panel on: there is voltage and heat behind it.",
          observations=("cover_panel_missing", "fasteners_missing"), outcome="running"),
    Cause("low_charge", "warm_pour", ("never gets as cold as it did at Easter",),
          "Flare nut seeping. Tightened, leak-tested, weighed the charge in.",
          bath=(46, 54), observations=("oil_stain", "frost_on_capillary")),
    Cause("fan_rattles", "noisy", ("rattles so that the band complains",),
          "Fan blade loose on its hub, motor dry. Fitted a new fan before it stops in July.", part="condenser_fan",
          condition="noisy", reason="precaution", outcome="running"),
    Cause("controller_old", "other", ("want a read-out that the night shift can see",),
          "Old dial controller still good; put in one with a read-out.", part="temperature_controller",
          condition="good", reason="upgrade", tasks={"controller_check": None}, outcome="running"),
)  # fmt: skip

BY_CODE = {cause.code: cause for cause in CAUSES}

# the planted stories
BURNT_SWITCH = Cause(
    "burnt_switch", "warm_pour", ("it cuts out and smells of burning", "silent one minute, roaring the next"),
    "Power switch burnt at its load side, made contact only now and then. New switch. "
    "Could not reach the condenser, smokers were running.",
    "That condenser needs air: let us in before opening time.", part="power_switch", condition="burnt",
    bath=(49, 60), observations=("controls_scorched", "airflow_obstructed"),
)  # fmt: skip
STARVED_PUMP = Cause(
    "starved_pump", "no_flow", ("pump screams, beer is warm", "no cold left in the pipes"),
    "Pump seized, bath far down and watery. New pump, filled up, strength set right.",
    "Somebody tops up with the hose. Use the can of mixed glycol beside it.", part="pump", condition="seized",
    bath=(46, 57), observations=("bath_cap_missing", "pump_noisy", "glycol_leak"),
    tasks={"glycol_strength_check": None, "bath_level_check": None},
)  # fmt: skip
