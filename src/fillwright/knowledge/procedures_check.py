"""Does a procedure hang together: known steps, no circle, every part put back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fillwright.errors import KnowledgeError
from fillwright.knowledge.procedures_types import Step

__all__ = ["check_steps"]


def check_steps(steps: Sequence[Step], lines: Mapping[str, int], *, file: str) -> None:
    """Raise if the steps of a profile do not hang together.

    Parameters
    ----------
    steps : sequence of Step
        All steps.
    lines : mapping of str to int
        Line on which each step begins.
    file : str
        Name of the file, for messages.

    Raises
    ------
    KnowledgeError
        For an unknown step, a circle, or a part that is never put back or put back twice; says
        file, line and mend.
    """
    known = {step.id: step for step in steps}
    undone: dict[str, str] = {}
    for step in steps:
        line = lines[step.id]
        for name in (*step.after, *((step.undoes,) if step.undoes else ())):
            if name not in known:
                raise KnowledgeError(
                    f"{file}, line {line}: {step.id} names the step {name!r}, which is not there; "
                    "add it or mend the name."
                )
        if step.undoes:
            if not known[step.undoes].part:
                raise KnowledgeError(
                    f"{file}, line {line}: {step.id} puts back {step.undoes!r}, which takes no "
                    "part off; name the right step."
                )
            if step.undoes in undone:
                raise KnowledgeError(
                    f"{file}, line {line}: {step.id} and {undone[step.undoes]} both put back "
                    f"{step.undoes!r}; one of them is too many."
                )
            undone[step.undoes] = step.id
    for step in steps:
        if (step.part or step.seals) and step.id not in undone:
            raise KnowledgeError(
                f"{file}, line {lines[step.id]}: no step puts back what {step.id} takes off; add "
                f'a rebuild step with undoes = "{step.id}".'
            )
    _check_circle(known, lines, file)


def _check_circle(known: Mapping[str, Step], lines: Mapping[str, int], file: str) -> None:
    """Raise if steps wait for each other."""
    left = {name: set(step.after) for name, step in known.items()}
    while left:
        free = [name for name, waits in left.items() if not waits & set(left)]
        if not free:
            first = min(left, key=lambda name: lines[name])
            raise KnowledgeError(
                f"{file}, line {lines[first]}: these steps wait for each other in a circle: "
                f"{', '.join(sorted(left))}; take one name out of `after`."
            )
        for name in free:
            del left[name]
