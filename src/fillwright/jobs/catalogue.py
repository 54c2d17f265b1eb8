"""What the site keeps for next time: people, products, containers, machines, scales, settings."""

from __future__ import annotations

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.jobs.limits import rules_of
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
    MachineKept,
    Payload,
    PersonListed,
    ProductKept,
    ScaleKept,
    SiteSettingsChanged,
)

__all__ = ["change_settings", "keep_thing", "list_person"]

Thing = Product | Container | Machine | WeighingScale


def keep_thing(desk: Desk, thing: Thing, press: Press) -> None:
    """Keep a product, container, machine or weighing scale for next time.

    Raises
    ------
    BadInput
        If it has no name.
    """
    if not thing.name.strip():
        message = "Give it a name, as the bench calls it."
        raise BadInput(message, field="name", given=thing.name, code="missing")
    site = desk.book.site()
    known: Thing | None
    fact: Payload
    match thing:
        case Product():
            fact, known = ProductKept(product=thing), site.products.get(thing.name)
        case Container():
            fact, known = ContainerKept(container=thing), site.containers.get(thing.name)
        case Machine():
            fact, known = MachineKept(machine=thing), site.machines.get(thing.name)
        case WeighingScale():
            fact, known = ScaleKept(scale=thing), site.scales.get(thing.name)
    if known != thing:
        keep_on_site(desk, [fact], press)


def list_person(desk: Desk, person: Person, press: Press) -> None:
    """Put a person on the list of names.

    Raises
    ------
    BadInput
        If the initials are missing, too long, or belong to somebody else.
    """
    most = 4
    initials = person.initials.strip()
    if not 1 <= len(initials) <= most:
        message = f"Initials are one to {most} letters; {initials!r} is not."
        raise BadInput(message, field="initials", given=initials, allowed=f"1 to {most}")
    known = desk.book.site().people.get(initials)
    if known is not None and known.name != person.name:
        message = f"{initials} is {known.name} already. Choose other initials."
        raise BadInput(message, field="initials", given=initials, code="inconsistent")
    if known is None:
        fact = PersonListed(listed=Person(initials=initials, name=person.name.strip()))
        keep_on_site(desk, [fact], press)


def change_settings(desk: Desk, settings: SiteSettings, press: Press) -> None:
    """Change the settings of the site.

    Raises
    ------
    BadInput
        If the rule set is not known, or the band is not above zero.
    """
    rules_of(desk.rule_sets, settings.rules)
    if not 0 < settings.band_pct <= 10:  # noqa: PLR2004  a tenth is no band any more
        message = f"The band is {settings.band_pct} %; give more than 0 and at most 10."
        raise BadInput(message, field="band_pct", given=str(settings.band_pct))
    if settings != desk.book.site().settings:
        keep_on_site(desk, [SiteSettingsChanged(settings=settings)], press)
