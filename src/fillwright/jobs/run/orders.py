"""Orders of the run that come before the next weight: a scale that is off, a change, a look."""

from __future__ import annotations

from typing import Final

from fillwright.jobs.act import Act, Caution, Expects, Option
from fillwright.jobs.desk import Desk
from fillwright.jobs.run.cartons import carton_wants
from fillwright.jobs.run.first_jar import OCCASIONS
from fillwright.jobs.words import plain
from fillwright.records.entities import Stage
from fillwright.records.entries import FirstJarLooked
from fillwright.records.fold import JobState

__all__ = ["carton_act", "change_act", "scale_act"]

_STOP: Final = Option(what="pause", label="Stop the run")


def carton_act(desk: Desk, state: JobState, stage: Stage) -> Act | None:
    """Return the order to weigh empties of a new carton; None where none waits for them."""
    carton = state.lots.carton_due
    if carton is None:
        return None
    word = state.known.container.word
    place = len(state.empties) + 1
    code = f" {carton.code}" if carton.code else ""
    wants, why = carton_wants(desk, state)
    return Act(
        stage=stage,
        what="weigh-empty",
        order=f"Weigh empty {word} {place} of {wants} from the new carton{code}.",
        why=why or "Another carton, another empty weight: it is taken off from here on.",
        main="Keep",
        expects=Expects.WEIGHT,
        options=(
            Option(what="keep-tare", label="Tare as before", key="*", asks="Why?"),
            *((Option(what="undo", label="Undo last weight", key="-"),) if place > 1 else ()),
            *((_STOP,) if stage is Stage.RUN else ()),
        ),
        value=str(place),
    )


def change_act(
    desk: Desk, state: JobState, due: int | None, cautions: tuple[Caution, ...]
) -> Act | None:
    """Return the order that a change asks for before the next weight; None where none does."""
    carton = carton_act(desk, state, Stage.RUN)
    if carton is not None:
        return carton
    word = state.known.container.word
    occasion = state.lots.look_due
    if occasion is None or due is None:
        return None
    number = state.filled_to + 1
    last = state.lots.looks[-1].fact if state.lots.looks else None
    again = (
        isinstance(last, FirstJarLooked) and not last.skipped and not last.is_right
    ) and last.container >= state.lots.look_from
    order = f"Fill {word} {number} and look at it."
    return Act(
        stage=Stage.RUN,
        what="first-look",
        order=f"Put it right. {order}" if again else order,
        why=f"First {word} since {OCCASIONS[occasion]}. What is wrong on it is wrong on all that "
        "follow.",
        main="Looked at, as ticked",
        expects=Expects.CONFIRM,
        cautions=cautions,
        options=(Option(what="skip-look", label="Skip the look", key="*", asks="Why?"), _STOP),
        state="held" if again else "",
        state_words="Not right" if again else "",
        value=str(number),
    )


def scale_act(state: JobState) -> Act:
    """Return the order where the weighing scale failed its check."""
    scale = state.known.scale
    return Act(
        stage=Stage.RUN,
        what="check-scale",
        order="Stop filling. Check the weighing scale again.",
        why="It failed its check: no weight since the last good check proves anything.",
        main="Keep the reading",
        expects=Expects.READING,
        steps=(
            "Level it, clear the pan, zero it.",
            f"Put the {plain(scale.check_weight_g)} g weight on and read.",
        ),
        options=(_STOP,),
        state="held",
        state_words="Scale off",
    )
