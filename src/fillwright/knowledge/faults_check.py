"""The sense of the fault data: known names, no circle, nothing unused, nothing unsafe."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from fillwright.knowledge.faults_types import OTHER, Check, FaultBook, Repair

__all__ = ["Wrong", "check_sense"]

_HANDS_IN = ("air_isolated", "air_vented")
_OPENS = frozenset({*_HANDS_IN, "nozzle_off", "power_off"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """Something in the data that makes no sense.

    Attributes
    ----------
    where : tuple of str
        Names from the outermost table inwards.
    what, mend : str
        What is wrong and how it is mended, each without a full stop.
    """

    where: tuple[str, ...]
    what: str
    mend: str


def check_sense(
    book: FaultBook, *, motion: tuple[str, ...], rows: Mapping[str, Mapping[str, float]]
) -> Wrong | None:
    """Return the first thing that makes no sense, or None.

    Parameters
    ----------
    book : FaultBook
        The data as read.
    motion : tuple of str
        Causes that share the row of a machine that stands still.
    rows : mapping
        Points for the classes of dose signature, by cause.

    Returns
    -------
    Wrong or None
        What is wrong, where, and how it is mended.
    """
    return next(
        chain(
            _unknown(book),
            _looks(book),
            _signatures(book, motion, rows),
            _unused(book),
            _circles(book),
            _doubles(book),
            _unsafe(book),
        ),
        None,
    )


def _no(where: tuple[str, ...], name: str, kind: str) -> Wrong:
    """Say that a name is not known."""
    return Wrong(
        where=where, what=f"there is no {kind} {name!r}", mend=f"Name a {kind} that is in the file"
    )


def _unknown(book: FaultBook) -> Iterator[Wrong]:
    """Find names that nothing has."""
    if OTHER not in book.causes:
        yield Wrong(where=("cause",), what="the cause 'other' is missing", mend="Put it back")
    for table, field, kind, rows, known in _references(book):
        for key, names in rows:
            for name in names:
                if name not in known:
                    yield _no((table, key, field) if key else (table, field), name, kind)


def _references(
    book: FaultBook,
) -> Iterator[tuple[str, str, str, list[tuple[str, Iterable[str]]], Container[str]]]:
    """Return who names whom: table, field, kind of the name, names by row, and what is known."""
    causes, checks, repairs = book.causes.items(), book.checks.items(), book.repairs.items()
    yield "cause", "links", "finding", [(key, row.links) for key, row in causes], book.findings
    yield "repair", "fixes", "cause", [(key, row.fixes) for key, row in repairs], book.causes
    confirms: list[tuple[str, Iterable[str]]] = [(key, [row.confirm]) for key, row in repairs]
    yield "repair", "confirm", "check", confirms, book.checks
    needs = "precondition"
    yield "check", "needs", needs, [(key, row.needs) for key, row in checks], book.needs
    yield "repair", "needs", needs, [(key, row.needs) for key, row in repairs], book.needs
    yield "walk_round", "checks", "check", [("", book.walk_checks)], book.checks
    signs = [(key, row.findings) for key, row in book.signs.items()]
    yield "sign", "findings", "finding", list(signs), book.findings
    implied = [(key, row.implies_absent) for key, row in book.findings.items()]
    yield "symptom", "implies_absent", "finding", list(implied), book.findings


def _looks(book: FaultBook) -> Iterator[Wrong]:
    """Find a look that shows nothing of what its repair ends, and a quick look that is none."""
    for key, repair in book.repairs.items():
        if not any(
            finding in book.causes[cause].links
            for cause in repair.fixes
            for finding in book.checks[repair.confirm].findings
        ):
            yield Wrong(
                where=("repair", key, "confirm"),
                what=f"the check {repair.confirm!r} shows none of the causes that it ends",
                mend="Name a check with a finding that one of them is linked to",
            )
    for name in book.walk_checks:
        if len(book.checks[name].findings) != 1 or book.checks[name].needs:
            yield Wrong(
                where=("walk_round", "checks"),
                what=f"the check {name!r} is no quick look: it has preconditions or many findings",
                mend="Take it out of the walk-round",
            )


def _signatures(
    book: FaultBook, motion: tuple[str, ...], rows: Mapping[str, Mapping[str, float]]
) -> Iterator[Wrong]:
    """Find names in the rows of dose signatures that nothing has."""
    for name in motion:
        if name not in book.causes:
            yield _no(("signature", "motion_causes"), name, "cause")
    for key, row in rows.items():
        if key not in book.causes and key != "_motion":
            yield _no(("signature", "row", key), key, "cause")
        for name in row:
            if name not in book.classes:
                yield _no(("signature", "row", key), name, "class of dose signature")


def _unused(book: FaultBook) -> Iterator[Wrong]:
    """Find findings that no cause shows, and causes that nothing ends."""
    used = {name for cause in book.causes.values() for name in cause.links}
    for key, finding in book.findings.items():
        if key not in used:
            where = ("check", finding.check, "finding", key) if finding.check else ("symptom", key)
            yield Wrong(
                where=where,
                what=f"no cause shows the finding {key!r}",
                mend="Link it to a cause or take it out",
            )
    ended = {name for repair in book.repairs.values() for name in repair.fixes}
    for key in book.causes:
        if key not in ended and key != OTHER:
            yield Wrong(
                where=("cause", key),
                what=f"no repair ends the cause {key!r}",
                mend="Add a repair that ends it",
            )


def _circles(book: FaultBook) -> Iterator[Wrong]:
    """Find a finding that in the end excludes itself."""
    for start in book.findings:
        reached: set[str] = set()
        ahead = list(book.findings[start].implies_absent)
        while ahead:
            name = ahead.pop()
            if name == start:
                yield Wrong(
                    where=("symptom", start, "implies_absent"),
                    what=f"a circle: {start!r} excludes itself by way of others",
                    mend="Take one of the names out of the circle",
                )
                break
            if name not in reached:
                reached.add(name)
                ahead.extend(book.findings[name].implies_absent)


def _doubles(book: FaultBook) -> Iterator[Wrong]:
    """Find a number that two checks have, and a finding that two checks look for."""
    numbers: dict[int, str] = {}
    for key, check in book.checks.items():
        if check.number in numbers:
            yield Wrong(
                where=("check", key, "number"),
                what=f"number {check.number} is that of {numbers[check.number]!r} already",
                mend="Give it a number of its own; a number is never used again",
            )
        numbers[check.number] = key
        for name in check.findings:
            if book.findings[name].check != key:
                yield Wrong(
                    where=("check", key, "finding", name),
                    what=f"the finding {name!r} is there already",
                    mend="Give it a name of its own",
                )


def _unsafe(book: FaultBook) -> Iterator[Wrong]:
    """Find a step with hands inside without the air off, and one that skips its caution."""
    steps: list[tuple[str, str, Check | Repair]] = [
        *(("check", key, check) for key, check in book.checks.items()),
        *(("repair", key, repair) for key, repair in book.repairs.items()),
    ]
    for table, key, step in steps:
        needs = set(step.needs)
        if needs & _OPENS and not needs >= set(_HANDS_IN) and "nozzle_off" not in needs:
            yield Wrong(
                where=(table, key, "needs"),
                what="a step with hands inside asks for the air off without the air vented",
                mend=f"Ask for {_HANDS_IN[0]} and {_HANDS_IN[1]}",
            )
        if needs & _OPENS and not step.caution:
            yield Wrong(
                where=(table, key, "caution"),
                what="a step with hands inside has no caution",
                mend="Say what can hurt",
            )
    for key, repair in book.repairs.items():
        mends_qualified = any(book.causes[name].is_qualified for name in repair.fixes)
        if mends_qualified and repair.is_offered:
            yield Wrong(
                where=("repair", key, "needs"),
                what="it ends a cause that is kept for a qualified technician",
                mend="Ask for 'qualified'",
            )
