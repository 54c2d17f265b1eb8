"""The command line: ask, lot, prove, verify, backup, serve and demo.

One file a command group; what is heavy is imported inside the command that needs it.
"""

from __future__ import annotations

__all__ = ["main"]

_INTERRUPTED = 130


def main() -> None:
    """Run the command that the arguments name, and leave with its status."""
    try:
        from fillwright.cli.app import run  # noqa: PLC0415  keeps ``import fillwright.cli`` light

        status = run()
    except KeyboardInterrupt:
        status = _INTERRUPTED
    raise SystemExit(status)
