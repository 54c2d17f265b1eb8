"""Photos that go with a case, and those that come with one."""

from __future__ import annotations

from collections.abc import Iterator

from fillwright.jobs.desk import Desk
from fillwright.jobs.strip.guide import profile_of
from fillwright.records.case_file import (
    MOST_CASE_PHOTO_BYTES,
    MOST_CASE_PHOTOS,
    CaseFile,
    CasePhoto,
    in_words,
)
from fillwright.records.fold import JobState
from fillwright.records.sent_photos import text_of_photo

__all__ = ["case_photos", "keep_case_photos", "shown_photos", "with_photo_bytes"]


def case_photos(desk: Desk, state: JobState, search: int) -> tuple[CasePhoto, ...]:
    """Return the photos that go with a search: its own, then the latest of the job.

    Parameters
    ----------
    desk : Desk
        Where they are kept.
    state : JobState
        The job.
    search : int
        Number of the search among those of the job.

    Returns
    -------
    tuple of CasePhoto
        At most as many and as long as a case may hold; each photo once.
    """
    if desk.photos is None:
        return ()
    found: list[CasePhoto] = []
    left_bytes = MOST_CASE_PHOTO_BYTES
    taken: set[str] = set()
    for sha256, words in _wanted(desk, state, search):
        if sha256 in taken:
            continue
        taken.add(sha256)
        kept = desk.photos.find(sha256)
        if kept is None or len(kept[0]) > left_bytes or len(found) >= MOST_CASE_PHOTOS:
            continue
        left_bytes -= len(kept[0])
        found.append(CasePhoto(sha256=sha256, of=in_words(words), data=text_of_photo(kept[0])))
    return tuple(found)


def _wanted(desk: Desk, state: JobState, search: int) -> Iterator[tuple[str, str]]:
    """Yield hash and words of the photos of a job, those that matter most first."""
    strip = state.strip
    for photo in reversed(strip.fault_photos):
        if photo.of == str(search):
            yield photo.sha256, "what is wrong"
    for jar in reversed(state.lots.photos):
        yield jar.sha256, f"{state.known.container.word} {jar.container}"
    done = {}
    if strip.profile in desk.profiles.by_name:
        done = {step.id: step.do for step in profile_of(desk, strip.profile).steps}
    for photo in reversed(strip.photos):
        yield photo.sha256, f"strip: {done.get(photo.of, photo.of)}"


def keep_case_photos(desk: Desk, case: CaseFile) -> None:
    """Keep the photos that came with a case beside the journal, by their hash."""
    for photo in case.photos:
        if photo.data and desk.photos is not None:
            desk.photos.keep(photo.photo_bytes)


def with_photo_bytes(desk: Desk, case: CaseFile) -> CaseFile:
    """Return a case that was sent with the photos that are kept here, to be sent on."""
    photos = []
    for photo in case.photos:
        kept = None if desk.photos is None else desk.photos.find(photo.sha256)
        data = "" if kept is None else text_of_photo(kept[0])
        photos.append(photo.model_copy(update={"data": data}))
    return case.model_copy(update={"photos": tuple(photos)})


def shown_photos(desk: Desk, case: CaseFile) -> tuple[tuple[CasePhoto, bool], ...]:
    """Return the photos of a case, each with whether it is kept here."""
    return tuple(
        (photo, desk.photos is not None and desk.photos.find(photo.sha256) is not None)
        for photo in case.photos
    )
