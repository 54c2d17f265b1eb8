"""A simulated bench: the machine fills a container, and the container goes on the scale."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from numpy.random import Generator

from fillwright.errors import BadInput, SilentScale
from fillwright.records.entities import JobFacts
from fillwright.records.entries import Purpose
from fillwright.records.units import grams
from fillwright.scale.lines import LineReader, RawWeighing
from fillwright.scale.simulated.machine import Filler, SimulatedMachine, simulated_from
from fillwright.scale.simulated.scale import SimulatedScale

__all__ = ["Placed", "SimulatedBench", "bench_from"]

# An empty jar whose weight nobody gave yet: a tenth of a gram for each millilitre, invented.
_TARE_G_PER_ML: Final = Decimal("0.1")
_TARE_SD_SHARE: Final = Decimal("0.005")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """What stands on the pan in truth.

    Parameters
    ----------
    number : int or None
        Number of the container in the batch, where it has one.
    tare_g : float
        Its own empty weight.
    dose_g : float
        What was filled into it.
    """

    number: int | None
    tare_g: float
    dose_g: float


class SimulatedBench:
    """A filler, a scale and a pile of empties.

    Parameters
    ----------
    machine : SimulatedMachine
        Fills.
    scale : SimulatedScale
        Weighs.
    rng : Generator
        Draws how empties differ.
    tare_mean_g : float
        Average empty.
    tare_sd_g : float
        How empties differ.
    check_weight_g : float
        The known weight that lies beside the scale.
    is_zeroed : bool
        True when each empty is zeroed away before it is filled, so that the scale shows net.
    """

    def __init__(
        self,
        machine: SimulatedMachine,
        scale: SimulatedScale,
        rng: Generator,
        *,
        tare_mean_g: float,
        tare_sd_g: float,
        check_weight_g: float = 200.0,
        is_zeroed: bool = False,
    ) -> None:
        self.machine = machine
        self.scale = scale
        self._rng = rng
        self._tare_mean_g = tare_mean_g
        self._tare_sd_g = tare_sd_g
        self._check_weight_g = check_weight_g
        self._is_zeroed = is_zeroed
        self._jars: dict[int, Placed] = {}
        self._next_number = 1
        self._lock = threading.RLock()

    @property
    def filled_to(self) -> int:
        """Number of the last container of the batch that was filled."""
        return self._next_number - 1

    def number_from(self, first: int) -> None:
        """Give the next container filled this number, as when the proving ones do not count."""
        with self._lock:
            self._next_number = first

    def place_next(self, purpose: Purpose) -> Placed:
        """Put the next container for `purpose` on the pan.

        Parameters
        ----------
        purpose : str
            ``"tare"``: an empty. ``"purge"`` or ``"shot"``: filled, without a number.
            ``"proof"`` or ``"dose"``: filled, with the next number.

        Returns
        -------
        Placed
            What stands there in truth.

        Raises
        ------
        BadInput
            If the purpose means a container that is filled already.
        """
        with self._lock:
            if purpose == "tare":
                return self.place_empty()
            if purpose in {"held", "sample"}:
                message = f"A container weighed as {purpose} is one of the batch: give its number."
                raise BadInput(message, field="purpose", given=purpose, code="choice")
            if purpose in {"proof", "dose"}:
                return self.place_jar(self._next_number)
            return self._put(self._filled(None))

    def place_empty(self) -> Placed:
        """Put an empty container on the pan."""
        with self._lock:
            empty = Placed(number=None, tare_g=self._tare(), dose_g=0.0)
            self.scale.zero(0.0)
            self.scale.put(empty.tare_g)
            return empty

    def place_jar(self, number: int) -> Placed:
        """Put a container of the batch on the pan, filling all up to it that are not yet.

        Parameters
        ----------
        number : int
            Its number, from 1.

        Returns
        -------
        Placed
            What stands there in truth; the same each time it is weighed again.

        Raises
        ------
        BadInput
            If there is no such number.
        """
        with self._lock:
            while self._next_number <= number:
                jar = self._filled(self._next_number)
                self._jars[self._next_number] = jar
                self._next_number += 1
            return self._put(self._known(number))

    def remember(self, number: int, dose_g: float | None) -> None:
        """Take a container as filled before, as when the bench is set up again from a journal.

        Parameters
        ----------
        number : int
            Its number.
        dose_g : float or None
            What the records say of its content; None fills it anew.
        """
        with self._lock:
            jar = self._filled(number)
            if dose_g is not None:
                jar = Placed(number=number, tare_g=jar.tare_g, dose_g=dose_g)
            self._jars[number] = jar
            self._next_number = max(self._next_number, number + 1)

    def place_check_weight(self) -> None:
        """Put the known weight on the pan."""
        with self._lock:
            self.scale.zero(0.0)
            self.scale.put(self._check_weight_g)

    def take_off(self) -> None:
        """Clear the pan."""
        with self._lock:
            self.scale.clear()

    def true_dose(self, number: int) -> float:
        """Return what is truly in a container of the batch, in grams.

        Raises
        ------
        BadInput
            If it was not filled.
        """
        with self._lock:
            return self._known(number).dose_g

    def reading_now(self) -> Decimal:
        """Return what the scale shows once it has settled, in grams, without waiting.

        The line goes through the same reader as that of a real scale.

        Raises
        ------
        PortGone
            If the scale is unplugged.
        SilentScale
            If the scale sent no weight.
        """
        for line in LineReader().feed(self.scale.settled_line()):
            if isinstance(line, RawWeighing):
                return grams(line.value, line.unit)
        message = "The simulated scale sent no weight. Put something on it and look again."
        raise SilentScale(message)

    def _tare(self) -> float:
        """Return the weight of the next empty."""
        return max(float(self._rng.normal(self._tare_mean_g, self._tare_sd_g)), 0.0)

    def _filled(self, number: int | None) -> Placed:
        """Fill the next empty."""
        return Placed(number=number, tare_g=self._tare(), dose_g=self.machine.fill())

    def _known(self, number: int) -> Placed:
        """Return a container of the batch that was filled."""
        if number not in self._jars:
            allowed = f"1 to {self.filled_to}"
            message = f"Container {number} was not filled on this bench; there are {allowed}."
            raise BadInput(message, field="container", given=number, allowed=allowed)
        return self._jars[number]

    def _put(self, jar: Placed) -> Placed:
        """Put a filled container on the pan."""
        self.scale.zero(jar.tare_g if self._is_zeroed else 0.0)
        self.scale.put(jar.tare_g + jar.dose_g)
        return jar


def bench_from(
    facts: JobFacts,
    rng: Generator,
    monotonic: Callable[[], float],
    *,
    wait: Callable[[float], object] | None = None,
    filler: Filler | None = None,
) -> SimulatedBench:
    """Return a simulated bench for a job.

    Parameters
    ----------
    facts : JobFacts
        Machine, product, container, scale.
    rng : Generator
        Split between machine, scale and empties: weighing a jar once more changes no dose.
    monotonic : callable
        Seconds of a count that only goes forward.
    wait : callable, optional
        Waits so many seconds, for a thread that reads the scale in real time.
    filler : callable, optional
        Makes the inside of the machine; an invented one where it is left out.

    Returns
    -------
    SimulatedBench
        Where the facts give no empty weight yet, one is invented from the brim capacity.
    """
    of_machine, of_scale, of_empties = rng.spawn(3)
    container, scale = facts.container, facts.scale
    tare_g = container.brim_ml * _TARE_G_PER_ML if container.tare_g is None else container.tare_g
    tare_sd_g = tare_g * _TARE_SD_SHARE if container.tare_sd_g is None else container.tare_sd_g
    return SimulatedBench(
        simulated_from(facts, of_machine, filler),
        SimulatedScale(
            scale.readability_g, float(scale.repeatability_sd_g), of_scale, monotonic, wait=wait
        ),
        of_empties,
        tare_mean_g=float(tare_g),
        tare_sd_g=float(tare_sd_g),
        check_weight_g=float(scale.check_weight_g),
        is_zeroed=facts.tare_way == "zeroed",
    )
