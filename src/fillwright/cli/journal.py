"""The journal checked, copied, put back and rescued."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from fillwright.cli import terminal
from fillwright.errors import BadInput, BrokenChain, JournalError

if TYPE_CHECKING:
    from fillwright.store.photocheck import PhotoNamed
    from fillwright.store.photos import PhotoFolder

__all__ = ["Store", "backup", "place_of", "rescue", "restore", "verify"]

_PLACE: Final = re.compile(r"[0-9]{1,18}")
_HASH: Final = re.compile(r"[0-9a-fA-F]{64}")
_MOST_PHOTOS: Final = 50
Store = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="PATH-OR-URL",
        help="The journal; FILLWRIGHT_STORE, or the usual place when left out.",
    ),
]


def verify(
    *,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
    known: Annotated[
        list[str] | None,
        typer.Option("--known", metavar="SEQ:HASH", help="A hash noted elsewhere."),
    ] = None,
) -> None:
    """Check that no entry of the journal was changed, nor any photo that it names.

    Names each entry that was changed, removed, reordered or slipped in, and each photo that
    is missing or was changed. Ends with 0 when all is whole, 1 when something is not or cannot
    be read, 2 when there is no journal.
    """
    from fillwright.store.photos import photos_beside  # noqa: PLC0415  loaded when asked
    from fillwright.store.verify import verify as verified  # noqa: PLC0415  loaded when asked

    where = place_of(store, demo=demo)
    try:
        report = verified(where, known=_known(known or []))
    except BrokenChain:
        raise
    except JournalError as error:
        raise BadInput(str(error), field="--store", given=str(where), code="missing") from error
    for finding in report.findings:
        terminal.say(terminal.wrapped(finding.sentence, indent="  "))
    if report.unlisted:
        terminal.say(f"and {report.unlisted} more")
    terminal.say(terminal.wrapped(report.because))
    are_whole = _say_photos(report.photos, photos_beside(where))
    if not report.ok:
        terminal.say(terminal.wrapped(f"Keep {where} as it is, and compare it with a backup."))
        raise typer.Exit(1)
    terminal.say(terminal.wrapped(f"Last entry {report.head_seq}:{report.head_hash}"))
    if not are_whole:
        terminal.say(terminal.wrapped("A photo that a backup still has comes back by restore."))
        raise typer.Exit(1)


def backup(
    to: Annotated[Path, typer.Argument(metavar="FILE", help="Where the copy goes.")],
    *,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
) -> None:
    """Copy the journal, also while it is in use.

    The copy is checked; a file that is there is never overwritten. Photos go into a folder
    beside it. Ends with 1 when a photo that the journal names is missing or was changed; the
    copy is made all the same.
    """
    from fillwright.store.backup import backup as copied  # noqa: PLC0415  loaded when asked
    from fillwright.store.photos import photos_of, photos_of_copy  # noqa: PLC0415  the same

    where = place_of(store, demo=demo)
    made = copied(where, to)
    terminal.say(f"Copied {made.entries} entries to {made.path}, and checked the copy.")
    photos = photos_of(where)
    came = 0 if photos is None else photos_of_copy(to).add_from(photos)
    if came:
        terminal.say(terminal.wrapped(f"{_photos(came)} in {to}.photos; keep both together."))
    if not _say_photos(made.photos, photos_of_copy(to)):
        raise typer.Exit(1)


def restore(
    copy: Annotated[Path, typer.Argument(metavar="FILE", help="The backup.")],
    *,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Set a journal that is there aside first.")
    ] = False,
) -> None:
    """Put a backup in the place of the journal, after checking it.

    Nothing is overwritten: with --replace the journal that is there gets another name. Ends
    with 1 when a photo that it names is not there afterwards; the journal is restored all the
    same.
    """
    from fillwright.store.photos import photos_of, photos_of_copy  # noqa: PLC0415  the same
    from fillwright.store.restore import restore as restored  # noqa: PLC0415  when asked

    where = place_of(store, demo=demo)
    made = restored(copy, where, replaces=replace)
    if made.aside is not None:
        terminal.say(terminal.wrapped(f"The journal that was there is now {made.aside}."))
    terminal.say(
        terminal.wrapped(f"{made.entries} entries are in {made.path}; the chain is whole.")
    )
    photos = photos_of(where)
    came = 0 if photos is None else photos.add_from(photos_of_copy(copy))
    if came:
        terminal.say(f"{_photos(came)} back.")
    if not _say_photos(made.photos, photos):
        raise typer.Exit(1)


def rescue(
    to: Annotated[Path, typer.Argument(metavar="FILE", help="Where what can be read goes.")],
    *,
    store: Store = None,
    demo: Annotated[bool, typer.Option("--demo", help="The journal of the demo.")] = False,
) -> None:
    """Read a damaged journal as far as it can be read, and say what is lost.

    The damaged file is only read. Ends with 1 when anything is lost.
    """
    from fillwright.store.rescue import rescue as rescued  # noqa: PLC0415  loaded when asked

    made = rescued(place_of(store, demo=demo), to)
    for words in made.words:
        terminal.say(terminal.wrapped(words, indent="  "))
    if made.lost_count or made.beyond:
        raise typer.Exit(1)


def _say_photos(named: Sequence[PhotoNamed], folder: PhotoFolder | None) -> bool:
    """Say which photos are missing or changed; return True where all are whole."""
    from fillwright.store.photocheck import look_at  # noqa: PLC0415  loaded when asked

    if not named:
        return True
    found = look_at(named, folder)
    for one in found[:_MOST_PHOTOS]:
        terminal.say(terminal.wrapped(one.sentence, indent="  "))
    if len(found) > _MOST_PHOTOS:
        terminal.say(f"and {len(found) - _MOST_PHOTOS} more")
    count = len({photo.sha256 for photo in named})
    if found:
        words = f"{len(found)} of {count} photos checked are missing or changed."
    else:
        words = f"{'1 photo' if count == 1 else f'{count} photos'} checked; whole."
    terminal.say(terminal.wrapped(words))
    return not found


def _photos(count: int) -> str:
    """Return so many photos with their verb."""
    return "1 photo is" if count == 1 else f"{count} photos are"


def place_of(store: str | None, *, demo: bool) -> str | Path:
    """Return the journal that is meant."""
    from fillwright.store.where import default_store, demo_store  # noqa: PLC0415  when asked

    if store is not None:
        return store
    return demo_store() if demo else default_store()


def _known(texts: list[str]) -> dict[int, str]:
    """Return the hashes that were noted elsewhere, by place."""
    found = {}
    for text in texts:
        place, _, noted = text.strip().partition(":")
        if not _PLACE.fullmatch(place) or not _HASH.fullmatch(noted):
            message = f"--known is {text!r}; give the place and the hash, as verify prints them."
            raise BadInput(message, field="--known", given=text, allowed="SEQ:HASH", code="type")
        found[int(place)] = noted.lower()
    return found
