"""A fold as bytes and back: what spares a long job its whole journal after a restart.

The bytes are a convenience that the journal can always give again. Whatever does not fit
(another version of the program, a damaged file, a journal that was restored) is passed over.
"""

from __future__ import annotations

import hashlib
import io
import pickle
from typing import Any, Final

from fillwright.records.fold import JobState

__all__ = ["state_from_bytes", "state_to_bytes"]

_OURS: Final = ("fillwright.records.", "fillwright.science.")
_PLAIN: Final = frozenset(
    {
        ("array", "_array_reconstructor"),
        ("array", "array"),
        ("collections", "deque"),
        ("datetime", "date"),
        ("datetime", "datetime"),
        ("datetime", "timedelta"),
        ("datetime", "timezone"),
        ("decimal", "Decimal"),
        ("fractions", "Fraction"),
    }
)
_DIGEST: Final = 32


def state_to_bytes(state: JobState) -> bytes:
    """Return a job's state as bytes, with the latest weighings only."""
    if state.run is not None:
        # What was folded in a block is handed to the watch now, not after every restart.
        _ = state.run.watch
    body = pickle.dumps(state, protocol=5)
    return hashlib.sha256(body).digest() + body


def state_from_bytes(data: bytes) -> JobState | None:
    """Return the state that the bytes hold, or None when they hold none.

    Only the records' own kinds and plain values are made from them; anything else that a
    strange file might name is refused before it is touched.
    """
    body = data[_DIGEST:]
    if hashlib.sha256(body).digest() != data[:_DIGEST]:
        return None
    try:
        state = _Reader(io.BytesIO(body)).load()
    except Exception:  # noqa: BLE001  whatever a file holds, the journal has it anyway
        return None
    return state if isinstance(state, JobState) else None


class _Reader(pickle.Unpickler):
    """Reads nothing but our own kinds and plain values."""

    def find_class(self, module_name: str, global_name: str) -> Any:  # noqa: ANN401
        """Return a class that may be made, or refuse."""
        named = (module_name, global_name)
        if named in _PLAIN:
            return super().find_class(module_name, global_name)
        found = None
        if module_name.startswith(_OURS) and "." not in global_name:
            found = super().find_class(module_name, global_name)
        if not isinstance(found, type):
            message = f"{module_name}.{global_name} is no part of a state"
            raise pickle.UnpicklingError(message)
        return found
