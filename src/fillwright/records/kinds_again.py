"""Kinds of entry of a repeat job: a machine that was changed, a kept proof that is checked.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from fillwright.records.kinds_proof import ProofJudged, ProofPlanned

__all__ = [
    "MACHINE_CHANGES",
    "MachineChange",
    "MachineChanged",
    "ProofCheckPlanned",
    "ProofChecked",
]

MachineChange = Literal["repaired", "parts-changed", "moved", "copied"]
MACHINE_CHANGES: dict[MachineChange, str] = {
    "repaired": "came back from repair",
    "parts-changed": "cylinder, rings, valve or volume scale were changed",
    "moved": "was moved or set up anew",
    "copied": "is another machine, described by copying this one",
}
"""What can happen to a machine that makes its kept settings a guess, in the words of the pages."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineChanged:
    """A machine was changed, so that what was learnt of it before is a guess.

    Parameters
    ----------
    machine : str
        Which one.
    change : str
        What happened.
    note : str
        What was done, in the person's words.
    """

    kind: ClassVar[str] = "machine changed"
    version: ClassVar[int] = 1
    machine: str
    change: MachineChange
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofCheckPlanned:
    """A few doses were planned against a proof of an earlier job, before the first of them.

    Parameters
    ----------
    from_job : str
        Job whose proof it is.
    shots : int
        Doses planned.
    proof : ProofJudged
        The kept proof, as it was judged there.
    plan : ProofPlanned
        Its plan, with the claim.
    mean_low_g, mean_high_g : float
        Where the mean of the new doses must lie.
    most_sd_g : float
        What their sd must not pass.
    false_alarm_share : float
        Chance at most that an unchanged machine disagrees.
    overlooked_spread_share : float
        Chance that a spread twice as wide is overlooked.
    overlooked_shift_share : float
        Chance that a middle two sds off is overlooked.
    equation : str
        Where the limits come from.
    assumptions : tuple of str
        What was taken for granted.
    """

    kind: ClassVar[str] = "proof check planned"
    version: ClassVar[int] = 1
    from_job: str
    shots: int
    proof: ProofJudged
    plan: ProofPlanned
    mean_low_g: float
    mean_high_g: float
    most_sd_g: float
    false_alarm_share: float
    overlooked_spread_share: float
    overlooked_shift_share: float
    equation: str
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofChecked:
    """The new doses were held against the kept proof.

    Parameters
    ----------
    verdict : str
        They agree, or the claim is to be proved anew.
    from_job : str
        Job whose proof it is.
    shots : int
        Doses used.
    mean_g, sd_g : float
        Their mean and sd.
    because : str
        One sentence.
    """

    kind: ClassVar[str] = "proof checked"
    version: ClassVar[int] = 1
    verdict: Literal["agrees", "disagrees"]
    from_job: str
    shots: int
    mean_g: float
    sd_g: float
    because: str
