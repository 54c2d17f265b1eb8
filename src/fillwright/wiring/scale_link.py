"""The weighing scale of a bench: its line, how its lines look, and learning that anew."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.records.entities import JobFacts
from fillwright.records.entries import ScaleLineKept
from fillwright.records.ports import Line
from fillwright.scale.capture import PanReader, Sending
from fillwright.scale.form_file import form_from_toml, form_to_toml
from fillwright.scale.learning import Learnt, learn
from fillwright.scale.listening import SPEEDS, Listening, PortSettings
from fillwright.scale.pan_events import NoSignal
from fillwright.scale.ports import open_line
from fillwright.scale.shapes import ShapedForm
from fillwright.scale.watching import ScaleWatch
from fillwright.wiring.scale_hub import ScaleHub

__all__ = ["LinkStatus", "ScaleLink", "Session", "typed_bytes"]

_SHOWN: Final = 6
_FORGET_S: Final = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkStatus:
    """How the line to the scale does: counts since it was opened, and the last lines."""

    is_open: bool
    problem: str
    lines_read: int
    bad_lines: int
    bytes_seen: int
    losses: int
    last_good: str
    last_bad: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A try to join a scale: what was asked, what comes, and what it teaches so far."""

    port: str
    sends: str
    settings: PortSettings
    is_found: bool
    problem: str
    bytes_seen: int
    recent: str
    lines: tuple[str, ...]
    learnt: Learnt


class ScaleLink:
    """The line to the weighing scale of this bench.

    Parameters
    ----------
    desk : Desk
        Where the set-up is kept.
    hub : ScaleHub
        Who is told what the scale says.
    opens : callable
        Opens a port.
    monotonic : callable
        Seconds of a count that only goes forward.
    """

    def __init__(
        self,
        desk: Desk,
        hub: ScaleHub,
        *,
        opens: Callable[..., Line] = open_line,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._desk = desk
        self._hub = hub
        self._opens = opens
        self._monotonic = monotonic
        self._lock = threading.RLock()
        self._line: ScaleLineKept | None = None
        self._pan: PanReader | None = None
        self._watch: ScaleWatch | None = None
        self._listening: Listening | None = None
        self._asked = ScaleLineKept(port="")
        self._request = b""
        self._every_s = Decimal("0.5")
        self._unit = ""
        self._seen_s = 0.0

    @property
    def line(self) -> ScaleLineKept | None:
        """The set-up of the scale that is joined, or None."""
        return self._line

    def start(self) -> None:
        """Join the scale that the site keeps, if there is one."""
        with self._lock:
            self._join(self._desk.book.site().scale_line)

    def stop(self) -> None:
        """Let go of the line."""
        with self._lock:
            self._stop_listening()
            self._leave()

    def fit(self, facts: JobFacts) -> None:
        """Take from the job at hand what counts as an empty pan."""
        self._end_forgotten()
        pan = self._pan
        if pan is not None:
            pan.fit(facts)

    def status(self) -> LinkStatus | None:
        """Return how the line does, or None when no line is joined."""
        watch = self._watch
        if watch is None:
            return None
        latest = self._hub.latest()
        gone = latest.get("event") == NoSignal.event
        return LinkStatus(
            is_open=not gone and watch.bytes_seen > 0,
            problem=str(latest.get("because") or "") if gone else "",
            lines_read=watch.lines_read,
            bad_lines=watch.bad_count,
            bytes_seen=watch.bytes_seen,
            losses=watch.losses,
            last_good=_printed(watch.last_good),
            last_bad=tuple((_printed(bad.raw), bad.why) for bad in watch.last_bad[-_SHOWN:]),
        )

    def listen(
        self,
        wanted: ScaleLineKept,
        *,
        finds_speed: bool,
        request: bytes = b"",
        every_s: Decimal = Decimal("0.5"),
    ) -> None:
        """Begin to learn how the lines of a scale look.

        Parameters
        ----------
        wanted : ScaleLineKept
            Port, settings and when the scale sends; its form is what is looked for.
        finds_speed : bool
            Whether to try the usual speeds of a serial line in turn.
        request : bytes
            What a scale that answers only when asked is sent.
        every_s : Decimal
            Time between two requests.

        Raises
        ------
        BadInput
            If the port cannot be one, or nothing is given to ask with.
        """
        if wanted.sends == "asked" and not request:
            message = "Say what the weighing scale is asked with, such as W and carriage return."
            raise BadInput(message, field="request", allowed="some characters", code="missing")
        is_serial = "://" not in wanted.port
        fixed = PortSettings(
            baud_per_s=wanted.baud_per_s,
            data_bits=wanted.data_bits,
            parity=wanted.parity,
            stop_bits=wanted.stop_bits,
        )
        tries = (
            (fixed, *(s for s in SPEEDS if s != fixed)) if finds_speed and is_serial else [fixed]
        )
        with self._lock:
            self._stop_listening()
            self._leave()
            self._asked, self._unit, self._seen_s = wanted, "", self._monotonic()
            self._listening = Listening(
                lambda settings: self._opened(wanted.port, settings),
                tries,
                request=request,
                every_s=float(every_s),
                monotonic=self._monotonic,
            )
            self._request, self._every_s = request, every_s
            self._listening.start()

    def session(self) -> Session | None:
        """Return the try to join a scale that is under way, or None."""
        with self._lock:
            self._end_forgotten()
            listening = self._listening
            if listening is None:
                return None
            self._seen_s = self._monotonic()
            lines = listening.lines
            return Session(
                port=self._asked.port,
                sends=self._asked.sends,
                settings=listening.settings,
                is_found=listening.is_found,
                problem=listening.problem,
                bytes_seen=listening.bytes_seen,
                recent=_printed(listening.recent),
                lines=tuple(_printed(line.raw) for line in lines[-_SHOWN:]),
                learnt=learn(
                    lines,
                    on_key=self._asked.sends == "on-key",
                    unit=self._unit,
                    terminators=listening.terminators,
                ),
            )

    def name_unit(self, unit: str) -> None:
        """Say the unit of lines that name none."""
        with self._lock:
            self._unit = unit

    def give_up(self) -> None:
        """End a try to join a scale, and go on with the one that was joined."""
        with self._lock:
            self._stop_listening()
            self._join(self._desk.book.site().scale_line)

    def keep(self, press: Press, *, check_every_min: int) -> None:
        """Keep what was learnt, and join the scale.

        Raises
        ------
        BadInput
            If nothing was learnt yet.
        """
        session = self.session()
        if session is None or session.learnt.form is None:
            message = "The lines are not understood yet. Put something on the pan three times."
            raise BadInput(message, field="scale", code="missing")
        form = replace(session.learnt.form, request=self._request, every_s=self._every_s)
        self._keep(form, session.settings, check_every_min, press)

    def keep_form(
        self, wanted: ScaleLineKept, text: str, press: Press, *, request: bytes = b""
    ) -> None:
        """Keep a format that was written by hand, and join the scale.

        Raises
        ------
        BadInput
            If the format or the port cannot be right.
        """
        form = form_from_toml(text)
        if request and not form.request:
            form = replace(form, request=request)
        if not wanted.port.strip():
            message = "The port is missing. Choose one, or type its address."
            raise BadInput(message, field="port", code="missing")
        sends = "asked" if form.request else wanted.sends
        with self._lock:
            self._asked = replace(wanted, sends=sends)
            settings = PortSettings(
                baud_per_s=wanted.baud_per_s,
                data_bits=wanted.data_bits,
                parity=wanted.parity,
                stop_bits=wanted.stop_bits,
            )
            self._keep(form, settings, wanted.check_every_min, press)

    def keep_keys(self, press: Press, *, check_every_min: int) -> None:
        """Keep that the scale types its reading as keys, so that no port is needed."""
        with self._lock:
            line = ScaleLineKept(port="keys", sends="on-key", check_every_min=check_every_min)
            keep_on_site(self._desk, [line], press)
            self._stop_listening()
            self._join(line)

    def leave(self, press: Press) -> None:
        """Take the scale away, so that weights are typed."""
        with self._lock:
            keep_on_site(self._desk, [ScaleLineKept(port="")], press)
            self._stop_listening()
            self._leave()

    def _end_forgotten(self) -> None:
        """End a try that nobody has looked at for long, so that the scale weighs again."""
        with self._lock:
            if self._listening and self._monotonic() - self._seen_s > _FORGET_S:
                self.give_up()

    def _keep(
        self, form: ShapedForm, settings: PortSettings, check_every_min: int, press: Press
    ) -> None:
        """Keep a set-up in the journal, then use it."""
        with self._lock:
            line = replace(
                self._asked,
                baud_per_s=settings.baud_per_s,
                data_bits=settings.data_bits,
                parity=settings.parity,
                stop_bits=settings.stop_bits,
                form=form_to_toml(form),
                check_every_min=check_every_min,
            )
            keep_on_site(self._desk, [line], press)
            self._stop_listening()
            self._join(line)

    def _join(self, line: ScaleLineKept | None) -> None:
        """Watch a line from now on."""
        self._leave()
        self._line = line
        if line is None or line.port == "keys":
            return
        form = form_from_toml(line.form)
        settings = PortSettings(
            baud_per_s=line.baud_per_s,
            data_bits=line.data_bits,
            parity=line.parity,
            stop_bits=line.stop_bits,
        )
        sends = Sending.ON_KEY if line.sends == "on-key" else Sending.STREAM
        every_s = float(form.every_s)
        self._pan = PanReader(
            self._desk.clock,
            sends=sends,
            # A scale that is asked seldom is silent in between.
            silent_s=max(PanReader.SILENT_S, 2 * every_s if form.request else 0.0),
        )
        self._hub.join()
        self._watch = ScaleWatch(
            lambda: self._opened(line.port, settings),
            self._pan,
            self._hub.hear,
            form=form,
            request=form.request,
            every_s=every_s,
        )
        self._watch.start()

    def _leave(self) -> None:
        """Watch nothing any more."""
        if self._watch is not None:
            self._watch.stop()
        self._watch = self._pan = self._line = None
        self._hub.leave()

    def _stop_listening(self) -> None:
        """End a try."""
        if self._listening is not None:
            self._listening.stop()
            self._listening = None

    def _opened(self, port: str, settings: PortSettings) -> Line:
        """Open a port."""
        return self._opens(
            port,
            baud_per_s=settings.baud_per_s,
            data_bits=settings.data_bits,
            parity=settings.parity,
            stop_bits=settings.stop_bits,
        )


def _printed(data: bytes) -> str:
    """Return bytes as text that shows what cannot be printed."""
    return "".join(chr(b) if 32 <= b < 127 else f"\\x{b:02x}" for b in data)  # noqa: PLR2004


def typed_bytes(text: str) -> bytes:
    r"""Return what a person typed for bytes: ``\r``, ``\n``, ``\x05`` stand for those bytes.

    Raises
    ------
    BadInput
        If it holds anything that is no single byte.
    """
    try:
        return text.encode("ascii").decode("unicode_escape").encode("latin-1")
    except (UnicodeError, ValueError) as error:
        message = f"{text!r} cannot be sent. Use plain letters, \\r, \\n or \\x05."
        raise BadInput(message, field="request", given=text, code="type") from error
