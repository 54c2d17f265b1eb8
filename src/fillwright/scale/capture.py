"""From readings to weighings: exactly one for each container that came to rest.

Knows no port and no grammar. Time comes in as seconds of any steady count; the clock only
dates the id that a weighing gets here, at its source.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from decimal import Decimal
from enum import StrEnum
from typing import ClassVar, Final, Literal, TypeAlias

from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.records.entities import JobFacts
from fillwright.records.entries import Source
from fillwright.records.ports import Clock
from fillwright.records.units import grams
from fillwright.scale.lines import RawWeighing

__all__ = [
    "NoSignal",
    "PanEmpty",
    "PanReader",
    "Resting",
    "ScaleEvent",
    "Sending",
    "Settled",
    "Settling",
    "pan_reader_for",
]

# In a stream no line is believed alone: one with a lost byte looks like another weight.
_AGREEING: Final = 2
_STEPS: Final = 10
_HALF: Final = Decimal("0.5")
_FIFTIETH: Final = Decimal("0.02")


class Sending(StrEnum):
    """When a weighing scale sends."""

    STREAM = "stream"
    ON_KEY = "on-key"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Event:
    """Anything that a page is told."""

    event: ClassVar[str]

    def as_dict(self) -> dict[str, str | None]:
        """Return the event ready for JSON; a weight is text, so that no digit is lost."""
        values = {field.name: getattr(self, field.name) for field in fields(self)}
        plain = {name: None if value is None else str(value) for name, value in values.items()}
        return {"event": self.event, **plain}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown(_Event):
    """A reading as the scale showed it."""

    value: Decimal
    unit: str
    basis: Literal["gross", "net"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling(_Shown):
    """Something stands on the pan and the reading still moves."""

    event: ClassVar[str] = "settling"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled(_Shown):
    """A container came to rest; this is its one weighing."""

    event: ClassVar[str] = "settled"
    weighing_id: str

    def capture(self, source: Source = "scale") -> Capture:
        """Return the weight on its way in, as the jobs take it."""
        return Capture(
            weighing_id=self.weighing_id,
            value=self.value,
            unit=self.unit,
            basis=self.basis,
            source=source,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Resting(_Shown):
    """The container of `weighing_id` still stands there: a figure to show, not to keep."""

    event: ClassVar[str] = "resting"
    weighing_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PanEmpty(_Shown):
    """The pan was seen empty."""

    event: ClassVar[str] = "pan-empty"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoSignal(_Event):
    """Nothing comes from the scale; the last figure must not be shown any more."""

    event: ClassVar[str] = "no-signal"
    because: str


ScaleEvent: TypeAlias = Settling | Settled | Resting | PanEmpty | NoSignal


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
        A reading at rest that differs by more than this from the one before is another
        container, even when the pan was not seen empty. None: ten steps.
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
        silent_s: float = 3.0,
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
        self._marks_seen: set[bool] = set()
        self._low_lines = 0
        self._weighed: Settled | None = None
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
        self._heard_s = seconds
        mass_g = grams(raw.value, raw.unit)
        step_g = self._readability_g or grams(_step(raw.value), raw.unit)
        mark = self._mark(raw)
        self._agreement.add(mass_g, step_g, seconds, is_moving=mark is False)
        is_empty = mass_g <= (_STEPS * step_g if self._empty_g is None else self._empty_g)
        self._watch_for_removal(mass_g, is_empty=is_empty)
        if is_empty:
            return self._pan_empty(raw)
        if self._sends is Sending.ON_KEY:
            return self._say(_shown(Settling, raw)) if mark is False else self._weigh(raw)
        change_g = _STEPS * step_g if self._change_g is None else self._change_g
        if self._weighed is not None and abs(mass_g - _mass_g(self._weighed)) <= change_g:
            return self._rest(raw, self._weighed.weighing_id)
        return (
            self._weigh(raw) if self._is_at_rest(mark=mark) else self._say(_shown(Settling, raw))
        )

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

    def _pan_empty(self, raw: RawWeighing) -> list[ScaleEvent]:
        """Say that the pan is empty, once and when it is sure."""
        if not self._is_surely_low() or isinstance(self._said, PanEmpty):
            return []
        return self._say(_shown(PanEmpty, raw))

    def _rest(self, raw: RawWeighing, weighing_id: str) -> list[ScaleEvent]:
        """Say what the container that was weighed reads, where the figure is new."""
        said = self._said
        if isinstance(said, Settled | Resting) and said.value == raw.value:
            return []
        return self._say(
            Resting(value=raw.value, unit=raw.unit, basis=raw.basis, weighing_id=weighing_id)
        )

    def _weigh(self, raw: RawWeighing) -> list[ScaleEvent]:
        """Say the one weighing of a container."""
        weighing_id = new_id(self._clock.now())
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
    step_g = facts.scale.readability_g
    tare_g = facts.container.tare_g if facts.tare_way == "mean" else None
    return PanReader(
        clock,
        readability_g=step_g,
        empty_g=_HALF * tare_g if tare_g else _STEPS * step_g,
        change_g=max(_STEPS * step_g, _FIFTIETH * facts.aim_g),
        sends=sends,
    )


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


def _shown(kind: type[Settling | PanEmpty], raw: RawWeighing) -> Settling | PanEmpty:
    """Return an event that only shows a reading."""
    return kind(value=raw.value, unit=raw.unit, basis=raw.basis)


def _mass_g(weighed: Settled) -> Decimal:
    """Return what a weighing says, in grams."""
    return grams(weighed.value, weighed.unit)


def _step(value: Decimal) -> Decimal:
    """Return one of the last digit shown."""
    return Decimal((0, (1,), int(value.as_tuple().exponent)))
