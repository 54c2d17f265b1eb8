"""Where the journal is kept: tables, migrations, the chain of hashes, verify, backup."""

from __future__ import annotations

__all__: list[str] = []
