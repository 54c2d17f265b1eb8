"""The next act as data: what to do, why, the cautions, and the input expected.

Pages, terminal and printed card only render it, so every front end says the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fillwright.records.entities import Stage

__all__ = ["CAUTIONS", "Act", "Caution", "Expects", "Option"]


class Expects(StrEnum):
    """What kind of answer an act waits for."""

    NOTHING = "nothing"
    CONFIRM = "confirm"
    WEIGHT = "weight"
    SETTING = "setting"
    READING = "reading"
    CHOICE = "choice"
    SIGNATURE = "signature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A caution that stands above the step it guards; `must_tick` asks for a tick first."""

    words: str
    must_tick: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One of the other things that may be done now; `key` is its key on the number pad."""

    what: str
    label: str
    key: str = ""
    value: str = ""
    asks: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """The next thing a person should do.

    Parameters
    ----------
    stage : Stage
        Where it belongs.
    what : str
        Name of the command that answers it.
    order : str
        The order, in the largest words.
    why : str
        One reason, in facts the person can see.
    main : str
        Words on the main button.
    expects : Expects
        The input expected.
    cautions : tuple of Caution
        Only those that are true here.
    steps : tuple of str
        What the hands do, in order.
    options : tuple of Option
        Other things that may be done.
    state : str
        Tag of the last weight or verdict: on, low, high, short, wait, held, or empty.
    state_words : str
        The tag in words.
    missing : str
        What is missing, when the main button is blocked.
    value : str
        What the answer most likely is: the setting to turn to, the container to weigh.
    """

    stage: Stage
    what: str
    order: str
    why: str = ""
    main: str = ""
    expects: Expects = Expects.NOTHING
    cautions: tuple[Caution, ...] = ()
    steps: tuple[str, ...] = ()
    options: tuple[Option, ...] = ()
    state: str = ""
    state_words: str = ""
    missing: str = ""
    value: str = ""


CAUTIONS: Final[dict[str, Caution]] = {
    "air": Caution(words="Air off and vented. Gauge reads 0.", must_tick=True),
    "ports": Caution(words="Fingers stay out of the ports. The piston can still move by hand."),
    "pinch": Caution(words="Guard on. Hands clear of rod and nozzle.", must_tick=True),
    "starts": Caution(words="Foot switch out of the way. Continuous off.", must_tick=True),
    "flammable": Caution(
        words=(
            "Not on this machine unless its papers say so. Earthed, aired; no tablet, phone or "
            "scale in the zone unless certified for it."
        )
    ),
    "glass": Caution(words="Glass broken at the nozzle: stop, clear all of it, hold the tray."),
    "hot-glass": Caution(words="Hot fill cracks cold glass: warm it first, face away."),
    "refill": Caution(words="Lift within your strength, lid back on, wipe the floor."),
}
"""Common workshop cautions; local codes and the machine's manual go before them."""


def hot(product_c: object) -> Caution:
    """Return the caution for a hot product, with its temperature."""
    return Caution(words=f"{product_c} °C. Gloves and sleeve. Lid on.")
