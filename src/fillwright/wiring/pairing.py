"""Which other devices may reach the bench: they were told a code that only its machine shows."""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import json
import logging
import os
import secrets
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from fillwright.errors import BadInput
from fillwright.store.places import place
from fillwright.store.sqlite_file import SqliteFile
from fillwright.store.where import default_store

__all__ = ["Device", "Pairing", "pairing_file"]

_LOG: Final = logging.getLogger(__name__)
_DIGITS: Final = 6
_TRIES: Final = 5
_LOCK_S: Final = 60.0
_MOST_DEVICES: Final = 50
_LONGEST_NAME: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A device that was paired: a digest of its secret, what it is called, since when."""

    key: str
    name: str
    since: str


class Pairing:
    """The code of the moment, and the devices that gave it.

    Parameters
    ----------
    file : Path or None
        Where paired devices are remembered; None forgets them when the program ends.
    monotonic : callable
        Seconds of a count that only goes forward.
    today : callable
        The date, for people.

    Notes
    -----
    Five wrong codes in a row, from whatever device, lock pairing for a minute; the code is
    another one after that, and after each device that was paired.
    """

    def __init__(
        self,
        file: Path | None = None,
        *,
        monotonic: Callable[[], float] = time.monotonic,
        today: Callable[[], str] = lambda: time.strftime("%Y-%m-%d"),
    ) -> None:
        self._file = file
        self._monotonic = monotonic
        self._today = today
        self._lock = threading.Lock()
        self._devices = _read(file)
        self._is_remembered = True
        self._wrong = 0
        self._locked_until_s = 0.0
        self._code = _new_code()

    @property
    def code(self) -> str:
        """The code that pairs the next device."""
        with self._lock:
            return self._code

    @property
    def is_remembered(self) -> bool:
        """False while the disk did not take the list: after a restart the one before counts."""
        return self._is_remembered

    @property
    def devices(self) -> tuple[Device, ...]:
        """The devices that are paired, oldest first."""
        with self._lock:
            return tuple(self._devices.values())

    def pair(self, code: str, name: str) -> str:
        """Return the secret of a device that gives the right code.

        Parameters
        ----------
        code : str
            As it was typed; blanks do not matter.
        name : str
            What people call the device.

        Returns
        -------
        str
            The secret that the device sends from now on; only a digest of it is kept here.

        Raises
        ------
        BadInput
            If the code is wrong, or pairing is locked.
        """
        with self._lock:
            left_s = self._locked_until_s - self._monotonic()
            if left_s > 0:
                message = f"Five wrong codes. Wait {left_s:.0f} s, then type the new code."
                raise BadInput(message, field="code", code="not-available")
            typed = "".join(code.split())
            if not hmac.compare_digest(typed.encode(), self._code.encode()):
                raise self._wrong_code()
            secret = secrets.token_urlsafe(32)
            told = " ".join(name.split())[:_LONGEST_NAME] or "a device"
            device = Device(key=_digest(secret), name=told, since=self._today())
            self._devices[device.key] = device
            while len(self._devices) > _MOST_DEVICES:
                del self._devices[next(iter(self._devices))]
            self._wrong, self._code = 0, _new_code()
            self._write()
            return secret

    def is_paired(self, secret: str) -> bool:
        """Return True when a device that sends this secret was paired and not forgotten."""
        return bool(secret) and _digest(secret) in self._devices

    def forget(self, key: str) -> None:
        """Let a device in no more; a list that the disk did not take is written again."""
        with self._lock:
            if self._devices.pop(key, None) is not None or not self._is_remembered:
                self._write()

    def _wrong_code(self) -> BadInput:
        """Count a wrong code, and lock after the fifth."""
        self._wrong += 1
        if self._wrong < _TRIES:
            message = "That is not the code. Look at the bench machine and type what it shows."
            return BadInput(message, field="code", code="choice")
        self._wrong = 0
        self._locked_until_s = self._monotonic() + _LOCK_S
        self._code = _new_code()
        message = f"Five wrong codes. Wait {_LOCK_S:.0f} s, then type the new code."
        return BadInput(message, field="code", code="not-available")

    def _write(self) -> None:
        """Remember the devices; where the disk cannot be written, the page of devices says so."""
        if self._file is None:
            return
        text = json.dumps([asdict(device) for device in self._devices.values()])
        self._is_remembered = False
        try:
            handle, name = tempfile.mkstemp(dir=self._file.parent, suffix=".part")
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    file.write(text)
                Path(name).replace(self._file)
                self._is_remembered = True
            except BaseException:
                with contextlib.suppress(OSError):
                    Path(name).unlink()
                raise
        except OSError as error:
            _LOG.warning("The paired devices were not remembered: %s", error)


def pairing_file(where: str | Path) -> Path:
    """Return the file beside a store in which its paired devices are remembered."""
    found = place(where)
    if isinstance(found, SqliteFile):
        return found.path.with_name(f"{found.path.name}-devices")
    mark = hashlib.sha256(found.name.encode()).hexdigest()[:16]
    return Path(default_store({})).with_name(f"{mark}-devices")


def _read(file: Path | None) -> dict[str, Device]:
    """Return the devices that were remembered; none where the file is not as we write it."""
    if file is None:
        return {}
    try:
        listed: Any = json.loads(file.read_text(encoding="utf-8"))
        devices = [Device(**{name: str(one[name]) for name in one}) for one in listed]
    except (OSError, ValueError, TypeError, AttributeError):
        return {}
    return {device.key: device for device in devices}


def _new_code() -> str:
    """Return a code of six digits."""
    return f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}d}"


def _digest(secret: str) -> str:
    """Return what is kept of a secret: it cannot be turned back."""
    return hashlib.sha256(secret.encode()).hexdigest()
