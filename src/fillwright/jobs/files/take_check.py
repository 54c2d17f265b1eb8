"""The checks of a row of a file: those of every weight, remembered where weights repeat.

A long file holds few different weights; each is checked by the one path and then known.
"""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.run.weigh import checked, judged, mean_tare
from fillwright.records.alike import Shared
from fillwright.records.capture import Capture
from fillwright.records.entries import Purpose, WeighingFromFile
from fillwright.records.filecells import FileWeight, Refusal, WeightReader
from fillwright.records.filefields import Choice
from fillwright.records.fold import JobState
from fillwright.records.units import grams

__all__ = ["RowCheck"]

_REMEMBERED: Final = 20_000


class RowCheck:
    """Holds the weights of one file to what every weight of its job is held to.

    Parameters
    ----------
    desk : Desk
        Where the job is.
    state : JobState
        The job.
    choice : Choice
        How the file is read.
    purpose : str
        What was weighed.

    Raises
    ------
    BadInput
        If the weights are gross and no empty is known.
    """

    def __init__(self, desk: Desk, state: JobState, choice: Choice, purpose: Purpose) -> None:
        self._desk = desk
        self._state = state
        self._choice = choice
        self._purpose = purpose
        self._seen: dict[tuple[str, str, str], Decimal] = {}
        self._facts: dict[tuple[str, str, str], WeighingFromFile] = {}
        self._shared: dict[tuple[str, str, str], Shared] = {}
        self.tare_words = "" if choice.tare_g is None else str(choice.tare_g)
        if choice.basis == "gross" and "tare" not in choice.columns and choice.tare_g is None:
            self.tare_words = str(mean_tare(state))
        self.total_g = Decimal(0)
        self.least_g: Decimal | None = None
        self.most_g: Decimal | None = None

    def net_of(self, one: FileWeight, reader: WeightReader) -> Decimal | Refusal:
        """Return the net weight of a row, or why the job cannot have it."""
        key = (one.value, one.unit, one.tare)
        net_g = self._seen.get(key)
        if net_g is not None and (self._purpose == "elsewhere" or one.container is None):
            return net_g
        try:
            fact = checked(self._desk, self._state, self._capture(one), self._purpose)
        except BadInput as error:
            return reader.refused_weight(one, error)
        if len(self._seen) < _REMEMBERED:
            self._seen[key] = fact.net_g
        return fact.net_g

    def count(self, net_g: Decimal) -> None:
        """Take a weight that will be kept into the sums."""
        self.total_g += net_g
        if self.least_g is None or net_g < self.least_g:
            self.least_g = net_g
        if self.most_g is None or net_g > self.most_g:
            self.most_g = net_g

    def shared_of(self, one: FileWeight, file_id: str) -> Shared:
        """Return what a row weighed elsewhere has in common with others of the same weight."""
        key = one[1:4]
        found = self._shared.get(key)
        if found is None:
            found = Shared(self.fact_of(one, file_id))
            if len(self._shared) < _REMEMBERED:
                self._shared[key] = found
        return found

    def fact_of(
        self, one: FileWeight, file_id: str, *, state: JobState | None = None
    ) -> WeighingFromFile:
        """Return what is kept of one row; rows that differ by place and time share the rest.

        `state` is the job as the rows above this one left it, where they change it.
        """
        key = (one.value, one.unit, one.tare)
        like = self._facts.get(key)
        if like is None:
            now = self._state if state is None else state
            plain = checked(self._desk, now, self._capture(one), self._purpose)
            if self._purpose == "elsewhere":
                [plain] = judged(self._desk, self._state, plain, "")  # type: ignore[assignment]
            told = {part.name: getattr(plain, part.name) for part in fields(plain)}
            like = WeighingFromFile(**told)
            if len(self._facts) < _REMEMBERED and self._purpose == "elsewhere":
                self._facts[key] = like
        return WeighingFromFile(
            purpose=like.purpose,
            value=like.value,
            unit=like.unit,
            basis=like.basis,
            tare_g=like.tare_g,
            net_g=like.net_g,
            container=one.container,
            setting_marks=None if self._purpose == "elsewhere" else like.setting_marks,
            state=like.state,
            source="file",
            weighed_at=one.at,
            file_id=file_id,
            file_row=one.row,
        )

    def _capture(self, one: FileWeight) -> Capture:
        """Return a row as any weight that arrives."""
        tare_g = self._choice.tare_g
        if one.tare:
            tare_g = grams(Decimal(one.tare), one.unit)
        return Capture(
            weighing_id="",
            value=Decimal(one.value),
            unit=one.unit,
            basis="gross" if self._choice.basis == "gross" else "net",
            container=one.container,
            source="file",
            tare_g=tare_g,
        )
