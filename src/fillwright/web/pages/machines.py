"""Machines: those that are kept, and one described question by question."""

from __future__ import annotations

import base64
import zlib
from typing import Final
from urllib.parse import quote

from starlette.responses import Response

from fillwright.errors import BadInput, JournalError, StoreFull
from fillwright.jobs.machines.change import last_change
from fillwright.jobs.machines.learnt import learnt
from fillwright.jobs.machines.questions import question_at, questions_of
from fillwright.jobs.machines.shipped import begun, shipped_machine, stroke_mm
from fillwright.jobs.machines.wizard import added, answered, dropped, keep_described
from fillwright.knowledge.machines_load import machine_profiles
from fillwright.records.codec import payload_from_json, payload_to_json
from fillwright.records.entities import Machine
from fillwright.records.entries import MachineKept
from fillwright.records.kinds_again import MACHINE_CHANGES
from fillwright.records.wetsketch import WetSketch, sketch_of
from fillwright.web.forms import given
from fillwright.web.render import render
from fillwright.web.visit import Visit, go_to, route

__all__ = ["ROUTES"]

_MOST_PARTS: Final = 12
_LONGEST: Final = 64_000


def _list(visit: Visit) -> Response:
    """Draw the machines that are kept, and those to start from."""
    name = visit.query.get("name", "")
    machines = visit.desk.book.site().machines
    shown = machines.get(name)
    return render(
        visit,
        "machines.html",
        status=404 if name and shown is None else 200,
        machines=tuple(machines.values()),
        profiles=tuple(machine_profiles().values()),
        shown=shown,
        learnt=() if shown is None else learnt(visit.desk, shown.name),
        questions=() if shown is None or shown.air is None else questions_of(shown),
        sketch=_sketch(shown, "") if shown is not None and shown.is_described else None,
        changed=None if shown is None else last_change(visit.desk, shown.name),
        changes=MACHINE_CHANGES,
    )


def _begin(visit: Visit) -> Response:
    """Draw the question that the address names, or the first about a machine to begin with."""
    query = visit.query
    if query.get("draft"):
        try:
            return _draw(visit, _draft(query["draft"]), given(query, "at"))
        except BadInput as error:
            return _lost(visit, error)
    name = query.get("name", "")
    if not name and not query.get("from"):
        return go_to("/machines")
    try:
        draft = begun(visit.desk, name) if name else shipped_machine(query.get("from", ""))
    except BadInput as error:
        words = error.message
        return render(visit, "plain.html", status=404, headline="No such machine.", words=words)
    return _draw(visit, draft, given(query, "at") or questions_of(draft)[0].key)


def _answer(visit: Visit) -> Response:
    """Take an answer and lead to the next question; at the end keep the machine."""
    try:
        draft = _draft(visit.query.get("draft", ""))
    except BadInput as error:
        return _lost(visit, error)
    form = visit.form
    place = question_at(draft, given(visit.query, "at"))
    question = questions_of(draft)[place]
    what = given(form, "what") or "next"
    if what == "back":
        return go_to(_address(draft, questions_of(draft)[max(place - 1, 0)].key))
    if what == "drop" and question.may_drop:
        return go_to(_address(*dropped(draft, question.key)))
    try:
        changed = answered(visit.desk, draft, question.key, form)
        if what == "add" and question.may_add:
            return go_to(_address(*_one_more(changed, question.key)))
        following = questions_of(changed)[place + 1 :]
        if what == "next" and following:
            return go_to(_address(changed, following[0].key))
        keep_described(visit.desk, changed, visit.press())
    except BadInput as error:
        return _draw(visit, draft, question.key, error=error, status=422)
    except StoreFull as error:
        told = BadInput(str(error), field="store", code="not-available")
        return _draw(visit, draft, question.key, error=told, status=507)
    return go_to(f"/machines?name={quote(changed.name)}")


def _lost(visit: Visit, error: BadInput) -> Response:
    """Say that the draft did not come with the page."""
    words = error.message
    return render(visit, "plain.html", status=422, headline="Begin again.", words=words)


def _address(draft: Machine, key: str) -> str:
    """Return the address of a question; the draft is in it, so that a refresh is harmless."""
    text = payload_to_json(MachineKept(machine=draft)).encode("utf-8")
    packed = base64.urlsafe_b64encode(zlib.compress(text, 9)).decode("ascii")
    return f"/machines/describe?at={quote(key)}&draft={packed}"


def _one_more(draft: Machine, key: str) -> tuple[Machine, str]:
    """Return the draft with one more part, as long as a person could still count them."""
    many = max(len(draft.suction), len(draft.outward), len(draft.nozzles), len(draft.cylinders))
    if many >= _MOST_PARTS:
        message = f"{_MOST_PARTS} pieces are the most that are kept. Take two of them as one."
        raise BadInput(message, field="piece_name", given=many, allowed=f"up to {_MOST_PARTS}")
    return added(draft, key)


def _draft(packed: str) -> Machine:
    """Return the draft that the address carries."""
    message = "The page did not carry the machine with it. Open its page and begin again."
    lost = BadInput(message, field="draft", code="missing")
    try:
        reader = zlib.decompressobj()
        text = reader.decompress(base64.urlsafe_b64decode(packed.encode("ascii")), _LONGEST)
        kept = payload_from_json(MachineKept.kind, MachineKept.version, text)
    except (ValueError, zlib.error, JournalError) as error:
        raise lost from error
    if not isinstance(kept, MachineKept) or not _is_whole(kept.machine):
        raise lost
    return kept.machine


def _is_whole(machine: Machine) -> bool:
    """Return whether a draft has all that the questions are about."""
    return machine.is_described and bool(machine.cylinders) and bool(machine.nozzles)


def _sketch(machine: Machine, part: str) -> WetSketch:
    """Return the sketch of a machine."""
    strokes = [s for s in map(stroke_mm, machine.cylinders) if s is not None]
    return sketch_of(machine, part=part, stroke_mm=float(max(strokes, default=0)))


def _draw(
    visit: Visit, draft: Machine, key: str, *, error: BadInput | None = None, status: int = 200
) -> Response:
    """Draw one question with the sketch of what is known so far."""
    questions = questions_of(draft)
    place = question_at(draft, key)
    return render(
        visit,
        "machine.html",
        status=status,
        typed=visit.form if error else {},
        error=error,
        question=questions[place],
        place=place + 1,
        many=len(questions),
        name="" if draft.is_invented else draft.name,
        address=_address(draft, questions[place].key),
        sketch=_sketch(draft, questions[place].part),
        may_keep=not draft.is_invented,
    )


ROUTES = [
    route("/machines", _list, needs_person=True),
    route("/machines/describe", _begin, needs_person=True),
    route("/machines/describe", _answer, method="POST", needs_person=True),
]
