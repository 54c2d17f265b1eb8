"""Physical state of a faulty simulated filler, and what a person who looks would see of it.

Frozen before a trial is drawn: faults by their physics, what each check shows of the state and
how often it is missed, what each repair mends. Written from the machine's side; judgement, no
source. Nothing here is read from the links, weights or signatures of the fault data.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fillwright.science.twin_faults import FaultKind as K

__all__ = [
    "CHECK_CLASS", "CLASSES", "FAILS", "LOOKS", "MENDS", "REMEDIES", "SCENARIOS", "SIGNS",
    "SYMPTOMS", "WEIGHTS", "Observer", "Scenario", "State",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """A cause as the simulated filler shows it: its faults, and which part is bad."""

    cause: str
    kinds: tuple[K, ...]
    part: str


# Every cause of the list that the physics of the simulated filler can be, and that a person
# may mend; where two causes do the same to the product they differ in the part alone.
SCENARIOS = (
    Scenario(cause="valve_oring", kinds=(K.VALVE_LEAK,), part="valve ring"),
    Scenario(cause="glide_worn", kinds=(K.RING_WORN,), part="glide ring"),
    Scenario(cause="energiser_flat", kinds=(K.RING_WORN,), part="ring under the glide ring"),
    Scenario(cause="suction_ferrule", kinds=(K.SUCTION_AIR,), part="suction gasket"),
    Scenario(cause="product_air", kinds=(K.SUCTION_AIR,), part="foamed product"),
    Scenario(cause="recharge_fast", kinds=(K.RECHARGE_TOO_FAST,), part="recharge as recorded"),
    Scenario(cause="needle_moved", kinds=(K.RECHARGE_TOO_FAST,), part="recharge needle turned"),
    Scenario(cause="lock_open", kinds=(K.WHEEL_CREEP,), part="wheel lock"),
    Scenario(cause="stop_loose", kinds=(K.WHEEL_CREEP,), part="stroke stop"),
    Scenario(cause="air_low", kinds=(K.LOW_PRESSURE,), part="regulator"),
    Scenario(cause="hopper_low", kinds=(K.HOPPER_LOW,), part="level"),
    Scenario(cause="not_purged", kinds=(K.START_AIR,), part="air after the start"),
    Scenario(cause="valve_stiff", kinds=(K.STICKY_VALVE,), part="stiff valve"),
    Scenario(cause="lumps", kinds=(K.STICKY_VALVE,), part="pieces"),
    Scenario(cause="suckback_pin", kinds=(K.DRIP, K.BACK_FLOW), part="pin"),
    Scenario(cause="cutoff_slow", kinds=(K.DRIP,), part="shut-off nozzle"),
    Scenario(cause="nozzle_wrong", kinds=(K.DRIP,), part="nozzle bore"),
    Scenario(cause="seal_swollen", kinds=(K.TIGHT_SEAL,), part="swollen seal"),
    Scenario(cause="drive_dry", kinds=(K.TIGHT_SEAL,), part="dry slides"),
    Scenario(cause="product_cold", kinds=(K.TEMPERATURE_DRIFT,), part="warmth"),
    Scenario(cause="density_shift", kinds=(K.SCALE_MOVED,), part="density"),
    Scenario(cause="scale_cal", kinds=(K.SCALE_MOVED,), part="weighing scale"),
    Scenario(cause="wrong_setup", kinds=(K.SCALE_MOVED,), part="cylinder"),
)


@dataclass(frozen=True, kw_only=True)
class State:
    """What is so at the machine after the doses that were weighed, in the units people read."""

    part: str
    gauge_bar_g: float
    stalls: bool
    moves: bool
    fill_slower: float
    recharge_slower: float
    friction_times: float
    gap_um: float
    leak_pct: float
    void_pct: float
    void_slower_pct: float
    gas_pct: float
    first_gas_pct: float
    gas_after_flush_pct: float
    drop_share: float
    late_share: float
    pointer_mm: float
    colder_k: float
    constant_pct: float
    level_is_bare: bool
    mean_low_pct: float
    first_low_pct: float
    creep_pct: float
    is_creep_clear: bool
    spread_times: float
    far_out: int
    nothing_comes: bool


@dataclass(frozen=True, kw_only=True)
class Observer:
    """How often something there is missed, and something seen that is not there."""

    miss: float
    false: float


CLASSES = {
    "glance": Observer(miss=0.02, false=0.01),
    "measured": Observer(miss=0.03, false=0.02),
    "part on the bench": Observer(miss=0.07, false=0.03),
    "trial run": Observer(miss=0.10, false=0.05),
    "judged by eye or hand": Observer(miss=0.15, false=0.05),
    "noticed while it runs": Observer(miss=0.20, false=0.005),
    "read off the weights": Observer(miss=0.10, false=0.005),
}

CHECK_CLASS = {
    "glance": (
        "see_estop", "see_guard", "see_mode", "gauge_rest", "gauge_run", "bowl", "wheel_lock",
        "wheel_reading", "wheel_end", "hopper_look", "parts_match", "valve_marks",
    ),
    "measured": (
        "range_check", "product_temp", "density_check", "check_mass", "reweigh", "tare_ten",
        "target_sum", "seal_measure",
    ),
    "part on the bench": (
        "ferrule_look", "strainer_look", "valve_open", "pin_look", "piston_pull", "nozzle_look",
    ),
    "trial run": (
        "needles", "slow_recharge_trial", "slow_fill_trial", "suction_test", "flush", "joint_look",
    ),
    "judged by eye or hand": (
        "hiss_walk", "exhaust_feel", "start_test", "front_sensor_look", "rear_sensor_look",
        "dwell_time", "lid_vent", "valve_travel", "hand_move", "coupling_look", "stop_look",
        "nozzle_fit", "cutoff_watch", "product_air", "layers", "lump_look",
    ),
}  # fmt: skip

Shown = Callable[[State], bool]

# What one sees while it runs. A quarter slower is seen; a leak of half a per cent wets the rod;
# a third of a drop hangs to be seen; a hundredth of gas makes bubbles.
SYMPTOMS: dict[str, Shown] = {
    "no_motion": lambda s: not s.moves,
    "stops_mid": lambda s: s.moves and s.stalls,
    "slow_fill": lambda s: s.moves and s.fill_slower > 1.25,
    "slow_recharge": lambda s: s.moves and s.recharge_slower > 1.25,
    "jerky": lambda s: s.friction_times > 3.0,
    "squeal": lambda s: s.friction_times > 6.0,
    "jump_then_slow": lambda s: s.void_pct > 3.0,
    "leak_behind": lambda s: (
        s.part in {"glide ring", "ring under the glide ring"} and s.leak_pct > 0.5
    ),
    "backflow": lambda s: s.part == "valve ring" and s.leak_pct > 1.0,
    "bubbles": lambda s: max(s.gas_pct, s.first_gas_pct) > 1.0,
    "drip": lambda s: s.drop_share > 0.3,
    "no_product": lambda s: s.moves and s.nothing_comes,
}

# What one reads off sixty weights.
WEIGHTS: dict[str, Shown] = {
    "dose_low": lambda s: s.mean_low_pct > 0.4,
    "dose_high": lambda s: s.mean_low_pct < -0.4,
    "dose_creep": lambda s: abs(s.creep_pct) > 0.5 and s.is_creep_clear,
    "dose_spread": lambda s: s.spread_times > 2.0,
    "outlier": lambda s: 0 < s.far_out <= 6,
    "first_low": lambda s: s.first_low_pct > 0.4,
}

# The button that is pressed, by what was noticed: the first that fits.
SIGNS = (
    ("nothing-moves", ("no_motion",)),
    ("stops", ("stops_mid",)),
    ("creeps", ("dose_creep",)),
    ("jumps", ("dose_spread", "outlier")),
    ("air", ("bubbles",)),
    ("drips", ("drip",)),
    ("leaks", ("leak_behind",)),
    ("slow", ("slow_fill", "slow_recharge")),
)

# What a check shows; a finding that is not here is never there in this trial.
LOOKS: dict[str, Shown] = {
    "k_gauge_low": lambda s: s.gauge_bar_g < 5.0,
    "k_lock_loose": lambda s: s.part == "wheel lock",
    "k_indicator_moved": lambda s: s.part == "wheel lock" and s.pointer_mm > 0.15,
    "k_stop_loose": lambda s: s.part == "stroke stop",
    "k_needle_off": lambda s: (
        s.part == "recharge needle turned" or max(s.fill_slower, s.recharge_slower) > 1.15
    ),
    # A slower recharge pulls less: the void goes, and air that comes in at a joint by a third.
    "k_recharge_helps": lambda s: (
        s.void_pct - s.void_slower_pct > 0.5
        or (s.part == "suction gasket" and 0.3 * s.gas_pct > 0.5)
    ),
    "k_hopper_low": lambda s: s.level_is_bare,
    "k_ferrule_bad": lambda s: s.part == "suction gasket",
    # Film moves where air gets past a gap that a product hardly passes.
    "k_suction_weak": lambda s: (
        s.part in {"glide ring", "ring under the glide ring"} and s.gap_um > 15.0
    ),
    "k_suction_front": lambda s: (s.part == "valve ring" and s.gap_um > 15.0) or s.part == "pin",
    "k_blow_rear": lambda s: s.part == "valve ring" and s.gap_um > 15.0,
    "k_valve_travel": lambda s: s.part == "stiff valve",
    "k_valve_seal_bad": lambda s: s.part == "valve ring" and s.gap_um > 10.0,
    "k_pin_worn": lambda s: s.part == "pin",
    "k_glide_bad": lambda s: s.part == "glide ring" and s.gap_um > 10.0,
    "k_energiser_bad": lambda s: s.part == "ring under the glide ring",
    "k_seal_swollen": lambda s: s.part == "swollen seal",
    "k_hand_stiff": lambda s: s.friction_times > 2.0,
    "k_nozzle_fit": lambda s: s.part == "nozzle bore",
    "k_cutoff_late": lambda s: s.part == "shut-off nozzle",
    "k_flush_cures": lambda s: (
        s.first_gas_pct - s.gas_after_flush_pct > 0.3 and s.gas_after_flush_pct < 0.2
    ),
    "k_product_air": lambda s: s.part == "foamed product",
    "k_temp_off": lambda s: s.colder_k > 2.0,
    "k_density_off": lambda s: s.part == "density" and s.constant_pct > 0.3,
    "k_lumps": lambda s: s.part == "pieces",
    "k_checkmass_off": lambda s: s.part == "weighing scale" and s.constant_pct > 0.1,
    "k_parts_mismatch": lambda s: s.part == "cylinder",
}

FAILS = 0.05
"""How often a repair of the right part does not hold."""

# What a repair mends, by what hands do in it.
MENDS: dict[str, set[str]] = {
    "set_pressure": {"air_low"},
    "new_valve_oring": {"valve_oring"},
    "new_valve": {"valve_oring"},
    "clean_valve": {"valve_stiff"},
    "new_glide": {"glide_worn"},
    "new_energiser": {"energiser_flat"},
    "rebuild_piston": {"glide_worn", "energiser_flat"},
    "new_ferrule": {"suction_ferrule"},
    "deaerate": {"product_air"},
    "slow_recharge": {"recharge_fast", "needle_moved"},
    "set_needles": {"needle_moved"},
    "lock_wheel": {"lock_open"},
    "tighten_stop": {"stop_loose"},
    "fill_hopper": {"hopper_low"},
    "purge": {"not_purged"},
    "sieve": {"lumps"},
    "new_pin": {"suckback_pin"},
    "set_cutoff": {"cutoff_slow"},
    "fit_nozzle": {"nozzle_wrong"},
    "right_rubber": {"seal_swollen"},
    "grease_slides": {"drive_dry"},
    "warm_product": {"product_cold"},
    "retarget": {"density_shift"},
    "adjust_scale": {"scale_cal"},
    "right_parts": {"wrong_setup"},
}

# The right-hand column of a handbook: what is done when a check shows something.
REMEDIES = {
    "k_gauge_low": "set_pressure", "k_gauge_dips": "bigger_feed", "k_bowl_water": "drain_filter",
    "k_leak_found": "fix_leak", "k_estop_in": "release_estop", "k_guard_open": "close_guard",
    "k_start_dead": "fix_start", "k_front_dark": "set_front_sensor",
    "k_rear_dark": "set_rear_sensor", "k_coupling_play": "fix_coupling",
    "k_needle_off": "set_needles", "k_hand_stiff": "grease_slides",
    "k_stop_loose": "tighten_stop", "k_valve_seal_bad": "new_valve_oring",
    "k_valve_travel": "clean_valve", "k_valve_marks": "turn_valve", "k_glide_bad": "new_glide",
    "k_energiser_bad": "new_energiser", "k_piston_order": "rebuild_piston",
    "k_seal_swollen": "right_rubber", "k_hopper_low": "fill_hopper",
    "k_ferrule_bad": "new_ferrule", "k_strainer_blocked": "clear_strainer",
    "k_lid_vent": "short_hose", "k_pin_worn": "new_pin", "k_nozzle_blocked": "clear_nozzle",
    "k_cutoff_late": "set_cutoff", "k_joint_weeps": "new_gasket", "k_nozzle_fit": "fit_nozzle",
    "k_product_air": "deaerate", "k_temp_off": "warm_product", "k_density_off": "retarget",
    "k_layers": "stir", "k_lumps": "sieve", "k_tare_varies": "tare_each",
    "k_reweigh_spread": "settle_scale", "k_checkmass_off": "adjust_scale",
    "k_lock_loose": "lock_wheel", "k_indicator_over": "wind_back",
    "k_recharge_helps": "slow_recharge", "k_flush_cures": "purge",
    "k_range_low": "smaller_cylinder", "k_target_wrong": "fix_target",
    "k_fill_helps": "slow_fill", "k_mode_wrong": "set_mode", "k_parts_mismatch": "right_parts",
}  # fmt: skip
