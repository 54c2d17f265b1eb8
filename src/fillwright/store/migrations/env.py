"""Runs the steps on the connection, and inside the transaction, of whoever called."""

from __future__ import annotations

from alembic import context

__all__ = ["run"]


def run() -> None:
    """Run the steps that are missing; the caller commits."""
    context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
    with context.begin_transaction():
        context.run_migrations()


if __name__ == "env_py":  # the name under which the migration tool runs this file
    run()
