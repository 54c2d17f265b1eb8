"""The interface for programs: weighings in, questions asked, a job's state out.

`POST /api/v1/jobs/{job}/weighings` takes the same way as a weight typed on a page; it parses
its small JSON by hand, with exact decimals.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import partial
from typing import Any, Final, NoReturn, get_args

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from fillwright.errors import BadInput, Conflict, FillwrightError, StoreFull
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.run.weigh import Kept, weigh
from fillwright.jobs.traveller import next_act, stage_now
from fillwright.questions import answer_json
from fillwright.records.capture import Capture
from fillwright.records.entries import Purpose, Source
from fillwright.records.fold import JobState
from fillwright.web.live import device_of
from fillwright.web.moment import moment
from fillwright.web.numbers import number_of
from fillwright.wiring.seats import Seats

__all__ = ["ask", "job_state", "weigh_json", "weighings"]

_FIELDS: Final = frozenset(
    {
        "id",
        "value",
        "unit",
        "basis",
        "container",
        "filled_to",
        "time",
        "source",
        "purpose",
        "person",
        "sender",
        "set_aside",
    }
)
_STATUS_OF: Final = {"job": 404, "seat": 423}
_LONGEST: Final = 200
_LONGEST_NUMBER: Final = 32
_NOT_TEXT: Final = re.compile(r"[\x00-\x1f\x7f\ud800-\udfff]")


async def weighings(request: Request) -> Response:
    """Keep one weight; the same id again is answered as the first time."""
    number = str(request.path_params["number"])
    bench = request.app.state.bench
    # A browser sends only what was weighed on a page of it, while it was the one to weigh.
    admit = None if device_of(request) else partial(_admit, bench.seats, number)
    body = await request.body()
    return await run_in_threadpool(weigh_json, bench.desk, number, body, admit=admit)


async def ask(request: Request) -> Response:
    """Answer a question of the question interface."""
    question = str(request.path_params["question"])
    body = await request.body()
    try:
        text = _text_of(body)
    except BadInput as error:
        return _as_response(json.dumps(error.as_dict()), 422)
    status, answered = await run_in_threadpool(answer_json, question, text)
    return _as_response(answered, status)


async def job_state(request: Request) -> Response:
    """Give where a job stands, as JSON."""
    number = str(request.path_params["number"])
    return await run_in_threadpool(_state, request.app.state.bench.desk, number)


def weigh_json(
    desk: Desk,
    number: str,
    body: bytes,
    *,
    source: Source = "http",
    admit: Callable[[str], None] | None = None,
) -> Response:
    """Read a weight in JSON, let the job take it, and say what it came to.

    Parameters
    ----------
    desk : Desk
        Where the job is.
    number : str
        Job number.
    body : bytes
        One JSON object; see `_FIELDS`.
    source : str
        Where it came from, unless the sender says.
    admit : callable, optional
        Called with what the program calls itself before a weight that is new is taken; raises
        BadInput on ``seat`` where a person has not let it in.

    Returns
    -------
    Response
        JSON, with the status of every way of asking.
    """

    def kept() -> Kept:
        given = _read(body)
        capture, sender = _capture(given, source), _text(given, "sender")
        if admit is not None and desk.journal.entry(capture.weighing_id) is None:
            admit(sender)
        return weigh(
            desk,
            number,
            capture,
            Press(person=_text(given, "person")),
            purpose=_purpose(given),
            waits_for_look=True,
        )

    return _answered(lambda: _kept_as_json(kept()))


def _admit(seats: Seats, number: str, sender: str) -> None:
    """Raise BadInput where a page weighs for a job and has not let a program in."""
    seat = seats.admit(number, sender)
    if seat is None:
        return
    at = f"the page of {seat.who}" if seat.who else "a page"
    named = sender or "a program without a name"
    message = (
        f"Weighing for job {number} is on {at}. Let {named!r} weigh there, or close that page; "
        "then send it again."
    )
    raise BadInput(message, field="seat", given=sender, code="not-available")


def _state(desk: Desk, number: str) -> Response:
    """Return the state of a job."""

    def found() -> dict[str, object]:
        with desk.book.lock:
            return _state_as_json(desk, find_job(desk, number))

    return _answered(found)


def _answered(work: Callable[[], Mapping[str, object]]) -> Response:
    """Return what a piece of work gives, or its error in the form of every way of asking."""
    try:
        body, status = work(), 200
    except BadInput as error:
        status = _STATUS_OF.get(error.field, 422)
        body = error.as_dict()
    except Conflict as error:
        status, body = 409, _error("inconsistent", str(error))
    except StoreFull as error:
        status, body = 507, _error("not-available", f"The weight was not kept: {error}")
    except FillwrightError as error:
        status, body = 500, _error("not-available", str(error))
    return _as_response(json.dumps(body, ensure_ascii=False, separators=(",", ":")), status)


def _as_response(text: str, status: int) -> Response:
    """Return JSON text as an answer; half a sign that was sent goes back as it came, escaped."""
    data = text.encode("utf-8", errors="backslashreplace")
    return Response(data, status_code=status, media_type="application/json")


def _text_of(body: bytes) -> str:
    """Return the text of a body; a byte that is no UTF-8 is refused, never replaced."""
    try:
        return body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        message = "The body is not UTF-8 text. Send JSON as UTF-8."
        raise BadInput(message, field="body", allowed="UTF-8", code="type") from error


def _error(code: str, message: str) -> dict[str, object]:
    """Return an error in the form of every way of asking."""
    return {"error": {"code": code, "field": "", "given": None, "allowed": "", "message": message}}


def _read(body: bytes) -> dict[str, Any]:
    """Return the fields of the weight."""
    text = _text_of(body)
    try:
        given = json.loads(
            text,
            parse_float=Decimal,
            parse_int=_whole,
            parse_constant=_refuse,
            object_pairs_hook=_object,
        )
    except (ValueError, ArithmeticError, RecursionError) as error:
        message = "Send one JSON object, for instance {id, value, unit}."
        raise BadInput(message, field="body", allowed="a JSON object", code="type") from error
    if not isinstance(given, dict):
        message = "Send one JSON object, for instance {id, value, unit}."
        raise BadInput(message, field="body", allowed="a JSON object", code="type")
    for name in given:
        if name not in _FIELDS:
            allowed = ", ".join(sorted(_FIELDS))
            message = f"{str(name)[:40]!r} is not a field of a weight. Use {allowed}."
            raise BadInput(message, field=str(name)[:40], allowed=allowed, code="unknown-field")
    return given


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object, after refusing a field that is given twice."""
    given = dict(pairs)
    if len(given) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in given if names.count(name) > 1)[:40]
        message = f"{twice!r} is given twice. Send each field once."
        raise BadInput(message, field=twice, allowed="each field once", code="inconsistent")
    return given


def _whole(text: str) -> Decimal:
    """Return a whole number; the count of digits is limited where it is used."""
    return Decimal(text)


def _refuse(text: str) -> NoReturn:
    """Refuse NaN and Infinity."""
    message = f"{text} is not a weight. Send a finite number."
    raise BadInput(message, field="value", given=text, code="not-finite")


def _capture(given: Mapping[str, Any], usual: Source) -> Capture:
    """Return the weight on its way in."""
    basis = _one_of(given, "basis", ("gross", "net"))
    source = _one_of(given, "source", get_args(Source)) or usual
    moment(_text(given, "time"))
    return Capture(
        weighing_id=_needed(given, "id"),
        value=_decimal(given),
        unit=_text(given, "unit") or "g",
        basis=basis,  # type: ignore[arg-type]  # checked just above
        container=_count(given, "container"),
        filled_to=_count(given, "filled_to"),
        set_aside=_text(given, "set_aside"),
        source=source,  # type: ignore[arg-type]  # checked just above
    )


def _purpose(given: Mapping[str, Any]) -> Purpose | None:
    """Return what was weighed, where the sender says so."""
    return _one_of(given, "purpose", get_args(Purpose)) or None  # type: ignore[return-value]


def _decimal(given: Mapping[str, Any]) -> Decimal:
    """Return the weight, exactly as it was sent."""
    value = given.get("value")
    if isinstance(value, Decimal) and len(str(value)) <= _LONGEST_NUMBER:
        return value
    if isinstance(value, str) and len(value) <= _LONGEST_NUMBER:
        number = number_of(value.strip())
        if number is not None:
            return number
    code = "missing" if value is None else "type"
    message = f"{_shown(value)} is not a weight. Send what the scale showed, such as 250.1."
    raise BadInput(message, field="value", given=_shown(value), allowed="a number", code=code)


def _count(given: Mapping[str, Any], name: str) -> int | None:
    """Return the number of a container."""
    value = given.get(name)
    if value is None:
        return None
    most = 10_000_000
    if (
        not isinstance(value, Decimal)
        or value != value.to_integral_value()
        or not 0 < value < most
    ):
        message = f"{_shown(value)} is not a number of a container. Send 1 or more."
        raise BadInput(message, field=name, given=_shown(value), allowed="1 or more", code="type")
    return int(value)


def _text(given: Mapping[str, Any], name: str) -> str:
    """Return a short text; empty where it was left out."""
    value = given.get(name)
    if value is None:
        return ""
    if not isinstance(value, str) or len(value) > _LONGEST or _NOT_TEXT.search(value):
        message = f"{name} is a text of at most {_LONGEST} letters, in one line."
        raise BadInput(
            message, field=name, given=_shown(value), allowed="a short text", code="type"
        )
    return value.strip()


def _needed(given: Mapping[str, Any], name: str) -> str:
    """Return a text that must be there."""
    text = _text(given, name)
    if not text:
        message = f"{name} is missing. Send a UUID made where the weight came from."
        raise BadInput(message, field=name, allowed="a UUID", code="missing")
    return text


def _one_of(given: Mapping[str, Any], name: str, allowed: tuple[str, ...]) -> str | None:
    """Return one of a few words; None where it was left out."""
    text = _text(given, name)
    if not text:
        return None
    if text not in allowed:
        told = ", ".join(allowed)
        message = f"{name} is one of {told}; {text!r} is none of them."
        raise BadInput(message, field=name, given=text, allowed=told, code="choice")
    return text


def _shown(value: object) -> str:
    """Return what was given, cut to a length that a person reads."""
    return str(value)[:40]


def _kept_as_json(kept: Kept) -> dict[str, object]:
    """Return how a weight was kept and judged, and the next act."""
    fact, act = kept.weighing, kept.act
    return {
        "job": kept.state.number,
        "revision": kept.state.revision,
        "repeat": kept.is_repeat,
        "purpose": fact.purpose,
        "container": fact.container,
        "net_g": str(fact.net_g),
        "tare_g": str(fact.tare_g),
        "state": fact.state,
        "set_aside": fact.set_aside,
        "next": {
            "stage": act.stage.value,
            "what": act.what,
            "order": act.order,
            "why": act.why,
            "state": act.state,
            "state_words": act.state_words,
            "value": act.value,
        },
    }


def _state_as_json(desk: Desk, state: JobState) -> dict[str, object]:
    """Return where a job stands."""
    act = next_act(desk, state)
    return {
        "job": state.number,
        "revision": state.revision,
        "stage": stage_now(state).value,
        "product": state.known.product.name,
        "lot_code": state.known.lot_code,
        "setting_marks": None if state.setting_marks is None else str(state.setting_marks),
        "filled": state.filled_to,
        "weighings": len(state.weighings),
        "held": [[span.first, span.last] for span in state.open_spans],
        "released": None if state.released is None else state.released.outcome,
        "last_hash": state.last_hash,
        "next": {
            "stage": act.stage.value,
            "what": act.what,
            "order": act.order,
            "why": act.why,
            "main": act.main,
            "value": act.value,
            "missing": act.missing,
        },
    }
