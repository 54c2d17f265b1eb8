"""What the map of a product on a machine shows: where it fills, stalls, splashes, drips."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["NozzleMap", "RechargeMap"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RechargeMap:
    """Recharge by the watch against the temperature of the product.

    Parameters
    ----------
    temps_c : tuple of float
        Temperatures, coldest first.
    edges_s : tuple of float
        Shortest recharge that fills at each; what the drive can do at its quickest where that
        is slower, infinite where it will not feed.
    drive_s : tuple of float
        Recharge with the control fully open.
    now_s, now_c : float
        Today's point.
    thickness_factors : tuple of float
        How many times as thick the product is at each temperature.
    longest_s : float
        End of the picture.
    is_full : bool
        Whether today's point fills.
    """

    temps_c: tuple[float, ...]
    edges_s: tuple[float, ...]
    drive_s: tuple[float, ...]
    now_s: float
    now_c: float
    thickness_factors: tuple[float, ...]
    longest_s: float
    is_full: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NozzleMap:
    """Nozzle bore against the temperature of the product.

    Parameters
    ----------
    temps_c : tuple of float
        Temperatures, coldest first.
    bores_mm : tuple of float
        Bores, narrowest first.
    states : tuple of tuple of str
        For each temperature and bore: ``"good"``, ``"stalls"``, ``"splashes"`` or ``"drips"``.
    now_mm, now_c : float
        Today's point.
    owned_mm : tuple of float
        Bores that are owned.
    """

    temps_c: tuple[float, ...]
    bores_mm: tuple[float, ...]
    states: tuple[tuple[str, ...], ...]
    now_mm: float
    now_c: float
    owned_mm: tuple[float, ...] = ()
