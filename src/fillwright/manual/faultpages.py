"""A page for every sign and every fault, made from the fault data.

``python -m fillwright.manual.faultpages docs`` writes them and their list on the first page of
the manual; a test says when they are old.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from fillwright.knowledge.faults_load import fault_book
from fillwright.knowledge.faults_types import (
    OTHER,
    Cause,
    Check,
    FaultBook,
    Finding,
    Repair,
    Sign,
)

__all__ = ["listed", "pages", "write"]

_FOLDER: Final = "howto/faults"
_SHELF: Final = "### Signs and faults\n"
_OFTEN: Final = (
    (0.9, "nearly always"),
    (0.6, "mostly"),
    (0.3, "often"),
    (0.1, "sometimes"),
    (0.0, "seldom"),
)
_MOST_CHECKS: Final = 3
_LEAST_LINK: Final = 0.1
_SAFE: Final = (
    "Before hands go in: isolate the air, vent it until the gauge reads zero, and let hot product "
    "cool. Never a finger in a port; mind the pinch points at guard, rod and nozzle.\n"
    "With flammables nothing is done here that the zone does not allow: earthing, ventilation, no "
    "tablet, phone or scale in it unless certified for it.\n"
    "Local codes and the machine's manual go before this page.\n"
)
_BETTER: Final = (
    "The Fault page of the job does better: it knows what the run showed, asks for the "
    "look that pays most, and rules out what does not fit.\n"
)
_SOURCE: Final = (
    "How often a fault shows is judgement, no source; closed cases of your own replace it on the "
    "Fault page.\n"
)
_STANDS_STILL: Final = "Only a qualified technician may mend this. Fault prints the call sheet.\n"


def pages(book: FaultBook) -> dict[str, str]:
    """Return every page of signs and faults.

    Parameters
    ----------
    book : FaultBook
        The fault data.

    Returns
    -------
    dict of str to str
        Name within the manual, without its ending, and Markdown.
    """
    made = {_name(sign.key): _sign(book, sign) for sign in book.signs.values()}
    for cause in _causes(book):
        made[_name(cause.key)] = _cause(book, cause)
    return made


def listed(book: FaultBook, readme: str) -> str:
    """Return the first page of the manual with its list of faults, among the how-tos."""
    lines = [f"- [{title}]({name}.md)" for name, title in _titles(book)]
    shelf = _SHELF + "\n" + "\n".join(lines) + "\n\n"
    before, found, rest = readme.partition(_SHELF)
    if not found:
        before, _, rest = readme.partition("## Explanation\n")
        return before + shelf + "## Explanation\n" + rest
    after = re.search(r"^##+ ", rest, re.MULTILINE)
    return before + shelf + (rest[after.start() :] if after else "")


def write(docs: Path) -> None:
    """Write all pages and their list; pages of faults that are gone are taken away."""
    book = fault_book()
    made = pages(book)
    folder = docs / _FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.md"):
        if f"{_FOLDER}/{old.stem}" not in made:
            old.unlink()
    for name, text in made.items():
        (docs / f"{name}.md").write_text(text, encoding="utf-8")
    first = docs / "README.md"
    first.write_text(listed(book, first.read_text(encoding="utf-8")), encoding="utf-8")


def _name(key: str) -> str:
    """Return the name of a page within the manual."""
    return f"{_FOLDER}/{key.replace('_', '-')}"


def _causes(book: FaultBook) -> list[Cause]:
    """Return every fault that is on the list."""
    return [cause for cause in book.causes.values() if cause.key != OTHER]


def _titles(book: FaultBook) -> Iterator[tuple[str, str]]:
    """Yield name and title of each page, signs first."""
    for sign in book.signs.values():
        yield _name(sign.key), sign.words
    for cause in sorted(_causes(book), key=lambda cause: cause.name):
        yield _name(cause.key), cause.name


def _often(link: float) -> str:
    """Return how often something shows, in words."""
    return next(words for least, words in _OFTEN if link >= least)


def _seen(book: FaultBook, cause: Cause) -> list[tuple[float, Finding]]:
    """Return what a fault makes show, likeliest first."""
    links = sorted(cause.links.items(), key=lambda item: -item[1])
    return [(link, book.findings[key]) for key, link in links if key in book.findings]


def _sign(book: FaultBook, sign: Sign) -> str:
    """Return the page of a sign."""
    shown = [(_link(sign, cause), cause) for cause in _causes(book)]
    rows = [
        f"| [{cause.name}]({cause.key.replace('_', '-')}.md) | {_often(link)} | {cause.explain} |"
        for link, cause in sorted(shown, key=lambda item: -item[0] * item[1].weight)
        if link > 0.0
    ]
    return "\n".join(
        [
            f"# {sign.words}\n",
            "What it can be, likeliest first, before anything is looked at.",
            _BETTER,
            _SAFE,
            "| fault | it shows so | how it makes itself felt |",
            "| --- | --- | --- |",
            *rows,
            "",
            _SOURCE.rstrip("\n"),
            "",
        ]
    )


def _link(sign: Sign, cause: Cause) -> float:
    """Return how often a fault shows a sign; half of it where the dose goes no one way."""
    link = max(cause.links.get(key, 0.0) for key in sign.findings)
    if not sign.direction:
        return link
    up, down = (cause.links.get(key, 0.0) for key in ("dose_high", "dose_low"))
    if up == down:
        return link / 2
    return link * (up if sign.direction == "up" else down) / (up + down)


def _cause(book: FaultBook, cause: Cause) -> str:
    """Return the page of a fault."""
    seen = _seen(book, cause)
    plain = [
        f"| {finding.text} | {_often(link)} |"
        for link, finding in seen
        if not finding.check and link >= _LEAST_LINK
    ]
    parts = [f"# {cause.name}\n", f"{cause.explain}\n", _SAFE]
    if cause.is_qualified:
        parts.append(_STANDS_STILL)
    if plain:
        parts += ["## What you see\n", "| what | when this is the fault |", "| --- | --- |"]
        parts += [*plain, ""]
    checks = _checks(book, seen)
    if checks:
        parts.append("## How to be sure\n")
        for check, finding, link in checks:
            parts += _check(book, check, finding, link)
    repairs = sorted(
        (repair for repair in book.repairs.values() if repair.fixes.get(cause.key, 0.0) > 0.0),
        key=lambda repair: -repair.fixes[cause.key],
    )
    if repairs:
        parts.append("## What to do\n")
        for repair in repairs:
            parts += _repair(book, repair, cause)
    return "\n".join([*parts, _SOURCE])


def _checks(
    book: FaultBook, seen: list[tuple[float, Finding]]
) -> list[tuple[Check, Finding, float]]:
    """Return the checks that tell most of a fault, each once."""
    found: dict[str, tuple[Check, Finding, float]] = {}
    for link, finding in seen:
        if finding.check and link >= _LEAST_LINK and finding.check not in found:
            found[finding.check] = (book.checks[finding.check], finding, link)
    return list(found.values())[:_MOST_CHECKS]


def _check(book: FaultBook, check: Check, finding: Finding, link: float) -> list[str]:
    """Return a check as it is done, and what speaks for the fault."""
    lines = [f"### {check.name} (/{check.number})\n", f"{check.ask}\n"]
    lines += _first(book, check.needs, check.caution)
    steps = [f"{place}. {step}" for place, step in enumerate(check.steps, start=1)]
    return [
        *lines,
        *steps,
        "",
        f"It speaks for this fault, and then shows {_often(link)}: {_lowered(finding.text)}.",
        f"{_effort(check.minutes, check.product_ml, check.tools, '')}\n",
    ]


def _repair(book: FaultBook, repair: Repair, cause: Cause) -> list[str]:
    """Return a repair as it is done, and the test after it."""
    lines = [f"### {repair.name}\n"]
    if not repair.is_offered:
        lines.append(_STANDS_STILL)
    if repair.confirm in book.checks:
        check = book.checks[repair.confirm]
        lines.append(f"First make sure: /{check.number}, {_lowered(check.name)}.\n")
    lines += _first(book, repair.needs, repair.caution)
    lines.append(f"{repair.explain}")
    if repair.after:
        lines.append(f"Afterwards: {_lowered(repair.after).rstrip('.')}.")
    lines.append(f"It ends this fault {_often(repair.fixes[cause.key])}.")
    effort = _effort(repair.minutes, repair.product_ml, repair.tools, repair.parts)
    return [*lines, f"{effort}\n"]


def _first(book: FaultBook, needs: tuple[str, ...], caution: str) -> list[str]:
    """Return what comes before a step."""
    lines = [f"- First: {_lowered(book.needs[need])}." for need in needs]
    if caution:
        lines.append(f"- **{caution.rstrip('.')}.**")
    return [*lines, ""] if lines else []


def _effort(minutes: float, product_ml: float, tools: str, parts: str) -> str:
    """Return what a step takes."""
    words = f"Takes about {minutes:g} min"
    if product_ml:
        words += f" and {product_ml:g} mL of product"
    if tools:
        words += f"; tools: {tools}"
    if parts:
        words += f"; parts: {parts}"
    return f"{words}."


def _lowered(text: str) -> str:
    """Return words to go on with in a sentence; a name in capitals stays as it is."""
    head = text.split(" ", 1)[0]
    return text if head.isupper() or "-" in head[1:2] else text[:1].lower() + text[1:]


if __name__ == "__main__":
    write(Path(sys.argv[1]))
