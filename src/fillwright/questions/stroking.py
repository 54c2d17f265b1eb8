"""Questions about a stroke: the fastest full recharge, and the discharge under air."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field

from fillwright.questions.fields import Answer, Given, Real, Values
from fillwright.questions.machines import (
    CylinderGiven,
    DriveGiven,
    PieceGiven,
    ProductGiven,
    Seconds,
    asked_first,
    curve_of,
    drive_of,
    path_of,
)

__all__ = ["discharge", "recharge_limit"]

_SOURCES = (
    "ISO 6358-1:2013 (from memory)",
    "Metzner and Reed, AIChE J. 1, 434 (1955) (from memory)",
)
_SHOWN_RELEASE = 20_000.0

_SYRUP: dict[str, Any] = {"model": "newtonian", "density_kg_m3": 1400, "viscosity_pa_s": 5}
_SUCTION = [{"bore_m": 0.025, "length_m": 0.15}, {"bore_m": 0.018, "length_m": 0.06}]
_OUTWARD = [
    {"bore_m": 0.018, "length_m": 0.06},
    {"bore_m": 0.016, "length_m": 0.25},
    {"bore_m": 0.01, "length_m": 0.08},
]
_CYLINDER = {"bore_m": 0.05, "stroke_m": 0.1273}
_DRIVE: dict[str, Any] = {
    "air_bore_m": 0.063,
    "rod_m": 0.02,
    "gauge_pa": 600000,
    "supply": {"c_m3_s_pa": 4e-8, "b": 0.3},
    "meter_out": {"c_m3_s_pa": 4e-9, "b": 0.3},
}


class RechargeLimitGiven(Given):
    """The way from the hopper into the cylinder."""

    product: ProductGiven = Field(description="What is filled.", examples=[_SYRUP])
    path: Values[PieceGiven] = Field(
        description="From the hopper to the cylinder.",
        min_length=1,
        max_length=100,
        examples=[_SUCTION],
    )
    cylinder: CylinderGiven = Field(
        description="The cylinder at its setting.", examples=[_CYLINDER]
    )
    head_m: Annotated[float, Real(at_least=-10, at_most=100)] = Field(
        description="Product above the cylinder's axis.", examples=[0.25]
    )
    dwell_s: Seconds | None = Field(
        default=None, description="Rest before the valve turns; 0 when left out."
    )
    recharge_s: Seconds | None = Field(
        default=None, description="Time of the piston at steady speed, not of a watch."
    )
    drive_s: Seconds | None = Field(default=None, description="Shortest time of the drive itself.")


class RechargeLimitAnswer(Answer):
    """The fastest full recharge."""

    flow_max_m3_s: float
    fastest_full_recharge_s: float | None
    fill_fraction: float | None
    limiting: Literal["vapour", "air-release", "supply", "yield"]
    worst_element: int


def recharge_limit(given: RechargeLimitGiven) -> RechargeLimitAnswer:
    """Answer how fast the cylinder can be filled from the hopper."""
    import numpy as np  # noqa: PLC0415  loaded when asked

    from fillwright.science import stroke  # noqa: PLC0415  loaded when asked
    from fillwright.science.wet_tables import path_table  # noqa: PLC0415  loaded when asked
    from fillwright.science.wetpath import pressure_loss  # noqa: PLC0415  loaded when asked

    curve, path = curve_of(given.product), path_of(given.path)
    density = given.product.density_kg_m3
    swept = math.pi / 4.0 * given.cylinder.bore_m**2 * given.cylinder.stroke_m
    release = given.product.release_pressure_pa
    found = stroke.recharge_limit(
        path_table(path, curve, density, points=960),
        swept=swept,
        head_pressure=density * stroke.GRAVITY * given.head_m,
        vapour_pressure=given.product.vapour_pressure_pa or 0.0,
        release_pressure=_SHOWN_RELEASE if release is None else release,
        dwell=given.dwell_s or 0.0,
        drive_time=given.drive_s or 0.0,
    )
    flow = float(found.flow_max[0])
    by_piece = pressure_loss(path, flow, curve, density).by_piece.reshape(len(path))
    fraction = None
    if given.recharge_s is not None:
        fraction = float(
            stroke.fill_fraction(
                flow, swept=swept, time=given.recharge_s, dwell=given.dwell_s or 0.0
            )
        )
    fastest = float(found.fastest[0])
    limiting: Any = str(found.limiting[0])
    because = (
        f"The product follows at {1e6 * flow:.4g} mL/s at most, so the recharge needs "
        f"{fastest:.3g} s."
        if flow > 0.0
        else "It will not feed: it needs a follower plate, pressure on the hopper, or warmth."
    )
    return RechargeLimitAnswer(
        flow_max_m3_s=flow,
        fastest_full_recharge_s=fastest if math.isfinite(fastest) else None,
        fill_fraction=fraction,
        limiting=limiting,
        worst_element=int(np.argmax(by_piece)),
        because=asked_first(curve, because),
        assumptions=(
            "Air comes out at the release pressure; 20 kPa is a guess until it was measured.",
            "Times are of a piston at steady speed; by the watch they are longer.",
        ),
        sources=_SOURCES,
    )


class DischargeGiven(Given):
    """The way from the cylinder to the nozzle, and the drive."""

    product: ProductGiven = Field(description="What is filled.", examples=[_SYRUP])
    path: Values[PieceGiven] = Field(
        description="From the cylinder to the nozzle, which is last.",
        min_length=1,
        max_length=100,
        examples=[_OUTWARD],
    )
    cylinder: CylinderGiven = Field(
        description="The cylinder at its setting.", examples=[_CYLINDER]
    )
    drive: DriveGiven = Field(description="Air drive of this stroke.", examples=[_DRIVE])
    rise_m: Annotated[float, Real(at_least=-10, at_most=100)] | None = Field(
        default=None, description="Nozzle tip above the cylinder; 0 when left out."
    )


class DischargeAnswer(Answer):
    """How the product leaves."""

    fill_s: float | None
    stalls: bool
    steady_speed_m_s: float
    pressure_pa: float
    held_by: Literal["needle", "product", "supply", "stalled"]
    reserve: float | None
    exit_velocity_m_s: float
    reynolds: float
    weber: float | None
    start_delay_s: float | None


def discharge(given: DischargeGiven) -> DischargeAnswer:
    """Answer how long a fill takes and what holds it."""
    import numpy as np  # noqa: PLC0415  loaded when asked

    from fillwright.science.drive import steady_speed  # noqa: PLC0415  loaded when asked
    from fillwright.science.stroke import GRAVITY  # noqa: PLC0415  loaded when asked
    from fillwright.science.stroke_times import (  # noqa: PLC0415  loaded when asked
        LONGEST,
        discharge_times,
    )
    from fillwright.science.wet_tables import path_table  # noqa: PLC0415  loaded when asked
    from fillwright.science.wetpath import pressure_loss  # noqa: PLC0415  loaded when asked

    curve, path, drive = curve_of(given.product), path_of(given.path), drive_of(given.drive)
    density = given.product.density_kg_m3
    area = math.pi / 4.0 * given.cylinder.bore_m**2
    rise = density * GRAVITY * (given.rise_m or 0.0)
    steady = steady_speed(
        drive, area, lambda flow: pressure_loss(path, flow, curve, density).total + rise
    )
    speed = float(steady.speed[0])
    stalls = str(steady.held_by[0]) == "stalled"
    run = discharge_times(
        drive,
        piston_area=area,
        stroke=given.cylinder.stroke_m,
        table=path_table(path, curve, density),
        head=rise,
        tolerance=0.002,
    )
    time = float(run.time[0])
    exit_bore = path[-1].bore
    velocity = area * speed / (math.pi / 4.0 * float(np.asarray(exit_bore)) ** 2)
    tension = given.product.surface_tension_n_m
    weber = None if tension is None else density * velocity**2 * given.path[-1].bore_m / tension
    available = float(np.asarray(drive.pressure_to_stall(area)))
    pressure = float(steady.load[0])
    held: Any = str(steady.held_by[0])
    end = "The piston stalls." if stalls else f"The fill takes {time:.3g} s; {held} holds it."
    if not stalls and not math.isfinite(time):
        end = f"The fill is not done within {LONGEST / 60:.0f} min; {held} holds it."
    return DischargeAnswer(
        fill_s=time if math.isfinite(time) else None,
        stalls=stalls,
        steady_speed_m_s=speed,
        pressure_pa=pressure,
        held_by=held,
        reserve=available / pressure if pressure > 0.0 else None,
        exit_velocity_m_s=velocity,
        reynolds=float(pressure_loss(path, area * speed, curve, density).reynolds[-1].flat[0]),
        weber=weber,
        start_delay_s=float(run.delay[0]) if math.isfinite(float(run.delay[0])) else None,
        because=asked_first(curve, end),
        assumptions=(
            "Reserve is the product pressure that stalls the drive over that at steady speed.",
            "Air stays at one temperature; the exhaust side starts at full supply.",
        ),
        sources=_SOURCES,
    )
