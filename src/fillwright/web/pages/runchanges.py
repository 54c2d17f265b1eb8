"""Changes in mid-run and the look at the first container, as the Run page asks for them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.held.words import REASONS
from fillwright.jobs.run import cartons, changes
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run.around_words import holes_now, lines_now
from fillwright.jobs.run.every_jar import small_words
from fillwright.jobs.setup.tare_fit import warning_now
from fillwright.records.entries import LotTaken
from fillwright.records.fold import JobState
from fillwright.records.kinds_lots import LotOf
from fillwright.web.forms import figure_or_none, given, is_ticked, whole_or_none
from fillwright.web.render import plain_page
from fillwright.web.stage import Command, take_weight
from fillwright.web.visit import Form, Handler, Visit, go_to, keep_person, route

__all__ = ["COMMANDS", "IN_PROVE", "ROUTES", "figures_of", "tell_at_start", "told_at_start"]

_CODES: Final[tuple[tuple[LotOf, str], ...]] = (
    ("container", "lot_container"),
    ("lid", "lot_lid"),
    ("drum", "lot_drum"),
)


def figures_of(visit: Visit, state: JobState) -> Mapping[str, object]:
    """Return what the Run page shows of cartons, drums, people and the look."""
    people = visit.desk.book.site().people.values()
    return {
        "hold_reasons": REASONS["held"],
        "looks": firstjar.items_of(state) if state.lots.look_due is not None else (),
        "others": tuple(one for one in people if one.initials != visit.person),
        "lots_now": lines_now(state),
        "lots_missing": holes_now(state),
        "small": small_words(visit.desk, state),
        "tare_warning": warning_now(visit.desk.rule_sets, state),
    }


def tell_at_start(visit: Visit, number: str) -> None:
    """Keep the codes that were typed for what is there from the first container."""
    codes, batch = _codes(visit.form)
    changes.tell_lots(
        visit.desk, number, codes, type(visit.press())(person=visit.person), batch=batch
    )


def told_at_start(visit: Visit, state: JobState) -> list[LotTaken]:
    """Return what was typed of cartons and drum; the start of the run keeps it."""
    return changes.lots_told(state, *_codes(visit.form))


def _codes(form: Form) -> tuple[dict[LotOf, str], str]:
    """Return the lot codes that were typed, and the batch of the product."""
    return {what: given(form, field) for what, field in _CODES}, given(form, "lot_batch")


def _last(form: Form) -> int | None:
    """Return the last one filled before a change."""
    return whole_or_none(form, "last_filled", "The last one filled", least=0)


def _new_lot(what: Literal["container", "lid"]) -> Command:
    """Return the command that takes a new carton into use."""

    def take(visit: Visit, state: JobState) -> None:
        form = visit.form
        changes.take_lot(
            visit.desk,
            state.number,
            what,
            given(form, "code"),
            visit.press(),
            last_filled=_last(form),
            note=given(form, "note"),
        )

    return take


def _new_drum(visit: Visit, state: JobState) -> None:
    """Take a new drum into use."""
    form = visit.form
    changes.take_drum(
        visit.desk,
        state.number,
        given(form, "code"),
        visit.press(),
        batch=given(form, "batch"),
        last_filled=_last(form),
        note=given(form, "note"),
        density_g_per_ml=figure_or_none(form, "density_g_per_ml", "The density", above=0),
        density_c=figure_or_none(form, "density_c", "The temperature"),
    )


def _weigh_empty(visit: Visit, state: JobState) -> None:
    """Keep an empty of a new carton."""
    _ = state
    take_weight(visit, "tare")


def _keep_tare(visit: Visit, state: JobState) -> None:
    """Take the tare of the carton before."""
    cartons.carry_tare_on(visit.desk, state.number, given(visit.form, "reason"), visit.press())


def _look(visit: Visit, state: JobState) -> None:
    """Keep what the look at the first one showed."""
    form = visit.form
    answers = {
        key: None if is_ticked(form, f"look_{key}") else given(form, f"why_{key}")
        for key in firstjar.KEYS
    }
    place = given(form, "photo_place")
    firstjar.look_at_first(visit.desk, state.number, answers, visit.press(), photo_place=place)


def _skip(visit: Visit, state: JobState) -> None:
    """Skip the look, with the reason."""
    firstjar.skip_look(visit.desk, state.number, given(visit.form, "reason"), visit.press())


def _person(stage: str) -> Handler:
    """Return the handler that lets somebody else take over on the page of a stage."""

    def take_over(visit: Visit) -> Response:
        initials = given(visit.form, "initials")
        try:
            changes.change_person(
                visit.desk, visit.number, initials, visit.press(), last_filled=_last(visit.form)
            )
        except (BadInput, Conflict, StoreFull) as error:
            status = 422 if isinstance(error, BadInput) else 409
            return plain_page(visit, status=status, headline="Nobody changed.", words=str(error))
        response = go_to(f"/job/{visit.number}/{stage}")
        keep_person(response, initials)
        return response

    return take_over


COMMANDS: Final[Mapping[str, Command]] = {
    "new-container": _new_lot("container"),
    "new-lid": _new_lot("lid"),
    "new-drum": _new_drum,
    "weigh-empty": _weigh_empty,
    "keep-tare": _keep_tare,
    "first-look": _look,
    "skip-look": _skip,
}
IN_PROVE: Final = {name: COMMANDS[name] for name in COMMANDS if "look" not in name}
"""What may change in a proving run; the look waits for the start of the run."""
ROUTES: list[Route] = [
    route("/job/{number}/run/person", _person("run"), method="POST", needs_person=True),
    route("/job/{number}/prove/person", _person("prove"), method="POST", needs_person=True),
]
