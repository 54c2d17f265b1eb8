"""What strokes and recharges have taught of a machine, product by product, in words."""

from __future__ import annotations

from fillwright.jobs.desk import Desk
from fillwright.jobs.why import Fact

__all__ = ["learnt"]


def learnt(desk: Desk, machine: str) -> tuple[Fact, ...]:
    """Return what was learnt of a machine, the latest last; nothing from before a change of it."""
    site = desk.book.site()
    strokes = [
        Fact(
            name=f"Strokes with {product}",
            words=(
                f"job {timed.job}: fill control passes {timed.fill_needle_factor:.2f} and "
                f"recharge control {timed.recharge_needle_factor:.2f} times what stands above, "
                f"the product is {timed.thickness_factor:.2f} times as thick as was taken"
            ),
        )
        for (product, name), timed in site.strokes.items()
        if name == machine
    ]
    edges = [
        Fact(
            name=f"Recharge edge of {product}",
            words=(
                f"job {edge.job}: follows at {edge.flow_ml_per_s:.3g} mL/s at most, air comes out "
                f"{'below ' + format(edge.high_kpa, '.0f') if edge.is_bound else ''}"
                f"{'' if edge.is_bound else 'at ' + format(edge.release_kpa, '.0f')} kPa"
            ),
        )
        for (product, name), edge in site.edges.items()
        if name == machine
    ]
    return (*strokes, *edges)
