"""Keep photos of a container, of a step of the strip, of a fault.

The file goes beside the journal, its hash into it.
"""

from __future__ import annotations

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.strip.guide import profile_of
from fillwright.records.entries import FirstJarLooked, MachinePhotoKept, PhotoKept
from fillwright.records.fold import JobState
from fillwright.records.photofile import PhotoFile

__all__ = ["about_container", "keep_fault_photo", "keep_photo", "keep_step_photo", "step_words"]


def about_container(state: JobState) -> int:
    """Return which container a photo is of: the one to look at now, else the last looked at."""
    if state.lots.look_due is not None:
        return state.filled_to + 1
    looks = [
        one.fact.container for one in state.lots.looks if isinstance(one.fact, FirstJarLooked)
    ]
    return looks[-1] if looks else max(state.filled_to, 1)


def step_words(desk: Desk, state: JobState, step: str) -> str:
    """Return what is done in a step of a job's strip.

    Raises
    ------
    BadInput
        If no strip is under way, or its profile has no such step.
    """
    profile = profile_of(desk, state.strip.profile) if state.strip.profile else None
    found = next((one.do for one in profile.steps if one.id == step), None) if profile else None
    if found is None:
        message = "That step is none of the strip. Open the page Strip and take the photo there."
        raise BadInput(message, field="step", given=step[:60], code="choice")
    return found


def keep_photo(desk: Desk, number: str, data: bytes, press: Press) -> JobState:
    """Keep a photo of the first container.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    data : bytes
        The photo: JPEG, PNG or WebP.
    press : Press
        Who took it.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If it is no photo or too long, no run was started, or this bench keeps no photos.
    StoreFull
        If the disk could not take it.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.run is None or state.run.started is None or state.released is not None:
            message = "A photo belongs to a run that is under way or not yet released."
            raise BadInput(message, field="file", code="inconsistent")
        told = _file(desk, data)
        fact = PhotoKept(
            container=about_container(state),
            sha256=told.sha256,
            media_type=told.media_type,
            size_bytes=told.size_bytes,
        )
        return keep(desk, state, [fact], press)


def keep_step_photo(desk: Desk, number: str, step: str, data: bytes, press: Press) -> JobState:
    """Keep a photo of a step of the strip: the evidence of a step that asks for one.

    Parameters
    ----------
    desk, number, data, press
        As `keep_photo`.
    step : str
        Name of the step in the profile.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If it is no photo or too long, the strip has no such step, or no photos are kept here.
    StoreFull
        If the disk could not take it.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        step_words(desk, state, step)
        told = _file(desk, data)
        fact = MachinePhotoKept(
            place="strip",
            of=step,
            sha256=told.sha256,
            media_type=told.media_type,
            size_bytes=told.size_bytes,
        )
        return keep(desk, state, [fact], press)


def keep_fault_photo(desk: Desk, number: str, data: bytes, press: Press) -> JobState:
    """Keep a photo with the latest search for a fault; the technician gets it with the case.

    Parameters
    ----------
    desk, number, data, press
        As `keep_photo`.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If it is no photo or too long, no fault was looked for, or no photos are kept here.
    StoreFull
        If the disk could not take it.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if not state.faults:
            message = "No fault was looked for in this job. Say on the page Fault what you see."
            raise BadInput(message, field="file", code="inconsistent")
        told = _file(desk, data)
        fact = MachinePhotoKept(
            place="fault",
            of=str(state.faults[-1].number),
            sha256=told.sha256,
            media_type=told.media_type,
            size_bytes=told.size_bytes,
        )
        return keep(desk, state, [fact], press)


def _file(desk: Desk, data: bytes) -> PhotoFile:
    """Keep the file itself, and return how it is named on record."""
    if desk.photos is None:
        message = "This bench keeps no photos. Say in words where it is kept."
        raise BadInput(message, field="file", code="not-available")
    return desk.photos.keep(data)
