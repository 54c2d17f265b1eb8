"""Gathers the blocks of the manual into its catalogues, cuts what waits, takes it back.

The pages of faults and the tables of questions are made from texts of the program: what frames
those is listed in ``manual_more.txt``, and their blocks are no entries of their own.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog, Message

from fillwright.language.catalogue import PLACEHOLDER
from fillwright.language.manual_blocks import Block, blocks_of, changed_marks, reader
from fillwright.language.manual_files import MANUAL_TEMPLATE, manual_file
from fillwright.language.manual_voice import covered_texts
from fillwright.language.pofiles import MANUAL, empty, merged, read, written

__all__ = ["DOCS", "cut_manual", "manual_template", "refresh_manual", "take_manual", "told_of"]

DOCS: Final = Path(__file__).parents[3] / "docs"
_MORE: Final = Path(__file__).parent / "manual_more.txt"
_MORE_PLACE: Final = "language/manual_more.txt"
_MADE: Final = "howto/faults/"
_HALF_MADE: Final = "reference/questions.md"
_SHELVES: Final = ("README", "tutorial", "explanation", "howto", "language", "reference")
"""Shelves by the first part of a place, in the order in which they are translated."""
_PART: Final = 350


def manual_template() -> Catalog:
    """Return the blocks of every page as a template, with the pages that say them."""
    found: dict[str, list[str]] = {}
    for line in _MORE.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            found[line] = [_MORE_PLACE]
    for place, block in _blocks():
        places = found.setdefault(block.text, [])
        if place not in places:
            places.append(place)
    catalog = empty("", MANUAL)
    for text, places in found.items():
        catalog.add(text, locations=[(place, 1) for place in places])
    return catalog


def told_of(source: str, target: str) -> str:
    """Return what a translation did to links, code, pictures or places; empty where all stand."""
    told = changed_marks(source, target)
    if not told and set(PLACEHOLDER.findall(source)) != set(PLACEHOLDER.findall(target)):
        told = "placeholders must all stand: " + ", ".join(PLACEHOLDER.findall(source))
    return told


def refresh_manual(codes: Iterable[str]) -> None:
    """Write the template of the manual, and merge it into the catalogue of each language."""
    template = manual_template()
    MANUAL_TEMPLATE.write_bytes(written(template))
    for code in codes:
        path = manual_file(code)
        new = merged(read(path, code, MANUAL), template)
        path.write_bytes(written(new))
        sys.stdout.write(f"{code}, manual: {len(new)} blocks, {len(_waiting(new))} wait.\n")


def cut_manual(folder: Path, code: str) -> None:
    """Cut the blocks that wait and are no texts of the program into parts, shelf by shelf."""
    folder.mkdir(parents=True, exist_ok=True)
    ordered = sorted(_waiting(read(manual_file(code), code, MANUAL)), key=_shelf)
    for number, start in enumerate(range(0, len(ordered), _PART), start=1):
        messages = ordered[start : start + _PART]
        part = empty(code, MANUAL)
        for message in messages:
            string = message.string if message.fuzzy else ""
            part.add(message.id, string, locations=message.locations, flags=message.flags)
        (folder / f"man-{number:02}.po").write_bytes(written(part))
        words = sum(len(str(message.id).split()) for message in messages)
        sys.stdout.write(f"man-{number:02}.po: {len(part)} blocks, {words} words.\n")


def take_manual(files: Iterable[Path], code: str) -> None:
    """Take translated blocks into the catalogue; one whose links or code changed is refused."""
    path = manual_file(code)
    catalog = read(path, code, MANUAL)
    taken, refused = 0, []
    for file in files:
        for message in read(file, code, MANUAL):
            text, string = str(message.id), " ".join(str(message.string).split())
            if not text or not string or message.fuzzy:
                continue
            known = catalog.get(text)
            told = told_of(text, string) if known else "no such block"
            if known is None or told:
                refused.append(f"{file.name}: {told}\n  {text}\n  {string}\n")
                continue
            known.string = string
            known.flags.discard("fuzzy")
            taken += 1
    path.write_bytes(written(catalog))
    sys.stdout.write("".join(refused))
    sys.stdout.write(f"Took {taken}, refused {len(refused)}.\n")


def _blocks() -> Iterator[tuple[str, Block]]:
    """Yield the blocks of all pages that have words, with their pages, shelf by shelf."""
    names = [path.relative_to(DOCS).as_posix() for path in DOCS.rglob("*.md")]
    for name in sorted(names, key=lambda name: (_rank(name), name)):
        if name.startswith(_MADE):
            continue
        tokens = reader().parse((DOCS / name).read_text("utf-8"))
        if name == _HALF_MADE:
            seconds = (place for place, token in enumerate(tokens) if token.tag == "h2")
            tokens = tokens[: next(seconds, None)]
        for _, block in blocks_of(tokens):
            if block.speaks:
                yield name, block


def _rank(place: str) -> int:
    """Return where the shelf of a place comes in the order."""
    return _SHELVES.index(place.partition("/")[0].removesuffix(".md"))


def _shelf(message: Message) -> int:
    """Return where the first shelf of a message comes in the order."""
    return min(_rank(str(place)) for place, _ in message.locations)


def _waiting(catalog: Catalog) -> list[Message]:
    """Return what waits for a translation and is no text of the program."""
    known = covered_texts()
    return [m for m in catalog if m.id and (not m.string or m.fuzzy) and str(m.id) not in known]
