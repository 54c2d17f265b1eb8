"""Gathers every text into the catalogues: ``python -m fillwright.language.extract``.

It writes the templates and merges them into each catalogue, the same from the same sources.
``--parts FOLDER`` cuts what waits into small files, with ``--manual`` that of the manual;
``--take FILE...`` takes them back and refuses a text whose placeholders or marks were changed.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Final

import typer
from babel.messages.catalog import Catalog, Message

from fillwright.errors import BadInput
from fillwright.language.catalogue import FOLDER, PLACEHOLDER, TEMPLATE, catalogue_file
from fillwright.language.figures import MONTHS
from fillwright.language.from_data import gather_knowledge, gather_script
from fillwright.language.from_pages import gather_page
from fillwright.language.from_python import gather_python
from fillwright.language.gathered import Gathered
from fillwright.language.manual_gather import cut_manual, refresh_manual, take_manual
from fillwright.language.measures import worded_in_us
from fillwright.language.pofiles import MANUAL, empty, merged, read, written
from fillwright.language.tongues import ENGLISH, TONGUES

__all__ = ["changed_places", "gathered", "merged", "template_of"]

_PROGRAM: Final = Path(__file__).parents[1]
_MORE: Final = Path(__file__).parent / "more.txt"
_SKIPPED: Final = frozenset({
    "language", "wiring/maker.py",
    "web/description.py", "store/migrations", "store/statements.py", "store/tables.py",
    "store/schema.py", "questions/reference.py", "manual/faultpages.py",
})  # fmt: skip
_MARK: Final = re.compile(r"</?\d+/?>")
_PART: Final = 1000
_MAY_GO: Final = re.compile(r"word|thing|_s$|^s$|several")
"""Placeholders of a noun, which a language may say in another way."""


def gathered() -> Gathered:
    """Return every text of the program, folder by folder."""
    found = Gathered()
    for path in sorted(_PROGRAM.rglob("*")):
        place = path.relative_to(_PROGRAM).as_posix()
        if any(place == one or place.startswith(f"{one}/") for one in _SKIPPED):
            continue
        if path.suffix == ".py":
            commands = place.startswith("cli/")
            gather_python(path.read_text("utf-8"), place, found, commands=commands)
        elif path.suffix == ".html":
            gather_page(path.read_text("utf-8"), place, found)
        elif path.suffix == ".toml" and place.startswith("knowledge/"):
            gather_knowledge(path.read_text("utf-8"), place, found)
        elif path.suffix == ".js":
            gather_script(path.read_text("utf-8"), place, found)
    for line in _MORE.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            found.add(line, "language/more.txt", is_whole=True)
    _add_turned(found)
    for month in MONTHS:
        found.add(month, "language/figures.py")
    return found


def _add_turned(found: Gathered) -> None:
    """Add the texts whose units in words are other words where US customary units are shown."""
    for text, _, notes in list(found):
        turned = worded_in_us(text)
        if turned != text:
            found.add(turned, "language/measures.py", notes=notes, is_whole=True)


def template_of(texts: Gathered) -> Catalog:
    """Return texts as a template: files without lines, so that a moved line changes nothing."""
    catalog = empty("")
    for text, places, notes in texts:
        files = sorted({place.rpartition(":")[0] or place for place in places})
        catalog.add(text, locations=[(file, 1) for file in files], auto_comments=notes)
    return catalog


def changed_places(source: str, target: str) -> str:
    """Return what a translation has done to placeholders and marks, empty where they stand.

    Each placeholder stands in both, each as often as it likes; one of a noun may be left out.
    Marks stand once each.
    """
    wanted, had = set(PLACEHOLDER.findall(source)), set(PLACEHOLDER.findall(target))
    missing = sorted(name for name in wanted - had if not _MAY_GO.search(name))
    strange = sorted(had - wanted)
    told = []
    if missing:
        told.append("left out: " + ", ".join(f"{{{name}}}" for name in missing))
    if strange:
        told.append("not in the text: " + ", ".join(f"{{{name}}}" for name in strange))
    if sorted(_MARK.findall(source)) != sorted(_MARK.findall(target)):
        told.append("marks " + " ".join(_MARK.findall(source)) + " must all stand")
    return "; ".join(told)


def _refresh() -> None:
    """Write the template, and merge it into each catalogue."""
    template = template_of(gathered())
    FOLDER.mkdir(exist_ok=True)
    TEMPLATE.write_bytes(written(template))
    for tongue in TONGUES.values():
        if tongue.is_trial or tongue.code == ENGLISH:
            continue
        path = catalogue_file(tongue.code)
        path.parent.mkdir(parents=True, exist_ok=True)
        new = merged(read(path, tongue.code), template)
        path.write_bytes(written(new))
        waiting = sum(not m.string or m.fuzzy for m in new if m.id)
        sys.stdout.write(f"{tongue.code}: {len(new)} texts, {waiting} wait.\n")


def _cut(folder: Path, code: str) -> None:
    """Cut what waits for a translation into parts, each of one subject as far as it goes."""
    waiting = [m for m in read(catalogue_file(code), code) if m.id and (not m.string or m.fuzzy)]
    folder.mkdir(parents=True, exist_ok=True)
    groups: dict[str, list[Message]] = {}
    for message in waiting:
        groups.setdefault(str(message.locations[0][0]).partition("/")[0], []).append(message)
    ordered = [message for name in sorted(groups) for message in groups[name]]
    for number, start in enumerate(range(0, len(ordered), _PART), start=1):
        part = empty(code)
        for message in ordered[start : start + _PART]:
            part.add(
                message.id,
                message.string if message.fuzzy else "",
                locations=message.locations,
                auto_comments=message.auto_comments,
                flags=message.flags,
            )
        (folder / f"part-{number:02}.po").write_bytes(written(part))
        words = sum(len(str(m.id).split()) for m in ordered[start : start + _PART])
        sys.stdout.write(f"part-{number:02}.po: {len(part)} texts, {words} words.\n")


def _take(files: Iterable[Path], code: str) -> None:
    """Take translations into the catalogue; one whose places were changed is refused."""
    path = catalogue_file(code)
    catalog = read(path, code)
    taken, refused = 0, []
    for file in files:
        for message in read(file, code):
            text, string = str(message.id), str(message.string)
            if not text or not string or message.fuzzy:
                continue
            known = catalog.get(text)
            told = changed_places(text, string) if known else "no such text"
            if known is None or told:
                refused.append(f"{file.name}: {told}\n  {text}\n  {string}\n")
                continue
            known.string = string
            known.flags.discard("fuzzy")
            taken += 1
    path.write_bytes(written(catalog))
    sys.stdout.write("".join(refused))
    sys.stdout.write(f"Took {taken}, refused {len(refused)}.\n")


def _main(
    files: Annotated[list[Path] | None, typer.Argument(help="Translated parts.")] = None,
    *,
    take: Annotated[bool, typer.Option("--take", help="Take the translated parts.")] = False,
    parts: Annotated[Path | None, typer.Option(help="Folder for what waits.")] = None,
    manual: Annotated[bool, typer.Option("--manual", help="Parts of the manual.")] = False,
    language: Annotated[str, typer.Option(help="Code of the language.")] = "de",
) -> None:
    """Write the catalogues anew, take translations, or cut what waits into parts."""
    if language not in TONGUES or TONGUES[language].is_trial or language == ENGLISH:
        message = f"There is no catalogue of {language!r}."
        raise BadInput(message, field="language", given=language)
    if take:
        of_manual = [file for file in files or [] if read(file, language).project == MANUAL]
        of_program = [file for file in files or [] if file not in of_manual]
        if of_program or not of_manual:
            _take(of_program, language)
        if of_manual:
            take_manual(of_manual, language)
    elif parts is not None:
        (cut_manual if manual else _cut)(parts, language)
    else:
        _refresh()
        refresh_manual(t.code for t in TONGUES.values() if not t.is_trial and t.code != ENGLISH)


if __name__ == "__main__":
    typer.run(_main)
