"""Which shots of a trim fit together, and what is believed after those that do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.trim_model import Belief, Posterior, condition
from fillwright.science.trim_step import Taken

__all__ = ["Fitted", "fit"]

_WILD = 6.334248366623996e-05  # two-sided chance beyond 4 sd
_AT_ONCE = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """Which shots fit, and what is believed after them.

    Attributes
    ----------
    kept : ndarray of bool, shape (n,)
        Whether each shot is believed.
    after : Posterior
        What is believed after those.
    """

    kept: NDArray[np.bool_]
    after: Posterior


def fit(belief: Belief, taken: Taken) -> Fitted:
    """Return which shots fit and what they say, dropping the worst until all do.

    Parameters
    ----------
    belief : Belief
        What was believed before.
    taken : Taken
        All shots in time order.

    Returns
    -------
    Fitted
        A shot beyond 4 sd of what all others say is left out.
    """
    kept = np.ones(taken.readings.size, dtype=np.bool_)
    last = int(taken.stays[-1]) if taken.stays.size else 0
    here = float(taken.settings[-1]) if taken.settings.size else 0.0
    while True:
        after = condition(belief, taken, kept=kept, here=here, last=last)
        if not np.any(kept) or float(np.min(after.tail)) >= _WILD:
            return Fitted(kept=kept, after=after)
        # One at a time, so that a wild shot cannot drag good ones along; of very many several.
        wild = int(np.sum(after.tail < _WILD))
        worst = np.argsort(after.tail, kind="stable")[: max(1, wild // _AT_ONCE)]
        kept[np.flatnonzero(kept)[worst]] = False
