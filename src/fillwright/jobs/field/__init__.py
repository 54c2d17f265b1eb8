"""The technician's side: machines in the field, cases sent, enquiries, trial fills."""

from __future__ import annotations

__all__: list[str] = []
