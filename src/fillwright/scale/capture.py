"""From readings to weighings: exactly one for each container that came to rest.

Knows no port and no grammar. Time comes in as seconds of any steady count; the clock only
dates the id that a weighing gets here, at its source.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from typing import ClassVar, Final

from fillwright.records.codec import new_id
from fillwright.records.entities import JobFacts
from fillwright.records.ports import Clock
from fillwright.records.units import GRAMS_PER, grams
from fillwright.scale.lines import RawWeighing, Remark
from fillwright.scale.movement import Movement
from fillwright.scale.pan_events import (
    Changed,
    NoSignal,
    OffScale,
    PanEmpty,
    Resting,
    ScaleEvent,
    Settled,
    Settling,
)

__all__ = ["PanReader", "Sending", "pan_reader_for"]

# In a stream no line is believed alone: one with a lost byte looks like another weight.
_AGREEING: Final = 2
_STEPS: Final = 10
# In a shorter silence nobody changes the container and types its weight.
_LONG_SILENCE_S: Final = 5.0
_HALF: Final = Decimal("0.5")
_LOST: Final = "Taken off before it came to rest. Put it on once more."
_BELOW: Final = "Below zero. With the pan bare and nothing zeroed away, press zero at the scale."
_OVER: Final = "More than the weighing scale can take. Take it off."
_UNDER: Final = "Far below zero. Is the pan in its place? Then press zero at the scale."
_UNSEEN: Final = "Put on while nothing was heard. Type it, or take it off for a moment."
_CHANGED: Final = "It reads otherwise now. Take it off for a moment, then weigh it again."
_FIFTIETH: Final = Decimal("0.02")


class Sending(StrEnum):
    """When a weighing scale sends."""

    STREAM = "stream"
    ON_KEY = "on-key"


class PanReader:
    """Wait for rest, and say each container once.

    Parameters
    ----------
    clock : Clock
        Dates the id of a weighing; nothing else.
    readability_g : Decimal or None
        Smallest step of the scale in grams; None takes it from the digits that it sends.
    empty_g : Decimal or None
        At or below this the pan is empty; so is every negative reading. None: ten steps.
    change_g : Decimal or None
        A reading at rest that differs by more than this from the one that was weighed is said
        to have changed; it is no weighing before the pan was seen empty. None: ten steps.
    sends : Sending
        ``STREAM``: many lines a second. ``ON_KEY``: one line for each press of its key, each
        of which is a weighing.
    settle_lines : int
        Readings within one step that make rest, where the scale sends no mark of rest.
    settle_s : float
        Time that these readings must span.
    silent_s : float
        Silence of a stream after which there is no signal.

    Notes
    -----
    Where a scale marks rest, two such lines in a row within one step are asked for, and two
    in a row to believe that the pan is empty. A hand that leans on the pan and lets go leaves
    the same container; readings below half of what was weighed mean that it was taken off.
    A container changed for one of the same weight while there was no signal cannot be told
    from the one before: it counts when it is lifted and put back.
    All numbers here are common practice, no source.
    """

    SILENT_S: ClassVar[float] = 1.6
    """Silence of a stream after which a page says within two seconds that there is no signal."""

    def __init__(
        self,
        clock: Clock,
        *,
        readability_g: Decimal | None = None,
        empty_g: Decimal | None = None,
        change_g: Decimal | None = None,
        sends: Sending = Sending.STREAM,
        settle_lines: int = 5,
        settle_s: float = 1.0,
        silent_s: float = SILENT_S,
    ) -> None:
        self._clock = clock
        self._readability_g = readability_g
        self._empty_g = empty_g
        self._change_g = change_g
        self._sends = sends
        self._settle_lines = settle_lines
        self._settle_s = settle_s
        self._silent_s = silent_s
        self._agreement = _Agreement()
        self._movement = Movement()
        self._marks_seen: set[bool] = set()
        self._low_lines = 0
        self._weighed: Settled | None = None
        self._is_new = False
        self._is_unseen = False
        self._said: ScaleEvent | None = None
        self._heard_s: float | None = None

    def feed(self, raw: RawWeighing, seconds: float) -> list[ScaleEvent]:
        """Take one reading.

        Parameters
        ----------
        raw : RawWeighing
            From the line reader.
        seconds : float
            When it arrived, by a count that only goes forward.

        Returns
        -------
        list of ScaleEvent
            What is new; empty when nothing is.
        """
        self._is_unseen |= self._is_after_silence(seconds)
        self._heard_s = seconds
        mass_g = _measure(raw.value, raw.unit)
        step_g = self._readability_g or _measure(_step(raw.value), raw.unit)
        mark = self._mark(raw)
        self._agreement.add(mass_g, step_g, seconds, is_moving=mark is False)
        is_empty = mass_g <= (_STEPS * step_g if self._empty_g is None else self._empty_g)
        self._watch_for_removal(mass_g, is_empty=is_empty)
        if is_empty:
            return self._pan_empty(raw, mass_g, step_g)
        if self._sends is Sending.ON_KEY:
            return self._say(self._settling(raw)) if mark is False else self._weigh(raw)
        self._movement.add(mass_g, step_g, seconds)
        if self._weighed is not None:
            return self._same(raw, mass_g, step_g, mark=mark)
        if not self._is_at_rest(mark=mark):
            return self._say(self._settling(raw))
        return self._changed(raw, "", _UNSEEN) if self._is_unseen else self._weigh(raw)

    def remark(self, remark: Remark, seconds: float) -> list[ScaleEvent]:
        """Take a line that was understood and is no reading of the load.

        Parameters
        ----------
        remark : Remark
            From the line reader.
        seconds : float
            When it arrived.

        Returns
        -------
        list of ScaleEvent
            ``OffScale`` once, where the load is beyond the range.
        """
        self._heard_s = seconds
        if remark.says not in ("over", "under"):
            return []
        self._agreement = _Agreement()
        return self._say(OffScale(because=_OVER if remark.says == "over" else _UNDER))

    def fit(self, facts: JobFacts) -> None:
        """Take what counts as an empty pan and as a change from the job at hand."""
        fitted = _fitting(facts)
        self._readability_g, self._empty_g, self._change_g = fitted

    def tick(self, seconds: float) -> list[ScaleEvent]:
        """Say that time passed and nothing came.

        Parameters
        ----------
        seconds : float
            Now, by the same count as in `feed`.

        Returns
        -------
        list of ScaleEvent
            ``NoSignal`` once, when a stream has been silent too long.
        """
        if self._heard_s is None:
            self._heard_s = seconds
        if self._sends is Sending.ON_KEY or seconds - self._heard_s <= self._silent_s:
            return []
        return self.lost("The weighing scale sends nothing. Look at its cable and its switch.")

    def lost(self, because: str) -> list[ScaleEvent]:
        """Say that the line is gone; what stood on the pan is remembered.

        Parameters
        ----------
        because : str
            One sentence for people.

        Returns
        -------
        list of ScaleEvent
            ``NoSignal`` once, until something is heard again.
        """
        self._agreement = _Agreement()
        self._low_lines = 0
        return [] if isinstance(self._said, NoSignal) else self._say(NoSignal(because=because))

    def _mark(self, raw: RawWeighing) -> bool | None:
        """Return what the line says of rest; None where this scale has never said anything.

        For a scale that only marks rest a bare line means movement, and the other way round.
        """
        if raw.is_stable is None:
            return None if not self._marks_seen else True not in self._marks_seen
        self._marks_seen.add(raw.is_stable)
        return raw.is_stable

    def _is_at_rest(self, *, mark: bool | None) -> bool:
        """Return whether the readings are at rest now."""
        agreement = self._agreement
        if mark is None:
            return agreement.lines >= self._settle_lines and agreement.spans_s >= self._settle_s
        return agreement.lines >= _AGREEING

    def _watch_for_removal(self, mass_g: Decimal, *, is_empty: bool) -> None:
        """Forget the container that was weighed, once it was surely taken off."""
        before = self._weighed
        is_lifted = before is not None and mass_g < _HALF * _mass_g(before)
        self._low_lines = self._low_lines + 1 if is_empty or is_lifted else 0
        if self._is_surely_low():
            self._weighed = None

    def _is_surely_low(self) -> bool:
        """Return whether enough readings in a row were low."""
        return self._low_lines >= (1 if self._sends is Sending.ON_KEY else _AGREEING)

    def _pan_empty(self, raw: RawWeighing, mass_g: Decimal, step_g: Decimal) -> list[ScaleEvent]:
        """Say that the pan is empty, once and when it is sure."""
        said = self._said
        if not self._is_surely_low() or isinstance(said, PanEmpty):
            return []
        self._movement = Movement()
        self._is_unseen = False
        if isinstance(said, Settling) and self._is_new:
            says = _LOST
        else:
            says = _BELOW if mass_g < -_STEPS * step_g else ""
        self._is_new = False
        return self._say(PanEmpty(value=raw.value, unit=raw.unit, basis=raw.basis, says=says))

    def _same(
        self, raw: RawWeighing, mass_g: Decimal, step_g: Decimal, *, mark: bool | None
    ) -> list[ScaleEvent]:
        """Say what the container that was weighed reads now, where the figure is new."""
        weighed, said = self._weighed, self._said
        assert weighed is not None  # noqa: S101  narrows the type
        change_g = _STEPS * step_g if self._change_g is None else self._change_g
        if abs(mass_g - _mass_g(weighed)) > change_g:
            if not self._is_at_rest(mark=mark):
                return self._say(self._settling(raw))
            return self._changed(raw, weighed.weighing_id, _CHANGED)
        if isinstance(said, Settled | Resting) and said.value == raw.value:
            return []
        return self._say(
            Resting(
                value=raw.value,
                unit=raw.unit,
                basis=raw.basis,
                weighing_id=weighed.weighing_id,
            )
        )

    def _changed(self, raw: RawWeighing, weighing_id: str, says: str) -> list[ScaleEvent]:
        """Say a figure at rest that is no weighing."""
        return self._say(
            Changed(
                value=raw.value,
                unit=raw.unit,
                basis=raw.basis,
                weighing_id=weighing_id,
                says=says,
            )
        )

    def _is_after_silence(self, seconds: float) -> bool:
        """Return whether a reading comes after a silence in which a person may have gone on."""
        said_lost = isinstance(self._said, NoSignal) and self._heard_s is not None
        return said_lost and seconds - (self._heard_s or 0.0) > _LONG_SILENCE_S

    def _settling(self, raw: RawWeighing) -> Settling:
        """Return that the reading moves, and why where that is seen."""
        self._is_new = self._weighed is None
        says = self._movement.why()
        return Settling(value=raw.value, unit=raw.unit, basis=raw.basis, says=says)

    def _weigh(self, raw: RawWeighing) -> list[ScaleEvent]:
        """Say the one weighing of a container."""
        weighing_id = new_id(self._clock.now())
        self._is_new = False
        self._weighed = Settled(
            value=raw.value, unit=raw.unit, basis=raw.basis, weighing_id=weighing_id
        )
        return self._say(self._weighed)

    def _say(self, event: ScaleEvent) -> list[ScaleEvent]:
        """Say an event, unless it was the last one said."""
        if event == self._said:
            return []
        self._said = event
        return [event]


def pan_reader_for(facts: JobFacts, clock: Clock, *, sends: Sending = Sending.STREAM) -> PanReader:
    """Return a capture that fits a job.

    Parameters
    ----------
    facts : JobFacts
        The scale gives the step; the average empty, where empties are not zeroed away, gives
        what counts as an empty pan; the aim gives what counts as another container.
    clock : Clock
        Dates the id of a weighing.
    sends : Sending
        When the scale sends.

    Returns
    -------
    PanReader
        Pan empty below half an empty container, so that a drip on it is none; a change of a
        fiftieth of the aim is another container (both common practice, no source).
    """
    readability_g, empty_g, change_g = _fitting(facts)
    return PanReader(
        clock,
        readability_g=readability_g,
        empty_g=empty_g,
        change_g=change_g,
        sends=sends,
    )


def _fitting(facts: JobFacts) -> tuple[Decimal, Decimal, Decimal]:
    """Return step, empty pan and change that fit a job, in grams."""
    step_g = facts.scale.readability_g
    tare_g = facts.container.tare_g if facts.tare_way == "mean" else None
    empty_g = _HALF * tare_g if tare_g else _STEPS * step_g
    return step_g, empty_g, max(_STEPS * step_g, _FIFTIETH * facts.aim_g)


class _Agreement:
    """The readings in a row, up to the last one, that lie within one step."""

    __slots__ = ("_first_s", "_high_g", "_low_g", "lines", "spans_s")

    def __init__(self) -> None:
        self._low_g = self._high_g = Decimal(0)
        self._first_s = 0.0
        self.lines = 0
        self.spans_s = 0.0

    def add(self, mass_g: Decimal, step_g: Decimal, seconds: float, *, is_moving: bool) -> None:
        """Take one reading; one that moves, or lies apart, begins anew."""
        low_g, high_g = min(self._low_g, mass_g), max(self._high_g, mass_g)
        if is_moving:
            self.lines = 0
        elif self.lines and high_g - low_g <= step_g:
            self._low_g, self._high_g = low_g, high_g
            self.lines += 1
            self.spans_s = seconds - self._first_s
        else:
            self._low_g = self._high_g = mass_g
            self._first_s = seconds
            self.lines = 1
            self.spans_s = 0.0


def _mass_g(weighed: Settled) -> Decimal:
    """Return what a weighing says, in grams."""
    return _measure(weighed.value, weighed.unit)


def _measure(value: Decimal, unit: str) -> Decimal:
    """Return a reading in grams; one in millilitres stays as it is, compared with its like."""
    return grams(value, unit) if unit in GRAMS_PER else value


def _step(value: Decimal) -> Decimal:
    """Return one of the last digit shown."""
    return Decimal((0, (1,), int(value.as_tuple().exponent)))
