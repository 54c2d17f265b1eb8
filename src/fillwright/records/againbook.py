"""What a job's check of a kept proof has come to, folded from its entries."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from fillwright.records.kinds_again import ProofChecked, ProofCheckPlanned
from fillwright.records.kinds_proof import ProofPlanned, ProofPlannedFirst

if TYPE_CHECKING:
    from fillwright.records.entries import Entry
    from fillwright.records.fold import JobState

__all__ = ["AgainBook"]


@dataclass(slots=True)
class AgainBook:
    """The check of a kept proof: its plan while it runs, and how every one so far ended."""

    plan: ProofCheckPlanned | None = None
    checked: ProofChecked | None = None
    ended: list[ProofChecked] = field(default_factory=list)

    @property
    def kept_from(self) -> str:
        """Return the job whose proof holds for this one; empty where it has its own."""
        agrees = self.checked is not None and self.checked.verdict == "agrees"
        return self.checked.from_job if self.checked is not None and agrees else ""

    def apply(self, entry: Entry, state: JobState) -> None:
        """Take one entry; a plan of the job's own, or what reopens the proof, ends it."""
        fact = entry.payload
        if isinstance(fact, ProofCheckPlanned):
            self._plan(fact, state)
        elif isinstance(fact, ProofChecked):
            self._end(fact, state)
        elif isinstance(fact, ProofPlanned | ProofPlannedFirst):
            self.plan = self.checked = None
        elif self.plan is not None and state.proof_plan is None:
            self.plan = None
        elif self.kept_from and state.proof is None:
            # One of the few was struck out, so they do not speak for the kept proof any more.
            self.checked = None
            state.proof_plan, state.proof_shots = None, []

    def _plan(self, fact: ProofCheckPlanned, state: JobState) -> None:
        """Begin a check."""
        self.plan, self.checked = fact, None
        state.proof, state.proof_shots = None, []
        state.proof_plan = replace(
            fact.plan, shots=fact.shots, looks=(), looks_factor=(), futile_looks_factor=()
        )

    def _end(self, fact: ProofChecked, state: JobState) -> None:
        """End a check: the kept proof holds here too, or the claim is to be proved anew."""
        plan, self.plan = self.plan, None
        self.checked = fact
        self.ended.append(fact)
        state.proof = state.proof_plan = None
        if plan is not None and fact.verdict == "agrees":
            state.proof, state.proof_plan = plan.proof, plan.plan
            state.reopened.pop("prove", None)
