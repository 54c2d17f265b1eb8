"""The weighing scale: join it by what its lines teach, by a format of one's own, or as keys."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from starlette.responses import Response
from starlette.routing import Route

from fillwright.errors import BadInput, StoreFull
from fillwright.records.entries import ScaleLineKept
from fillwright.scale.learnt_words import UNIT_WORDS
from fillwright.scale.ports import find_ports
from fillwright.web.forms import choice, figure_or_none, given, whole
from fillwright.web.render import plain_page, render
from fillwright.web.visit import Form, Visit, go_to, route
from fillwright.wiring import ScaleLink
from fillwright.wiring.scale_link import typed_bytes

__all__ = ["ROUTES"]

_SENDS: Final = ("stream", "on-key", "asked")
_BAUDS: Final = ("1200", "2400", "4800", "9600", "19200", "38400", "57600", "115200")
_FRAMES: Final = {"8N1": (8, "N", 1), "7E1": (7, "E", 1), "7O1": (7, "O", 1), "8N2": (8, "N", 2)}
_MOST_MIN: Final = 1440
_LEAST_S, _MOST_S = Decimal("0.05"), Decimal(60)
_LONGEST_PORT: Final = 120


def _show(visit: Visit, *, error: BadInput | None = None) -> Response:
    """Draw where the scale stands: joined, being learnt, or still to be chosen."""
    link = visit.bench.link
    if link is None:
        words = "The scale of the demo is simulated. Start fillwright serve to join a real one."
        return plain_page(visit, status=200, headline="Nothing to join here.", words=words)
    session = link.session()
    return render(
        visit,
        "scale.html",
        status=422 if error else 200,
        line=link.line,
        status_now=link.status(),
        latest=visit.bench.scale.latest(),
        session=session,
        ports=() if session else find_ports(),
        units=UNIT_WORDS,
        bauds=_BAUDS,
        frames=tuple(_FRAMES),
        error=error,
    )


def _press(visit: Visit) -> Response:
    """Do what a button says."""
    link = visit.bench.link
    what = visit.params.get("what", "")
    if link is None or what not in _COMMANDS:
        return _show(visit)
    try:
        _COMMANDS[what](visit, link)
    except BadInput as error:
        return _show(visit, error=error)
    except StoreFull as error:
        return _show(visit, error=BadInput(str(error), field="store", code="not-available"))
    return go_to("/scale")


def _listen(visit: Visit, link: ScaleLink) -> None:
    """Begin to learn."""
    wanted = _wanted(visit.form)
    request = typed_bytes(given(visit.form, "request")) if wanted.sends == "asked" else b""
    every_s = figure_or_none(visit.form, "every_s", "The time between two requests")
    if every_s is not None and not _LEAST_S <= every_s <= _MOST_S:
        message = f"The time between two requests is {every_s} s; give {_LEAST_S} to {_MOST_S}."
        raise BadInput(message, field="every_s", given=str(every_s))
    link.listen(
        wanted,
        finds_speed=given(visit.form, "baud") == "find",
        request=request,
        every_s=every_s or Decimal("0.5"),
    )


def _unit(visit: Visit, link: ScaleLink) -> None:
    """Say the unit that the lines do not name."""
    link.name_unit(choice(visit.form, "unit", "the unit", tuple(UNIT_WORDS)))


def _keep(visit: Visit, link: ScaleLink) -> None:
    """Keep what was learnt."""
    link.keep(visit.press(), check_every_min=_minutes(visit.form))


def _by_hand(visit: Visit, link: ScaleLink) -> None:
    """Keep a format that was written by hand."""
    text = visit.form.get("form", "")
    link.keep_form(_wanted(visit.form), text, visit.press())


def _keys(visit: Visit, link: ScaleLink) -> None:
    """Keep that the scale types like a keyboard."""
    link.keep_keys(visit.press(), check_every_min=_minutes(visit.form))


def _stop(visit: Visit, link: ScaleLink) -> None:
    """Give up listening."""
    _ = visit
    link.give_up()


def _leave(visit: Visit, link: ScaleLink) -> None:
    """Take the scale away."""
    link.leave(visit.press())


def _wanted(form: Form) -> ScaleLineKept:
    """Return port, settings and manner that were chosen."""
    port = given(form, "address") or given(form, "port")
    if not port or port == "other" or len(port) > _LONGEST_PORT:
        message = "Choose the port of the weighing scale, or type its address."
        raise BadInput(message, field="port", given=port[:40], code="missing")
    sends = choice(form, "sends", "how it sends", _SENDS)
    baud = given(form, "baud")
    frame = _FRAMES.get(given(form, "frame") or "8N1", (8, "N", 1))
    return ScaleLineKept(
        port=port,
        baud_per_s=int(baud) if baud in _BAUDS else 9600,
        data_bits=frame[0],
        parity=frame[1],
        stop_bits=frame[2],
        sends=sends,  # type: ignore[arg-type]  # checked just above
        check_every_min=_minutes(form),
    )


def _minutes(form: Form) -> int:
    """Return after how many minutes zero and check weight are asked for again."""
    if not given(form, "check_every_min"):
        return ScaleLineKept(port="").check_every_min
    return whole(form, "check_every_min", "The time between two checks", most=_MOST_MIN)


_COMMANDS: Final = {
    "listen": _listen,
    "unit": _unit,
    "keep": _keep,
    "by-hand": _by_hand,
    "keys": _keys,
    "stop": _stop,
    "leave": _leave,
}

ROUTES: list[Route] = [
    route("/scale", _show),
    route("/scale/{what}", _press, method="POST", needs_person=True),
]
