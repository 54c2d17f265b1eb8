"""Run the command line by ``python -m fillwright``."""

from __future__ import annotations

from fillwright.cli import main

main()
