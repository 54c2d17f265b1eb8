"""Records of a strip, clean and rebuild procedure, as a profile's file holds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Profile", "SealPlace", "Step", "SuctionRow", "SuctionTest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SealPlace:
    """A seal by its place on the machine.

    Attributes
    ----------
    position, kind, size, material, side : str
        Where, what, its size, its material, and the side that it works on.
    count : int
        How many sit there.
    """

    position: str
    kind: str
    size: str
    material: str
    side: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a procedure.

    Attributes
    ----------
    id, procedure : str
        Its name, and the procedure that it belongs to.
    do, caution, trap, tool : str
        The order; what can hurt; the mistake that this step can hold; what is needed.
    after : tuple of str
        Steps that must be done first.
    minutes : int
        How long it takes.
    part : str
        What leaves the machine in this step.
    undoes : str
        The strip step that this one reverses.
    proof, reading, limit : str
        What is recorded, what is read, and what it must be.
    seals : tuple of SealPlace
        Seals that come off in this step.
    is_two_person, is_optional, is_isolated, brings_air_on : bool
        Needs two people; may be left out; hands go into the machine; the air comes on.
    """

    id: str
    procedure: str
    do: str
    caution: str
    trap: str
    tool: str
    after: tuple[str, ...]
    minutes: int
    part: str
    undoes: str
    proof: str
    reading: str
    limit: str
    seals: tuple[SealPlace, ...]
    is_two_person: bool
    is_optional: bool
    is_isolated: bool
    brings_air_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SuctionRow:
    """What one outcome of the suction test means; ``any`` fits every state."""

    rear_recharge: str
    front_recharge: str
    rear_delivery: str
    front_delivery: str
    meaning: str
    findings: Mapping[str, bool]
    suspects: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SuctionTest:
    """The table of the suction test; the first row is the good one."""

    rows: tuple[SuctionRow, ...]

    def read(self, seen: tuple[str, str, str, str]) -> SuctionRow | None:
        """Return the row that fits what was seen, or None.

        Parameters
        ----------
        seen : tuple of str
            Rear and front port on recharge, rear and front port on delivery.

        Returns
        -------
        SuctionRow or None
            None where no row fits: repeat, then find the fault.
        """
        for row in self.rows:
            wanted = (
                row.rear_recharge,
                row.front_recharge,
                row.rear_delivery,
                row.front_delivery,
            )
            if all(want in ("any", got) for want, got in zip(wanted, seen, strict=True)):
                return row
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How one make of machine is stripped, cleaned and rebuilt.

    Attributes
    ----------
    name, file : str
        Its name, and where it was read.
    facts : mapping of str to str
        What differs from make to make.
    procedures : mapping of str to str
        Names of the procedures by their id, in order.
    steps : tuple of Step
        All steps in the order of the file.
    suction : SuctionTest
        The table of the suction test.
    """

    name: str
    file: str
    facts: Mapping[str, str]
    procedures: Mapping[str, str]
    steps: tuple[Step, ...]
    suction: SuctionTest
