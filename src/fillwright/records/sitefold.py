"""What the site keeps, folded from its journal entries: settings, people, things."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from fillwright.records.entities import (
    Container,
    Machine,
    Person,
    Product,
    SiteSettings,
    WeighingScale,
)
from fillwright.records.entries import (
    ContainerKept,
    Entry,
    MachineKept,
    PersonListed,
    PrimingJudged,
    ProductKept,
    ScaleKept,
    ScaleLineKept,
    SiteSettingsChanged,
)

__all__ = ["SiteState", "fold_site"]


@dataclass(slots=True)
class SiteState:
    """What the site keeps for every job."""

    revision: int = 0
    settings: SiteSettings = field(default_factory=SiteSettings)
    people: dict[str, Person] = field(default_factory=dict)
    products: dict[str, Product] = field(default_factory=dict)
    containers: dict[str, Container] = field(default_factory=dict)
    machines: dict[str, Machine] = field(default_factory=dict)
    scales: dict[str, WeighingScale] = field(default_factory=dict)
    scale_line: ScaleLineKept | None = None
    primings: dict[tuple[str, str], PrimingJudged] = field(default_factory=dict)

    def apply(self, entry: Entry) -> None:
        """Take one more entry of the site."""
        self.revision = entry.revision
        match entry.payload:
            case SiteSettingsChanged(settings=settings):
                self.settings = replace(settings)
            case PersonListed(listed=person):
                self.people[person.initials] = person
            case ProductKept(product=product):
                self.products[product.name] = product
            case ContainerKept(container=container):
                self.containers[container.name] = container
            case MachineKept(machine=machine):
                self.machines[machine.name] = machine
            case ScaleKept(scale=scale):
                self.scales[scale.name] = scale
            case ScaleLineKept() as line:
                self.scale_line = line if line.port else None
            case PrimingJudged(product=product_name, machine=machine_name) as priming:
                self.primings[product_name, machine_name] = priming
            case _:
                pass


def fold_site(entries: Iterable[Entry], *, onto: SiteState | None = None) -> SiteState:
    """Return the state of the site after `entries`."""
    state = SiteState() if onto is None else onto
    for entry in entries:
        state.apply(entry)
    return state
