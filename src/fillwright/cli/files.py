"""Files that a person names: read whole, written whole or not at all."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from io import BytesIO
from pathlib import Path
from typing import BinaryIO, Final, TypeVar

from fillwright.errors import BadInput

__all__ = [
    "bytes_of",
    "missing_file",
    "name_of",
    "opened",
    "refuse_input",
    "text_of",
    "write_through",
    "write_whole",
]

_MOST_BYTES: Final = 64_000_000
_STDIN: Final = "-"
T = TypeVar("T")
_UTF_16: Final = (b"\xff\xfe", b"\xfe\xff")


def name_of(source: Path | None) -> str:
    """Return what a file is called in messages."""
    return "standard input" if source is None or str(source) == _STDIN else str(source)


def bytes_of(source: Path | None) -> bytes:
    """Return all that a file holds.

    Parameters
    ----------
    source : Path or None
        The file; None or ``-`` is standard input.

    Returns
    -------
    bytes
        Its content.

    Raises
    ------
    BadInput
        If it cannot be read, or is larger than 64 MB.
    """
    with opened(source) as stream:
        try:
            data = stream.read(_MOST_BYTES + 1)
        except OSError as error:
            raise _unreadable(source, error) from None
    if len(data) > _MOST_BYTES:
        name = name_of(source)
        message = f"{name}: over {_MOST_BYTES // 1_000_000} MB; give a smaller file."
        raise BadInput(message, field=name, given=f"over {_MOST_BYTES} bytes", allowed="less")
    return data


def text_of(source: Path | None) -> str:
    """Return the text of a file, be it UTF-8 or UTF-16.

    Parameters
    ----------
    source : Path or None
        The file; None or ``-`` is standard input.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    BadInput
        If it cannot be read, or is not text; no byte is replaced.
    """
    data = bytes_of(source)
    try:
        return data.decode("utf-16" if data[:2] in _UTF_16 else "utf-8-sig")
    except UnicodeDecodeError:
        name = name_of(source)
        raise BadInput(
            f"{name}: this is not UTF-8 text; save it as UTF-8.",
            field=name,
            given=name,
            allowed="UTF-8 text",
            code="type",
        ) from None


@contextmanager
def opened(source: Path | None) -> Iterator[BinaryIO]:
    """Open a file for reading, or lend standard input.

    Parameters
    ----------
    source : Path or None
        The file; None or ``-`` is standard input.

    Yields
    ------
    BinaryIO
        What to read from.

    Raises
    ------
    BadInput
        If it cannot be opened.
    """
    if source is None or str(source) == _STDIN:
        if sys.stdin is None:
            yield BytesIO()
            return
        if sys.stdin.isatty():
            sys.stderr.write("Reading standard input; end with Ctrl-D (Ctrl-Z on Windows).\n")
        yield sys.stdin.buffer
        return
    try:
        stream = source.open("rb")
    except (OSError, ValueError) as error:
        raise _unreadable(source, error) from None
    with stream:
        yield stream


def write_whole(target: Path, data: bytes) -> None:
    """Write a file so that it is there whole, or as it was before.

    Parameters
    ----------
    target : Path
        The file; one that is there is replaced.
    data : bytes
        Its content.

    Raises
    ------
    BadInput
        If it cannot be written.
    """

    def write(stream: BinaryIO) -> None:
        stream.write(data)

    write_through(target, write)


def write_through(target: Path, write: Callable[[BinaryIO], T]) -> T:
    """Let a file be written piece by piece, so that it is there whole, or as it was before.

    Parameters
    ----------
    target : Path
        The file; one that is there is replaced.
    write : callable
        Writes the content to the stream it is given.

    Returns
    -------
    object
        What `write` returned.

    Raises
    ------
    BadInput
        If it cannot be written; what `write` raises goes on, and no file is left.
    """
    beside = ""
    if str(target) == _STDIN:
        message = "- is no name for a paper; name a file."
        raise BadInput(message, field=_STDIN, given=_STDIN, allowed="a name", code="type")
    try:
        _refuse_folders(target)
        handle, beside = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        with os.fdopen(handle, "wb") as stream:
            done = write(stream)
            stream.flush()
            os.fsync(stream.fileno())
        _give_usual_rights(Path(beside))
        Path(beside).replace(target)
    except (OSError, ValueError) as error:
        why = _why(error)
        message = f"{target}: cannot be written ({why}); give a place that can."
        raise BadInput(
            message, field=str(target), given=str(target), allowed="a place that can be written"
        ) from None
    finally:
        if beside:
            with suppress(OSError):
                Path(beside).unlink()
    return done


def _refuse_folders(target: Path) -> None:
    """Raise the error of a target that is a folder, or is in none."""
    if target.is_dir():
        raise IsADirectoryError
    if not target.parent.is_dir():
        raise NotADirectoryError


def refuse_input(target: Path, *inputs: Path | None) -> None:
    """Refuse to write a paper over a file that it was made from.

    Parameters
    ----------
    target : Path
        The file to write.
    *inputs : Path or None
        Files that were read.

    Raises
    ------
    BadInput
        If the target is one of them, by this or another name.
    """
    for source in inputs:
        if source is not None and source.exists() and target.exists() and target.samefile(source):
            message = f"{target}: the weights stand in this file; give another name for the paper."
            raise BadInput(
                message, field=str(target), given=str(target), allowed="another name", code="range"
            )


def _give_usual_rights(path: Path) -> None:
    """Give a file the rights that a new file has, since a temporary one is private."""
    if os.name == "posix":
        mask = os.umask(0)
        os.umask(mask)
        path.chmod(0o666 & ~mask)


def missing_file(source: Path) -> BadInput:
    """Return the error for a path that is no file."""
    error: Exception = IsADirectoryError() if source.is_dir() else FileNotFoundError()
    return _unreadable(source, error)


def _unreadable(source: Path | None, error: Exception) -> BadInput:
    """Return the error for a file that cannot be read."""
    name = name_of(source)
    code = "missing" if isinstance(error, FileNotFoundError) else "type"
    return BadInput(
        f"{name}: cannot be read ({_why(error)}); give a file that can.",
        field=name,
        given=name,
        allowed="a file that can be read",
        code=code,
    )


def _why(error: Exception) -> str:
    """Return the reason in plain words."""
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "it is a folder"
    if isinstance(error, NotADirectoryError):
        return "there is no such folder"
    if isinstance(error, PermissionError):
        return "you may not"
    return (getattr(error, "strerror", None) or str(error)).lower()
