"""Files that were sent to the bench: kept aside until a person says yes, worked on in threads.

Nothing of them is on record before that; what nobody comes back to is forgotten.
"""

from __future__ import annotations

import logging
import secrets
import shutil
import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Final, Literal

from fillwright.errors import BadInput, FillwrightError
from fillwright.jobs.files.job import LookedJob
from fillwright.jobs.files.take_in import TakenIn
from fillwright.jobs.files.take_look import Looked
from fillwright.jobs.files.take_things import LookedThings
from fillwright.records.filefields import Choice, Holds
from fillwright.records.filerows import FileRows

__all__ = ["Intake", "SentFile"]

_MOST_HELD: Final = 8
_LONGEST_NAME: Final = 120
_PATIENCE_S: Final = 2.0
_LOG: Final = logging.getLogger(__name__)
State = Literal["choosing", "looking", "looked", "keeping", "kept"]


@dataclass(slots=True)
class SentFile:
    """One file that was sent, and how far it is.

    Parameters
    ----------
    key : str
        Its secret name in addresses.
    name : str
        What people call it.
    path : Path
        Where its bytes lie meanwhile.
    holds : str
        What the person says that it holds.
    state : str
        Choosing, looking, looked, keeping, kept.
    rows : FileRows or None
        Its rows; None for a file that is no table.
    choice : Choice or None
        Which column holds what.
    number, like, purpose : str
        The job, or the one whose facts a new job gets, and what was weighed.
    looked : Looked, LookedThings, LookedJob or None
        What it would bring.
    taken : TakenIn or int or None
        What was kept.
    has_opened : bool
        True once the new job of the weights was opened.
    share : float
        How far the work is, from 0 to 1.
    done : int
        Rows that are done.
    problem : BadInput or None
        Why the work ended without its end.
    """

    key: str
    name: str
    path: Path
    holds: Holds
    state: State = "choosing"
    rows: FileRows | None = None
    choice: Choice | None = None
    number: str = ""
    like: str = ""
    purpose: str = "elsewhere"
    looked: Looked | LookedThings | LookedJob | None = None
    taken: TakenIn | int | None = None
    has_opened: bool = False
    share: float = 0.0
    done: int = 0
    problem: BadInput | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def tell(self, share: float, done: int) -> None:
        """Take how far the work is."""
        self.share, self.done = share, done

    def work(self, state: State, then: State, back: State, do: Callable[[], None]) -> None:
        """Do something long in a thread of its own, and wait a moment for it.

        Parameters
        ----------
        state : str
            What it is called while it lasts.
        then : str
            The state when it is done.
        back : str
            The state when it could not be done; `problem` says why.
        do : callable
            The work.
        """
        with self._lock:
            if self.state in ("looking", "keeping"):
                return
            self.state, self.problem = state, None
            self.tell(0.0, 0)

        def run() -> None:
            try:
                do()
            except FillwrightError as error:
                is_input = isinstance(error, BadInput)
                self.problem = error if is_input else BadInput(str(error), field="store")  # type: ignore[assignment]
                self.state = back
            except Exception:  # noqa: BLE001  the outermost edge of the thread: logged, and told
                _LOG.exception("A file could not be taken in.")
                words = "Something failed here. What was kept before is safe. Try it once more."
                self.problem = BadInput(words, field="file", code="not-available")
                self.state = back
            else:
                self.state = then

        worker = threading.Thread(target=run, name="intake", daemon=True)
        worker.start()
        worker.join(_PATIENCE_S)

    def close(self) -> None:
        """Forget the file."""
        if isinstance(self.looked, Looked):
            self.looked.spool.close()
        self.path.unlink(missing_ok=True)


class Intake:
    """The files that were sent and not yet let go of."""

    def __init__(self) -> None:
        self._held: dict[str, SentFile] = {}
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._lock = threading.Lock()

    def take(self, data: IO[bytes], *, name: str, holds: Holds) -> SentFile:
        """Keep the bytes of a file aside.

        Parameters
        ----------
        data : binary file
            What was sent.
        name : str
            As its sender called it; its folders are left out, and what cannot be shown.
        holds : str
            What the person says that it holds.

        Returns
        -------
        SentFile
            Not looked into yet.
        """
        plain = "".join(sign for sign in name.replace("\\", "/") if sign.isprintable())
        key = secrets.token_urlsafe(12)
        with self._lock:
            if self._folder is None:
                self._folder = tempfile.TemporaryDirectory(prefix="fillwright-")
            path = Path(self._folder.name) / key
        with path.open("wb") as file:
            shutil.copyfileobj(data, file)
        told = plain.rpartition("/")[2][:_LONGEST_NAME] or "file"
        sent = SentFile(key=key, name=told, path=path, holds=holds)
        with self._lock:
            self._held[key] = sent
            idle = [one for one in self._held.values() if one.state not in ("looking", "keeping")]
            for old in idle[: max(len(self._held) - _MOST_HELD, 0)]:
                self._held.pop(old.key).close()
        return sent

    def find(self, key: str) -> SentFile | None:
        """Return a file by its key, or None where it is not here any more."""
        return self._held.get(key)

    def drop(self, key: str) -> None:
        """Let go of a file, unless it is being worked on."""
        with self._lock:
            sent = self._held.get(key)
            if sent is not None and sent.state not in ("looking", "keeping"):
                del self._held[key]
                sent.close()

    def close(self) -> None:
        """Let go of all files."""
        with self._lock:
            for sent in self._held.values():
                sent.close()
            self._held.clear()
            if self._folder is not None:
                self._folder.cleanup()
                self._folder = None
