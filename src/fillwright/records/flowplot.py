"""What the picture of a product's flow shows: how thick it is, over speed or warmth."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FlowPlot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowPlot:
    """Viscosity of a product over the shear rate, or over the temperature.

    Parameters
    ----------
    rates_per_s, temps_c : tuple of float
        Where the curve is drawn; one of the two is empty.
    curve_mpa_s, low_mpa_s, high_mpa_s : tuple of float
        The curve and its ends at each.
    point_rates_per_s, point_temps_c : tuple of float
        Where it was measured.
    points_mpa_s : tuple of float
        What was measured there.
    now_c : float or None
        Temperature of the fill, in a picture over temperature.
    title : str
        What the picture is of, in a few words.
    """

    rates_per_s: tuple[float, ...] = ()
    temps_c: tuple[float, ...] = ()
    curve_mpa_s: tuple[float, ...]
    low_mpa_s: tuple[float, ...]
    high_mpa_s: tuple[float, ...]
    point_rates_per_s: tuple[float, ...] = ()
    point_temps_c: tuple[float, ...] = ()
    points_mpa_s: tuple[float, ...] = ()
    now_c: float | None = None
    title: str = ""

    @property
    def is_over_rate(self) -> bool:
        """Return True where the picture is over the shear rate."""
        return bool(self.rates_per_s)
