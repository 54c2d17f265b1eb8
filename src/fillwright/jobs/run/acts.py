"""What a run does beside weighing: check the scale, read the hopper, strike a weight out."""

from __future__ import annotations

from decimal import Decimal

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.run.weigh import strike_out
from fillwright.jobs.setup.stage import check_of
from fillwright.records.entries import ContainersHeld, HopperRead, Payload, RunPaused
from fillwright.records.fold import JobState

__all__ = ["check_scale", "read_hopper", "strike"]

_MOST_LEVEL = Decimal(100_000)


def check_scale(desk: Desk, number: str, reading_g: Decimal, press: Press) -> JobState:
    """Check the weighing scale with its weight in mid-run.

    A failed check proves nothing of what was weighed since the last good one: all that was
    filled since is held, and no weight is taken until the scale passes.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    reading_g : Decimal
        What the scale shows with the check weight on it.
    press : Press
        Who pressed.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If no run is open, or the reading cannot be one.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        _refuse_closed(state)
        scale = state.known.scale
        if not reading_g.is_finite() or not 0 <= reading_g <= scale.capacity_g:
            message = (
                f"{reading_g} g is no reading of {scale.name}. Put the {scale.check_weight_g} g "
                "weight on the empty pan and type what it shows."
            )
            allowed = f"0 to {scale.capacity_g} g"
            raise BadInput(message, field="reading", given=str(reading_g), allowed=allowed)
        check = check_of(state.known, reading_g)
        facts: list[Payload] = [check]
        if not check.passed:
            words = f"weighing scale read {reading_g} g for {check.weight_g} g"
            first, last = state.scale_good_to + 1, state.filled_to
            if first <= last:
                facts.append(ContainersHeld(first=first, last=last, reason=words))
            facts.append(RunPaused(reason="fault", after_container=state.filled_to, note=words))
        return keep(desk, state, facts, press)


def read_hopper(desk: Desk, number: str, level: Decimal, press: Press) -> JobState:
    """Keep how high the product stands in the hopper.

    Raises
    ------
    BadInput
        If no run is open, or the level is not a number of zero or more.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        _refuse_closed(state)
        if not level.is_finite() or not 0 <= level <= _MOST_LEVEL:
            message = (
                f"{level} is no level. Type how high the product stands, each time in the same "
                "unit: centimetres, or marks."
            )
            allowed = f"0 to {_MOST_LEVEL}"
            raise BadInput(message, field="level", given=str(level), allowed=allowed)
        fact = HopperRead(after_container=state.filled_to, value=level)
        return keep(desk, state, [fact], press)


def strike(desk: Desk, number: str, container: int, reason: str, press: Press) -> JobState:
    """Strike the weight of a container out, by its number.

    The run is worked out anew without it. A signal that this weight raised is withdrawn;
    those of other weights stand as they were judged then, and what is held stays held until
    it is settled.

    Raises
    ------
    BadInput
        If no weight of this container counts, the reason is missing, or the lot is released.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        found = next(
            (
                weighed
                for weighed in reversed(state.weighings)
                if weighed.fact.container == container
                and weighed.fact.purpose in ("proof", "dose")
                and weighed.counts
            ),
            None,
        )
        if found is None:
            word = state.known.container.word
            message = f"No weight of {word} {container} counts. Look at the table for the numbers."
            raise BadInput(message, field="struck", given=container, code="choice")
        return strike_out(desk, number, found.id, reason, press)


def _refuse_closed(state: JobState) -> None:
    """Refuse where no run is open."""
    if state.run is None or state.run.started is None or state.run.finished is not None:
        message = "No run is open in this job."
        raise BadInput(message, field="run", code="inconsistent")
