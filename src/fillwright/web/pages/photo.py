"""Photos of first containers, of steps of the strip and of faults: take one, look at the kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import IO, Final
from urllib.parse import quote

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.desk import Press
from fillwright.jobs.run.photos import (
    about_container,
    keep_fault_photo,
    keep_photo,
    keep_step_photo,
    step_words,
)
from fillwright.records.entries import MachinePhotoKept, PhotoKept
from fillwright.records.fold import JobState
from fillwright.records.photofile import LONGEST_PHOTO
from fillwright.web.forms import given
from fillwright.web.render import plain_page, render
from fillwright.web.upload import file_route
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_SHOWN: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Subject:
    """What a photo is of: in words, with those that are kept and the page it belongs to."""

    order: str
    why: str
    back: str
    photos: tuple[tuple[str, PhotoKept | MachinePhotoKept], ...]


def _asked(visit: Visit, name: str) -> str:
    """Return what the form or the address says."""
    return given(visit.form, name) or visit.query.get(name, "")


def _subject(visit: Visit, state: JobState) -> _Subject:
    """Return what the photo is of.

    Raises
    ------
    BadInput
        If it names a step that is none.
    """
    base = f"/job/{quote(visit.number, safe='')}"
    step = _asked(visit, "step")
    if step:
        words = step_words(visit.desk, state, step)
        kept = state.strip.photos_of(step)
        return _Subject(
            order=f"A photo: {words}",
            why="It is kept beside the journal, and the record of the strip names it.",
            back=f"{base}/strip?step={quote(step, safe='')}",
            photos=tuple(("This step", photo) for photo in kept),
        )
    if _asked(visit, "fault"):
        return _Subject(
            order="A photo of what is wrong.",
            why="Hands out of the machine. It goes with the case file to the technician.",
            back=f"{base}/fault",
            photos=tuple((f"Search {photo.of}", photo) for photo in state.strip.fault_photos),
        )
    word = state.known.container.word
    return _Subject(
        order=f"A photo of {word} {about_container(state)}.",
        why="Label, lid and lot code in one picture. It is kept beside the journal, and the "
        "journal holds its hash.",
        back=f"{base}/run",
        photos=tuple(
            (f"{word.capitalize()} {photo.container}", photo) for photo in state.lots.photos
        ),
    )


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw the field for a photo, and the latest photos."""
    state = visit.desk.book.job(visit.number)
    if state is None:
        words = f"There is no job {visit.number}. Open the job list to see the numbers."
        return plain_page(visit, status=404, headline="No such job.", words=words)
    try:
        subject = _subject(visit, state)
    except BadInput as problem:
        return plain_page(visit, status=404, headline="No such step.", words=problem.message)
    return render(
        visit,
        "photo.html",
        status=422 if error else 200,
        state=state,
        error=error,
        subject=subject,
        photos=subject.photos[::-1][:_SHOWN],
        step=_asked(visit, "step"),
        fault=_asked(visit, "fault"),
        most=LONGEST_PHOTO,
    )


def _send(visit: Visit, data: IO[bytes], name: str) -> Response:
    """Keep a photo that was sent."""
    _ = name
    press = Press(person=visit.person)
    step = given(visit.form, "step")
    try:
        # Nothing longer than a form may be comes so far, so that its own length can be named.
        photo = data.read()
        if step:
            state = keep_step_photo(visit.desk, visit.number, step, photo, press)
        elif given(visit.form, "fault"):
            state = keep_fault_photo(visit.desk, visit.number, photo, press)
        else:
            state = keep_photo(visit.desk, visit.number, photo, press)
    except BadInput as error:
        return _show(visit, error=error)
    except (Conflict, StoreFull) as error:
        return _show(visit, error=BadInput(str(error), field="file", code="not-available"))
    return go_to(_subject(visit, state).back)


def _photo(visit: Visit) -> Response:
    """Return a photo by its hash."""
    photos = visit.desk.photos
    found = None if photos is None else photos.find(visit.params["sha256"])
    if found is None:
        words = "It is not in the folder beside the journal, or was changed there."
        return plain_page(visit, status=404, headline="No such photo.", words=words)
    return Response(found[0], media_type=found[1])


ROUTES: list[Route] = [
    route("/job/{number}/photo", _show, needs_person=True),
    file_route("/job/{number}/photo", _send),
    route("/photo/{sha256}", _photo),
]
