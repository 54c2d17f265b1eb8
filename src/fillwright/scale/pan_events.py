"""What a pan can say: what stands on it, whether it rests, and why it does not."""

from __future__ import annotations

from dataclasses import dataclass, fields
from decimal import Decimal
from typing import ClassVar, Literal, TypeAlias

from fillwright.records.capture import Capture
from fillwright.records.entries import Source

__all__ = [
    "Changed",
    "NoSignal",
    "OffScale",
    "PanEmpty",
    "Resting",
    "ScaleEvent",
    "Settled",
    "Settling",
]


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
    """Something stands on the pan and the reading still moves; `says` is why, where it is seen."""

    event: ClassVar[str] = "settling"
    says: str = ""


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
    """The pan was seen empty; `says` is what a person should know of it, if anything."""

    event: ClassVar[str] = "pan-empty"
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed(_Shown):
    """The container of `weighing_id` reads otherwise, and the pan was not seen empty."""

    event: ClassVar[str] = "changed"
    weighing_id: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OffScale(_Event):
    """The load is beyond the range of the scale; there is no figure to show."""

    event: ClassVar[str] = "off-scale"
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NoSignal(_Event):
    """Nothing comes from the scale; the last figure must not be shown any more."""

    event: ClassVar[str] = "no-signal"
    because: str


ScaleEvent: TypeAlias = Settling | Settled | Resting | Changed | PanEmpty | OffScale | NoSignal
