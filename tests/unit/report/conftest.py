"""Charts to draw: an invented run of a lotion in trays of twelve."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.records.charts import Dose, DoseChart, HeldSpan, LimitMark, Post


@pytest.fixture
def run():
    """A maker of dose charts: every fifth jar weighed, two of them low and held."""

    def make(filled: int = 181, **changes) -> DoseChart:
        doses = [
            Dose(container=c, net_g=Decimal(2475 + c % 7) / 10) for c in range(1, filled + 1, 5)
        ]
        if filled > 70:
            low = [(67, "244.4"), (70, "243.6")]
            doses += [Dose(container=c, net_g=Decimal(w), state="low") for c, w in low]
        given = {
            "filled": filled,
            "tray_size": 12,
            "doses": tuple(sorted(doses, key=lambda dose: dose.container)),
            "aim_g": Decimal("247.5"),
            "low_g": Decimal("245.0"),
            "high_g": Decimal("250.0"),
            "limits": (
                LimitMark(name="T1", limit_g=Decimal("237.4")),
                LimitMark(name="T2", limit_g=Decimal("228.6")),
            ),
            "held": (HeldSpan(first=61, last=70),) if filled > 70 else (),
            "posts": (Post(after_container=71, kind="turn", words="turn 50.4 to 50.8"),)
            if filled > 71
            else (),
        }
        return DoseChart(**given | changes)

    return make
