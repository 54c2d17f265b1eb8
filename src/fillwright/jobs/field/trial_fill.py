"""A trial fill: a few shots with water or product on a machine, kept and printed.

It shows drip, splash, foam and air, and roughly the spread; it proves nothing.
"""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.field.register import keep_in_field, machine_of, register
from fillwright.jobs.words import plain
from fillwright.records.entries import TrialFilled
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_field import TrialSheet
from fillwright.science.spread import sd_interval

__all__ = ["MOST_SHOTS", "keep_trial", "says_of", "trial_sheet"]

MOST_SHOTS: Final = 30
_FEWEST: Final = 3


def keep_trial(desk: Desk, trial: TrialFilled, press: Press) -> int:
    """Keep a trial fill.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    trial : TrialFilled
        What was filled; its number is given here, and the name of its machine.
    press : Press
        Who filled.

    Returns
    -------
    int
        Its number.

    Raises
    ------
    BadInput
        If there is no such machine, no product is named, or there are too few or too many
        shots, or one is not above zero.
    """
    if trial.filled_with == "product" and not trial.product.strip():
        message = "Name the product, or say that it was water."
        raise BadInput(message, field="product", given="", code="missing")
    count = len(trial.nets_g)
    if not _FEWEST <= count <= MOST_SHOTS:
        message = (
            f"Weigh {_FEWEST} to {MOST_SHOTS} shots, net, with blanks between; these are {count}."
        )
        raise BadInput(message, field="nets", given=count, allowed=f"{_FEWEST} to {MOST_SHOTS}")
    wrong = next((net for net in trial.nets_g if net <= 0), None)
    if wrong is not None:
        message = f"A shot of {wrong} g is none. Leave it out, or type what it weighed."
        raise BadInput(message, field="nets", given=str(wrong), allowed="above 0")
    with desk.book.lock:
        state = register(desk)
        name = trial.machine_name
        if trial.machine:
            name = machine_of(state, trial.machine).line.serial
        elif name not in desk.book.site().machines:
            message = "Pick the machine: one of the register, or one of the bench."
            raise BadInput(message, field="machine", given=name[:60], code="missing")
        number = max(state.trials, default=0) + 1
        fact = replace(
            trial,
            trial=number,
            machine_name=name,
            product="" if trial.filled_with == "water" else trial.product.strip(),
        )
        keep_in_field(desk, state, [fact], press)
        return number


def says_of(trial: TrialFilled) -> tuple[str, ...]:
    """Return what the shots say: mean, spread, and how little that is."""
    nets = [float(net) for net in trial.nets_g]
    count = len(nets)
    mean = math.fsum(nets) / count
    sd = math.sqrt(math.fsum((net - mean) ** 2 for net in nets) / (count - 1))
    low, high = sd_interval(sd, count)
    lines = [f"Mean of {count} shots: {mean:.2f} g; lowest {min(nets):g}, highest {max(nets):g}."]
    if trial.asked_g is not None:
        off = mean - float(trial.asked_g)
        lines.append(
            f"Off what was asked: {off:+.2f} g, {100 * off / float(trial.asked_g):+.2f} %."
        )
    lines.append(
        f"Spread (1 s): {sd:.2f} g, {100 * sd / mean:.2f} % of the mean. The real one lies "
        f"between {low:.2f} and {high:.2f} g, 19 times in 20, if nothing wandered."
    )
    if trial.filled_with == "water":
        lines.append("Water: it shows the machine, not the product. Repeat with the product.")
    lines.append("No proof: that takes a planned number of shots on the job itself.")
    return tuple(lines)


def trial_sheet(desk: Desk, number: int) -> TrialSheet:
    """Return the record of a trial fill.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    kept = register(desk).trials.get(number)
    if kept is None:
        message = f"There is no trial fill {number}. Pick one from the list."
        raise BadInput(message, field="trial", given=number, code="choice")
    at, person, trial = kept
    asked = trial.asked_g
    facts = [
        ("Machine", trial.machine_name),
        ("Filled with", trial.product or "water"),
        ("Fitted", trial.fitted),
        ("Setting", trial.setting),
        ("Asked for", "" if asked is None else f"{plain(asked)} g"),
        ("Enquiry", str(trial.enquiry) if trial.enquiry else ""),
    ]
    return TrialSheet(
        trial=number,
        facts=tuple(FactLine(name=name, words=words) for name, words in facts if words),
        shots=tuple(
            (str(place), format(net, "f"), "" if asked is None else _off(net, asked))
            for place, net in enumerate(trial.nets_g, start=1)
        ),
        says=says_of(trial),
        note=trial.note,
        person=person,
        made_at=at,
        zone=desk.clock.zone(),
        program=desk.program,
        is_invented=desk.book.site().settings.is_invented,
    )


def _off(net: Decimal, asked: Decimal) -> str:
    """Return how far a shot is off, with its sign."""
    return f"{net - asked:+f}"
