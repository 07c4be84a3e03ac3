"""For every statement that the engine may make: whether the truth bears it out.

A statement of fact ("the bath is at 60 degF, warmer than 33") is borne out when the fact is true, instruments' errors
allowed for; a statement of a cause, or that something is not as it should be, when that is so. What is only at rest, or
is as a sound unit would be in the same surroundings, has nothing that should be otherwise.
"""

from collections.abc import Callable

from tests.simulation.units.truth import Truth, View

Predicate = Callable[[View], bool]


def _overloaded(v: View) -> bool:
    return max(v.compressor_share, v.fan_share, v.pump_share) > 1.02


def _short_of_capacity(v: View) -> bool:
    return v.capacity_share < 0.88 or v.stopped or v.state == "short_cycling"


def _head_high(v: View) -> bool:
    hot = ("condenser_fouled", "condenser_fan_stopped", "hot_air_recirculating", "overcharge", "non_condensable_gas")
    return v.has(*hot) or (v.running and v.split > v.sound_split + 5.0)


def _flow_short(v: View) -> bool:
    return v.flow_share < 0.75 or v.has(
        "trunk_short_of_flow", "air_in_loop", "pump_weak_or_strainer_blocked", "glycol_too_strong"
    )


def _no_glycol_moves(v: View) -> bool:
    return v.flow == 0.0 or v.has("trunk_short_of_flow")


def _frost(v: View) -> bool:
    return min(v.evaporating, v.evaporating_when_holding) < v.freezing_point + 1.0 or v.has("evaporator_iced")


def _scorched(v: View) -> bool:
    return v.has("overheated_terminal")


def _stands(v: View) -> bool:
    """The compressor stands while the bath is warmer than the record wants it."""
    return v.stopped or (v.compressor_share == 0.0 and v.bath > v.set_point + 4.0)


def _does_not_cool(v: View) -> bool:
    return _short_of_capacity(v) or v.held_load > 0.97 * v.held_capacity


TRUE_OF: dict[str, Predicate] = {
    # the circuit
    "superheat_none": lambda v: (v.running or v.state == "short_cycling") and v.superheat < 2.5,
    "superheat_low": lambda v: v.running and v.superheat < 10.5,
    "superheat_high": lambda v: v.running and v.superheat > 19.0,
    "superheat_good": lambda v: v.running and 6.0 < v.superheat < 24.0,
    "subcooling_low": lambda v: v.running and v.subcooling < 10.5,
    "subcooling_high": lambda v: v.running and v.subcooling > 14.0,
    "subcooling_good": lambda v: v.running and 7.0 < v.subcooling < 18.0,
    "evaporator_far_under_bath": lambda v: v.running and v.bath - v.evaporating > 14.0,
    "condenser_split_high": _head_high,
    "condenser_split_rising": lambda v: _head_high(v) or (v.running and v.split > v.sound_split + 2.0),
    "condenser_split_good": lambda v: v.running and v.split < v.sound_split + 8.0,
    "condenser_split_low": lambda v: v.running and v.split < v.sound_split - 1.0,
    "condenser_split_unjudged": lambda v: v.ambient < 65.0,
    "pressures_at_rest": lambda v: not v.running,
    "readings_apart": lambda v: True,  # of when it was read, not of the unit
    "pressures_after_start": lambda v: v.state in ("starting", "short_cycling"),
    "gas_at_rest": lambda v: True,  # or it stopped a short time ago
    "overcharge_fits": lambda v: v.has("overcharge", "non_condensable_gas"),
    "low_charge_fits": lambda v: v.has("low_charge"),
    "restriction_fits": lambda v: v.has("restriction"),
    "condenser_air_recirculates": lambda v: v.has("hot_air_recirculating"),
    "pressures_equal_running": lambda v: True,  # or read before it started
    "evaporator_over_bath": lambda v: False,  # no simulated record has another refrigerant
    "contact_loses_voltage": lambda v: v.has("overheated_terminal"),
    "refrigerant_added": lambda v: True,
    "air_rise_high": lambda v: v.running and v.air_rise > v.sound_air_rise + 4.0,
    "air_rise_low": lambda v: v.stopped or (v.running and v.air_rise < max(8.0, 0.85 * v.sound_air_rise)),
    "air_rise_unclear": lambda v: True,  # it is too close to tell
    "air_rise_none": lambda v: v.stopped or (v.running and v.air_rise < 4.0),
    "air_rise_good": lambda v: v.running and abs(v.air_rise - v.sound_air_rise) < 8.0,
    "airflow_obstructed": lambda v: v.has("condenser_fouled", "hot_air_recirculating"),
    # electricity
    "current_over_rating": _overloaded,
    "current_at_rating": lambda v: max(v.compressor_share, v.fan_share, v.pump_share) > 0.93,
    "current_light": lambda v: v.running and v.compressor_share < 0.5,
    "current_none": lambda v: v.compressor_share == 0.0 or v.fan_share == 0.0 or v.pump_share == 0.0,
    "currents_good": lambda v: not _overloaded(v),
    "rotor_locked": lambda v: v.has("compressor_not_starting"),
    "switch_load_good": lambda v: not v.has("compressor_not_starting"),
    "switch_near_rating": lambda v: True,
    "switch_over_rating": lambda v: not v.has("compressor_not_starting") and v.switch_share > 0.78,
    "terminal_hot": lambda v: v.terminal_rise > 18.0,
    "terminal_warm": lambda v: v.terminal_rise > 1.0,
    "terminals_good": lambda v: v.terminal_rise < 19.0,
    "controls_scorched": _scorched,
    "flammable_and_ignition": lambda v: _scorched(v) and v.refrigerant == "R-290",
    "refrigerant_flammable": lambda v: v.refrigerant == "R-290",
    "voltage_none": lambda v: v.supply in ("breaker", "cord"),
    "voltage_good": lambda v: 0.89 < v.voltage_share < 1.11,
    "display_dark": lambda v: v.dark,
    "voltage_at_dead_controller": lambda v: v.dark and v.supply not in ("breaker", "cord"),
    "voltages_read": lambda v: True,
    "power_stops_here": lambda v: v.supply != "on",
    "no_voltage_before": lambda v: v.supply != "on",
    "compressor_stands": _stands,
    "compressor_stops_early": lambda v: v.stopped or v.state == "short_cycling" or _head_high(v),
    "fan_stands": lambda v: v.has("condenser_fan_stopped"),
    "pump_stands": lambda v: v.pump_share == 0.0,
    "live_not_running": lambda v: v.stopped,
    "supply_interrupted": lambda v: v.supply != "on",
    "voltage_off": lambda v: not 0.91 < v.voltage_share < 1.09,
    "voltage_far_off": lambda v: not 0.86 < v.voltage_share < 1.14,
    "voltage_lost": lambda v: v.voltage_share < 0.97,
    # bath and glycol
    "bath_warm": lambda v: v.bath_warmest > 32.0,
    "bath_set_warm": lambda v: v.cut_in > 31.5,
    "bath_cold": lambda v: v.bath_coldest < 29.0,
    "bath_colder_than_set": lambda v: v.bath_coldest < v.set_point - 2.0,
    "bath_in_band": lambda v: v.bath_coldest < 34.0 and v.bath_warmest > 27.0,
    "bath_near_band": lambda v: v.bath_coldest < 35.0 and v.bath_warmest > 26.0,
    "bath_level_low": lambda v: v.level < 0.85,
    "bath_level_good": lambda v: v.level > 0.78,
    "glycol_weak": lambda v: v.strength < 26.0,
    "glycol_strong": lambda v: v.strength > 48.5,
    "glycol_off_target": lambda v: abs(v.strength - 35.0) > 1.0,
    "glycol_strength_good": lambda v: 28.0 < v.strength < 45.0,
    "ethylene_glycol": lambda v: v.glycol == "ethylene",
    "coil_can_freeze": _frost,
    "freeze_margin_small": lambda v: min(v.evaporating, v.evaporating_when_holding) < v.freezing_point + 6.0,
    "freeze_margin_good": lambda v: not _frost(v),
    "ice_on_coil": lambda v: v.has("evaporator_iced"),
    "pull_down_not_cooling": _does_not_cool,
    "pull_down_slow": _short_of_capacity,
    "capacity_low_today": lambda v: v.ambient > 95.0 or v.ambient < 65.0 or v.capacity_share < 0.9,  # cold: capillary
    "load_near_capacity": lambda v: v.held_load > 0.75 * v.held_capacity,
    "pull_down_loaded": lambda v: True,
    "pull_down_too_early": lambda v: True,
    "pull_down_doubtful": lambda v: True,
    "load_over_capacity": lambda v: v.held_load > 0.97 * v.held_capacity,
    "bath_below_freezing": lambda v: v.bath_coldest < v.freezing_point + 1.0,
    "load_carried": lambda v: v.held_capacity > v.held_load,
    "pull_down_recovering": lambda v: not v.stopped,
    "pull_down_unclear": lambda v: True,
    "set_point_changed": lambda v: v.has("set_point_wrong"),
    "set_point_as_recorded": lambda v: not v.has("set_point_wrong"),
    "controller_disagrees": lambda v: v.has("thermometer_wrong"),
    "controller_agrees": lambda v: not v.has("thermometer_wrong"),
    # loop and beer
    "air_in_lines": lambda v: v.has("air_in_loop"),
    "pump_noisy": lambda v: v.has("pump_weak_or_strainer_blocked", "air_in_loop"),
    "insulation_wet": lambda v: v.has("insulation_wet"),
    "loop_rise_high": lambda v: _flow_short(v) or v.has("insulation_wet", "pouring_too_much", "capacity_short"),
    "loop_rise_good": lambda v: not _flow_short(v),
    "loop_rise_unclear": lambda v: True,
    "loop_flow_low": _flow_short,
    "loop_rise_negative": lambda v: v.bath > 60.0,
    "beer_warm": lambda v: v.tap_warmest > 37.5 or v.bath_warmest > 40.0,
    "beer_too_cold": lambda v: v.tap_coldest < 34.0,
    "foam_not_from_warmth": lambda v: v.tap_coldest < 39.0,
    "beer_cold": lambda v: v.tap_coldest < 39.0,
    "glycol_not_moving": lambda v: v.flow == 0.0,
    "beer_stands_uncooled": _no_glycol_moves,
    "cooler_warm": lambda v: v.cooler > 37.0,
    "cooler_too_cold": lambda v: v.cooler < 32.0,
    "cooler_cold": lambda v: v.cooler < 41.0,
    "glycol_leak": lambda v: v.has("bath_low"),
    "oil_stain": lambda v: v.has("low_charge"),
    "readings_contradict": lambda v: v.has("thermometer_wrong"),
    "times_contradict": lambda v: False,  # no simulated visit has its times wrong
    "unit_doubtful": lambda v: False,  # nor a unit
    "currents_contradict": lambda v: False,  # nor a current of a switch
    "not_calculated": lambda v: True,
    "purge_lines": lambda v: True,
    "saturation": lambda v: True,
}
# what is mended without a new reading or observation cannot be known as left
OF_THE_WHOLE_VISIT = {
    "bath_level_low",
    "coil_can_freeze",
    "display_dark",
    "freeze_margin_small",
    "glycol_strong",
    "glycol_weak",
    "pull_down_not_cooling",
    "pull_down_slow",
    "voltage_at_dead_controller",
}
REPORTS = {
    "voltage_at_dead_controller": {"voltage_at_dead_controller"},
    "overheated_terminal": {"terminal_hot", "terminal_overheated", "controls_scorched", "flammable_and_ignition"},
    "overload": {"current_over_rating", "rotor_locked"},
    "ethylene": {"ethylene_glycol"},
    "ice": {"ice_on_coil", "coil_can_freeze", "glycol_weak"},
}  # danger -> codes of `act` or `stop` that report it


def borne_out(code: str, truth: Truth, moment: str | None = None) -> bool | None:
    """Whether the truth bears a statement out: as found, as left, or at either; None for a code unknown here."""
    predicate = TRUE_OF.get(code)
    when = None if code in OF_THE_WHOLE_VISIT else moment
    return None if predicate is None else any(predicate(view) for view in truth.views(when))
