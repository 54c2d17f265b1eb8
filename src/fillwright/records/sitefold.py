"""What the site keeps, folded from its journal entries: settings, people, things."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from fillwright.records.entities import (
    Container,
    Machine,
    Person,
    Product,
    SiteSettings,
    WeighingScale,
)
from fillwright.records.entries import (
    CleanDone,
    ColumnsChosen,
    ContainerKept,
    Entry,
    FaultCaseCounted,
    FaultLearningSet,
    LossesNoted,
    MachineChanged,
    MachineKept,
    PersonAllowed,
    PersonListed,
    PricesKept,
    PrimingJudged,
    ProductKept,
    ProductTraits,
    RechargeEdgeJudged,
    ScaleKept,
    ScaleLineKept,
    SealSeen,
    SealsShelved,
    SiteSettingsChanged,
    StrokesTimed,
)

__all__ = ["SiteState", "fold_site"]


@dataclass(slots=True)
class SiteState:
    """What the site keeps for every job."""

    revision: int = 0
    settings: SiteSettings = field(default_factory=SiteSettings)
    people: dict[str, Person] = field(default_factory=dict)
    allowed: dict[str, PersonAllowed] = field(default_factory=dict)
    products: dict[str, Product] = field(default_factory=dict)
    containers: dict[str, Container] = field(default_factory=dict)
    machines: dict[str, Machine] = field(default_factory=dict)
    scales: dict[str, WeighingScale] = field(default_factory=dict)
    scale_line: ScaleLineKept | None = None
    uses_fault_records: bool = True
    fault_cases_out: dict[tuple[str, int], str] = field(default_factory=dict)
    primings: dict[tuple[str, str], PrimingJudged] = field(default_factory=dict)
    strokes: dict[tuple[str, str], StrokesTimed] = field(default_factory=dict)
    edges: dict[tuple[str, str], RechargeEdgeJudged] = field(default_factory=dict)
    seals: list[tuple[datetime, str, SealSeen]] = field(default_factory=list)
    shelf: dict[str, SealsShelved] = field(default_factory=dict)
    cleans: list[tuple[datetime, str, CleanDone]] = field(default_factory=list)
    product_traits: dict[str, ProductTraits] = field(default_factory=dict)
    columns: dict[tuple[str, ...], ColumnsChosen] = field(default_factory=dict)
    prices: PricesKept = field(default_factory=PricesKept)
    losses: dict[str, LossesNoted] = field(default_factory=dict)
    machine_changes: list[tuple[datetime, str, MachineChanged]] = field(default_factory=list)

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
            case ColumnsChosen(holds=holds, headings=headings) as chosen:
                self.columns[holds, *headings] = chosen
            case _:
                self._take_allowed(entry)
                self._take_fault(entry)
                self._take_costs(entry)
                self._take_seal(entry)
                self._take_clean(entry)
                self._take_start(entry)

    def _take_allowed(self, entry: Entry) -> None:
        """Take who may do what."""
        if isinstance(entry.payload, PersonAllowed):
            self.allowed[entry.payload.initials] = entry.payload

    def _take_fault(self, entry: Entry) -> None:
        """Take what is said of the cases that the search for faults learns from."""
        match entry.payload:
            case FaultLearningSet(uses_records=uses_records):
                self.uses_fault_records = uses_records
            case FaultCaseCounted(job=job, case=number, counts=counts, reason=reason):
                self.fault_cases_out.pop((job, number), None)
                if not counts:
                    self.fault_cases_out[job, number] = reason
            case _:
                pass

    def _take_costs(self, entry: Entry) -> None:
        """Take what things cost, and what a job lost beside its weighings."""
        match entry.payload:
            case PricesKept() as prices:
                self.prices = prices
            case LossesNoted(job=job) as losses:
                self.losses[job] = losses
            case _:
                pass

    def _take_start(self, entry: Entry) -> None:
        """Take what the first strokes of a product taught."""
        match entry.payload:
            case StrokesTimed(product=product, machine=machine) as timed:
                # The latest of a machine stands last, whatever its product.
                self.strokes.pop((product, machine), None)
                self.strokes[product, machine] = timed
            case RechargeEdgeJudged(product=product, machine=machine) as edge:
                self.edges[product, machine] = edge
            case MachineChanged() as changed:
                self.machine_changes.append((entry.at, entry.person, changed))
                # What strokes and starts taught of the machine as it was holds no longer.
                for learnt in (self.strokes, self.edges, self.primings):
                    for key in [key for key in learnt if key[1] == changed.machine]:
                        learnt.pop(key)
            case _:
                pass

    def _take_clean(self, entry: Entry) -> None:
        """Take a clean, or what a product leaves to be cleaned."""
        match entry.payload:
            case CleanDone() as clean:
                self.cleans.append((entry.at, entry.person, clean))
            case ProductTraits(product=product) as kept:
                self.product_traits[product] = kept
            case _:
                pass

    def _take_seal(self, entry: Entry) -> None:
        """Take a lot on the shelf, or a seal that was looked at; a new one leaves the shelf."""
        match entry.payload:
            case SealsShelved() as lot:
                self.shelf[lot.seal_lot] = lot
            case SealSeen() as seal:
                self.seals.append((entry.at, entry.person, seal))
                held = self.shelf.get(seal.seal_lot)
                if seal.action == "replaced" and held is not None and held.pieces > 0:
                    self.shelf[seal.seal_lot] = replace(held, pieces=held.pieces - 1)


def fold_site(entries: Iterable[Entry], *, onto: SiteState | None = None) -> SiteState:
    """Return the state of the site after `entries`."""
    state = SiteState() if onto is None else onto
    for entry in entries:
        state.apply(entry)
    return state
