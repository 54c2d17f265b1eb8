"""Ports to a weighing scale: serial and TCP.

Bytes come and go here; what they mean is the line reader's. Every way in which a port can be
lost comes out as `PortGone`.
"""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlsplit

from fillwright.errors import BadInput, PortGone
from fillwright.records.ports import Line

try:
    from termios import error as _refused
except ImportError:  # on Windows a refused setting is a ValueError, and this is never met
    _refused = RuntimeError  # type: ignore[misc,assignment,unused-ignore]

__all__ = ["PortFound", "find_ports", "open_line"]

_SCHEMES: Final = ("socket", "rfc2217", "loop")
_WRITE_S: Final = 2.0
_MOST_AT_ONCE: Final = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class PortFound:
    """A serial port of this machine: its address, and what the system calls what is there."""

    address: str
    words: str


def find_ports() -> tuple[PortFound, ...]:
    """Return the serial ports that this machine has now, those of USB first."""
    from serial.tools import list_ports  # noqa: PLC0415  only who asks pays for it

    found = sorted(list_ports.comports(), key=lambda port: (port.vid is None, port.device))
    return tuple(
        PortFound(
            address=port.device,
            words="USB" if port.vid is not None else "serial port of this machine",
        )
        for port in found
    )


def open_line(
    url: str,
    *,
    baud_per_s: int = 9600,
    data_bits: int = 8,
    parity: str = "N",
    stop_bits: float = 1,
) -> Line:
    """Open a port to a weighing scale.

    Parameters
    ----------
    url : str
        A serial device (``/dev/ttyUSB0``, ``COM3``) or ``socket://host:port``,
        ``rfc2217://host:port``, ``loop://``.
    baud_per_s : int
        Speed of a serial line, as set at the scale.
    data_bits : int
        5 to 8.
    parity : str
        ``"N"``, ``"E"``, ``"O"``, ``"M"`` or ``"S"``.
    stop_bits : float
        1, 1.5 or 2.

    Returns
    -------
    Line
        Open, and closed by whoever asked for it. A serial device is taken for this program
        alone, since two readers would each get half of the bytes.

    Raises
    ------
    BadInput
        If the address or a setting cannot be right.
    PortGone
        If nobody answers there now.
    """
    import serial  # noqa: PLC0415  only who has a scale on a line pays for it

    is_device = _is_device(url)
    try:
        with _losses(url):
            port = serial.serial_for_url(
                url,
                baudrate=baud_per_s,
                bytesize=data_bits,
                parity=parity,
                stopbits=stop_bits,
                write_timeout=_WRITE_S,
                exclusive=True if is_device else None,
            )
    except (ValueError, _refused) as error:
        message = f"The scale line {url!r} cannot be set up: {error}. Look at its settings."
        raise BadInput(message, field="scale line", given=url, allowed="", code="range") from error
    return _PortLine(port, url)


class _PortLine:
    """A `Line` over a port of the serial library."""

    def __init__(self, port: Any, url: str) -> None:  # noqa: ANN401  the library has no types
        self._port = port
        self._url = url

    def read(self, timeout_s: float) -> bytes:
        """Return what has arrived, at the latest after `timeout_s`; may be empty."""
        with _losses(self._url):
            if self._port.timeout != timeout_s:
                # The library keeps the time, then sends all settings anew; a device that took
                # them with a parity it does not know may refuse them this time.
                with contextlib.suppress(_refused):
                    self._port.timeout = timeout_s
            data = bytes(self._port.read(1))
            while data and (waiting := self._port.in_waiting):
                data += self._port.read(waiting)
                if len(data) >= _MOST_AT_ONCE:
                    break
            return data

    def write(self, data: bytes) -> None:
        """Send bytes."""
        with _losses(self._url):
            self._port.write(data)

    def close(self) -> None:
        """Let go of the port."""
        # After a reset by its peer the library forgets a socket without closing it.
        inner = getattr(self._port, "_socket", None)
        with contextlib.suppress(OSError):
            self._port.close()
        if inner is not None:
            inner.close()


@contextlib.contextmanager
def _losses(url: str) -> Iterator[None]:
    """Turn every way in which the library reports a lost port into `PortGone`."""
    try:
        yield
    except OSError as lost:  # the library's own errors are OSErrors
        told = _told(lost)
        message = f"The scale line {url} is not there{told}. Look at its cable and its switch."
        raise PortGone(message) from lost


def _told(lost: OSError) -> str:
    """Return why a port is lost, in fewer words than the library's where they are known."""
    if lost.errno == errno.ENOENT:
        return ""
    if "returned no data" in str(lost):
        return ": it was unplugged, or another program reads it"
    return f": {lost}"


def _is_device(url: str) -> bool:
    """Return whether the address is a serial device; an address that cannot be is refused."""
    allowed = "a serial device, socket://host:port, rfc2217://host:port or loop://"
    if "://" not in url and url.strip():
        return True
    parts = urlsplit(url)
    try:
        has_place = parts.scheme == "loop" or bool(parts.hostname and parts.port)
    except ValueError:
        has_place = False
    if parts.scheme not in _SCHEMES or not has_place:
        message = f"The scale line is {url!r}; give {allowed}."
        raise BadInput(message, field="scale line", given=url, allowed=allowed, code="choice")
    return False
