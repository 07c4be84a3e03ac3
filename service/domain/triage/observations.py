"""How likely each thing is to be seen under each explanation: the written table.

`usual` holds for every explanation and regime that the row does not name. Regimes name what the compressor does. A
probability is never 0 or 1: the lowest and highest are `FLOOR` and 1 - `FLOOR`. Common practice, no source, but for the
frost and touch signs, which service manuals of small refrigeration print alike.
"""

from collections.abc import Iterable, Mapping

from service.domain.triage.derived import COMPLAINT, DERIVED, FELT, WARM
from service.domain.triage.explanation import DEAD, RESTING, RUNNING, STOPPED
from service.domain.triage.question import Seen
from service.domain.triage.sign import Sign

WARM_POUR = "warm_pour"
STARVED, FLOODED = 0.35, 1.05  # wet share of the evaporator

SIGNS: tuple[Sign, ...] = (
    Sign("all_taps_warm", "Are all taps warm?", 0.04, {}, follows=(("tap_cold", WARM, FELT),)),
    Sign(
        "one_tap_warm",
        "Is one tap alone warm?",
        0.03,
        {"one_tap_only": 0.9, "keg_not_cold": 0.6, "trunk_short_of_flow": 0.3},
    ),
    Sign(
        "far_taps_worst",
        "Are the taps farthest from the unit the warmest?",
        0.2,
        {
            "pump_weak_or_strainer_blocked": 0.65,
            "glycol_too_strong": 0.5,
            "air_in_loop": 0.45,
            "insulation_wet": 0.45,
            "trunk_short_of_flow": 0.45,
            "one_tap_only": 0.1,
        },
    ),
    Sign(
        "every_glass_warm",
        "Is every glass warm, not only the first?",
        0.55,
        {
            "cooler_warm": 0.95,
            "keg_not_cold": 0.95,
            "nothing_wrong": 0.05,
            "lines_just_cleaned": 0.15,
            "insulation_wet": 0.25,
            "pump_stopped": 0.6,
        },
    ),
    Sign(
        "first_glass_warm",
        "Is only the first glass warm?",
        0.2,
        {
            "insulation_wet": 0.65,
            "lines_just_cleaned": 0.8,
            "cooler_warm": 0.03,
            "keg_not_cold": 0.03,
            "pump_weak_or_strainer_blocked": 0.35,
        },
    ),
    Sign(
        "display_dark",
        "Is the controller's display dark?",
        0.02,
        {DEAD: 0.96, "no_power": 0.96, "controller_dark_or_not_calling": 0.72},
    ),
    Sign(
        "calling_for_cooling",
        "Does the controller's light call for cooling?",
        0.9,
        {
            "no_power": 0.02,
            DEAD: 0.02,
            "controller_dark_or_not_calling": 0.06,
            RESTING: 0.06,
            RUNNING: 0.97,
            "compressor_not_starting": 0.95,
            "compressor_does_not_stop": 0.3,
        },
    ),
    Sign(
        "compressor_running",
        "Does the compressor run?",
        0.95,
        {
            DEAD: 0.02,
            STOPPED: 0.03,
            RESTING: 0.03,
            RUNNING: 0.97,
            "no_power": 0.02,
            "compressor_not_starting": 0.06,
            "compressor_weak": 0.97,
        },
    ),
    Sign(
        "compressor_clicking",
        "Does the compressor hum and click every few minutes?",
        0.02,
        {"compressor_not_starting": 0.6, "condenser_fan_stopped": 0.15, "condenser_fouled": 0.05},
    ),
    Sign(
        "fan_turning",
        "Does the condenser's fan turn?",
        0.95,
        {
            "condenser_fan_stopped": 0.03,
            DEAD: 0.02,
            RESTING: 0.15,
            "no_power": 0.02,
            "controller_dark_or_not_calling": 0.12,
            "compressor_not_starting": 0.85,
            RUNNING: 0.98,
        },
        follows=(("fan", 0.05, -0.02),),  # [A] where the model expects a fan that stands, as a control's in cold air
        then=0.05,
    ),
    Sign(
        "pump_running",
        "Does the pump run?",
        0.98,
        {"pump_stopped": 0.75, DEAD: 0.02, "no_power": 0.02},
        follows=(("pump", 0.3, -0.1),),  # [A]; a motor that is seized, or turns without its pump, draws its current
        then=0.03,
    ),
    Sign(
        "glycol_returning",
        "Does glycol stream back into the bath?",
        0.95,
        {
            "pump_stopped": 0.03,
            "no_power": 0.02,
            DEAD: 0.02,
            "pump_weak_or_strainer_blocked": 0.7,
            "evaporator_iced": 0.75,
            "bath_low": 0.7,
        },
        follows=(("flow", 1e-5, -3e-6),),  # [m3/s], 10 gal/h
        then=0.03,
    ),
    Sign(
        "return_surging",
        "Does the return surge or foam?",
        0.03,
        {"air_in_loop": 0.85, "bath_low": 0.45, "pump_weak_or_strainer_blocked": 0.12},
    ),
    Sign(
        "breaker_tripped",
        "Is the breaker tripped or the cord out?",
        0.02,
        {"no_power": 0.42, "compressor_not_starting": 0.06, "condenser_fan_stopped": 0.04},
    ),
    Sign(
        "condenser_dirty",
        "Is the face of the condenser dirty?",
        0.15,
        {"condenser_fouled": 0.85, "hot_air_recirculating": 0.2},
    ),
    Sign(
        "airflow_obstructed",
        "Is the condenser's air blocked?",
        0.06,
        {"condenser_fouled": 0.5, "hot_air_recirculating": 0.45, "capacity_short": 0.08},
    ),
    Sign(
        "warm_air_at_intake",
        "Is the air at the condenser's inlet warmer than in the room?",
        0.06,
        {"hot_air_recirculating": 0.92, "condenser_fan_stopped": 0.15, "condenser_fouled": 0.12},
        running=True,
    ),
    Sign("bath_level_low", "Is the bath low?", 0.05, {"bath_low": 0.95, "air_in_loop": 0.35}),
    Sign("glycol_leak", "Does glycol leak?", 0.03, {"bath_low": 0.5, "air_in_loop": 0.15}),
    Sign("strainer_dirty", "Is the strainer dirty?", 0.1, {"pump_weak_or_strainer_blocked": 0.6, "pump_stopped": 0.2}),
    Sign(
        "pump_noisy",
        "Is the pump noisy?",
        0.05,
        {
            "pump_weak_or_strainer_blocked": 0.5,
            "air_in_loop": 0.5,
            "bath_low": 0.35,
            "pump_stopped": 0.2,
            "glycol_too_strong": 0.12,
        },
    ),
    Sign("air_in_lines", "Is there air in the glycol lines?", 0.03, {"air_in_loop": 0.75, "bath_low": 0.35}),
    Sign(
        "ice_on_coil",
        "Is there ice on the coil or slush in the bath?",
        0.03,
        {"evaporator_iced": 0.85, "set_point_wrong": 0.08, "pump_stopped": 0.08, "thermometer_wrong": 0.08},
    ),
    Sign(
        "frost_on_capillary",
        "Is there light frost just past the capillary's outlet?",
        0.35,
        {
            RESTING: 0.08,
            STOPPED: 0.02,
            DEAD: 0.02,
            RUNNING: 0.4,
            "low_charge": 0.45,
            "restriction": 0.5,
            "compressor_weak": 0.1,
        },
    ),
    Sign(
        "frost_on_first_turns_only",
        "Does frost end after the first turns of the coil?",
        0.03,
        {},
        running=True,
        follows=(("wet", STARVED, -0.1),),
        then=0.75,
    ),
    Sign(
        "frost_to_compressor",
        "Does frost or sweat reach the compressor?",
        0.05,
        {},
        running=True,
        follows=(("wet", FLOODED, 0.05),),
        then=0.7,
    ),
    Sign(
        "drier_cold",
        "Is the drier or capillary colder than the line before it?",
        0.03,
        {"restriction": 0.75, "low_charge": 0.1},
    ),
    Sign(
        "discharge_line_hot",
        "Is the discharge line too hot to hold?",
        0.85,
        {RESTING: 0.05, STOPPED: 0.05, DEAD: 0.02, RUNNING: 0.88, "low_charge": 0.65, "compressor_weak": 0.4},
    ),
    Sign(
        "condenser_barely_warm",
        "Is the condenser hardly warm while the compressor runs?",
        0.05,
        {"low_charge": 0.45, "restriction": 0.35, "compressor_weak": 0.6},
    ),
    Sign("oil_stain", "Is there an oil stain?", 0.05, {"low_charge": 0.35}),
    Sign("insulation_wet", "Is the trunk's insulation wet?", 0.04, {"insulation_wet": 0.75}),
    Sign("insulation_damaged", "Is the trunk's insulation damaged?", 0.08, {"insulation_wet": 0.5}),
    Sign("keg_delivered_today", "Was the keg delivered within a day?", 0.08, {"keg_not_cold": 0.85}),
    Sign(
        "lines_cleaned_today",
        "Were the lines cleaned within the hour?",
        0.03,
        {"lines_just_cleaned": 0.97, "nothing_wrong": 0.1},
    ),
    Sign("busy_period", "Is far more beer poured than usual?", 0.12, {"pouring_too_much": 0.92, "capacity_short": 0.4}),
    Sign(
        "recently_started",
        "Was the unit switched on or repaired within the hours before?",
        0.12,
        {"still_recovering": 0.7, "nothing_wrong": 0.08},
    ),
    Sign(
        "controls_scorched",
        "Are contacts or controls scorched?",
        0.03,
        {"no_power": 0.3, "controller_dark_or_not_calling": 0.12, "compressor_not_starting": 0.1},
    ),
)
BY_CODE = {sign.code: sign for sign in SIGNS}
ANY = {sign.code: sign for sign in (*SIGNS, *DERIVED)}


def signs_of(seen: Iterable[Seen], symptom: str | None, derived: Mapping[str, bool]) -> list[tuple[Sign, bool]]:
    """Each sign that was looked for or follows from readings, and whether it was there; without those from which
    nothing follows.

    A call about warm beer, or none about anything, is one of them.
    """
    called = {COMPLAINT.code: symptom == WARM_POUR} if symptom in (None, WARM_POUR) else {}
    looked = {each.code: each.present for each in seen if each.code in BY_CODE}
    return [(ANY[code], present) for code, present in (called | dict(derived) | looked).items()]


# What a visit may record too and triage takes without a conclusion.
UNINFORMATIVE = ("bath_cap_missing", "cover_panel_missing", "fasteners_missing", "area_littered", "other")
CODES = (*BY_CODE, *UNINFORMATIVE)
