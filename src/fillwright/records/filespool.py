"""What the good rows of a file came to, laid aside on disk until a person says yes.

Read again in order, as often as needed, with only a piece of it in memory.
"""

from __future__ import annotations

import io
import marshal
import shutil
import tempfile
import weakref
from collections.abc import Iterator
from hashlib import sha256
from typing import IO, Final, Self

from fillwright.records.filecells import FileWeight

__all__ = ["FileSpool", "said_of"]

_PIECE: Final = 2000
_LENGTH: Final = 8
_IN_MEMORY: Final = 4_000_000
_MINUTES: Final = 14
"""Where the minutes begin in a moment: dates alone differ by hours where clocks are moved."""


def said_of(one: FileWeight) -> str:
    """Return what a weight says, the same for 250.1 and 250.10, without its row and moment."""
    value = one.value
    plain = value.rstrip("0").rstrip(".") if "." in value else value
    return f"{plain} {one.unit} {one.tare} {one.container}"


class FileSpool:
    """The weights of a file, in the order of its rows.

    Parameters
    ----------
    seed : str
        What makes the same rows other weights: the job, and what was weighed.
    """

    def __init__(self, seed: str) -> None:
        self._file: IO[bytes] = io.BytesIO()
        self._is_on_disk = False
        self._piece: list[tuple[object, ...]] = []
        self.seed = seed
        self._said: list[str] = [seed]
        self._digest = sha256()
        self._latest = ""
        self.count = 0
        self.is_in_order = True
        self.tells_moments = False

    def add(self, one: FileWeight) -> None:
        """Lay one weight aside."""
        at = one.at
        # Texts of one form: their order is that of the moments.
        if not at or at < self._latest:
            self.is_in_order = False
        elif not self.tells_moments and self._latest:
            self.tells_moments = at[_MINUTES:] != self._latest[_MINUTES:]
        self._latest = at
        self._said.append(f"{said_of(one)} {at}")
        self._piece.append(tuple(one))
        self.count += 1
        if len(self._piece) >= _PIECE:
            self._flush()

    def identity(self) -> str:
        """Return a digest of all weights laid aside: the same for the same file, re-saved too."""
        self._flush()
        return self._digest.copy().hexdigest()

    def come_again(self) -> str:
        """Let the same weights be others than they were, and return their new identity."""
        self.seed += " again"
        self._said.append(" again")
        return self.identity()

    def pieces(self) -> Iterator[list[FileWeight]]:
        """Yield the weights again, some at a time, in order."""
        self._flush()
        self._file.seek(0)
        while length := self._file.read(_LENGTH):
            # Whole pieces at once: bit by bit the reading asks the file for every figure.
            piece = self._file.read(int.from_bytes(length, "big"))
            told = marshal.loads(piece)  # noqa: S302  our own, never written by others
            yield list(map(FileWeight._make, told))

    def close(self) -> None:
        """Let go of what was laid aside."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _flush(self) -> None:
        """Write what is in hand."""
        if self._said:
            self._digest.update(("\n".join(self._said) + "\n").encode())
            self._said.clear()
        if self._piece:
            self._file.seek(0, 2)
            piece = marshal.dumps(self._piece)
            self._file.write(len(piece).to_bytes(_LENGTH, "big") + piece)
            self._piece.clear()
            if not self._is_on_disk and self._file.tell() > _IN_MEMORY:
                self._move_to_disk()

    def _move_to_disk(self) -> None:
        """Go on in a file that has no name and is gone with the program."""
        on_disk = tempfile.TemporaryFile()  # noqa: SIM115  closed by close, at the latest with self
        weakref.finalize(self, on_disk.close)
        self._file.seek(0)
        shutil.copyfileobj(self._file, on_disk)
        self._file = on_disk
        self._is_on_disk = True
