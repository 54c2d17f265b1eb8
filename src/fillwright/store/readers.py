"""Read-only connections, lent to one borrower at a time and kept for the next."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping

from fillwright.errors import JournalError
from fillwright.store.chain import Row
from fillwright.store.connections import Connection, Place

__all__ = ["Readers"]


class Readers:
    """The read-only connections of one store; may be used from several threads.

    Parameters
    ----------
    where : Place
        The store.
    """

    def __init__(self, where: Place) -> None:
        self._place = where
        self._idle: deque[Connection] = deque()
        self._is_closed = False

    def ask(self, sql: str, given: Mapping[str, object]) -> list[Row]:
        """Return all rows that a statement answers.

        Parameters
        ----------
        sql : str
            The statement.
        given : mapping
            Its parameters by name.

        Returns
        -------
        list of Row
            As far as one page goes.

        Raises
        ------
        JournalError
            If the store cannot be read.
        """
        connection = self._borrowed()
        try:
            rows = connection.execute(sql, given).fetchall()
        except BaseException as error:
            # One that failed is not lent again.
            connection.close()
            if isinstance(error, self._place.error):
                message = f"The store {self._place.name} cannot be read ({error})."
                raise JournalError(message) from error
            raise
        self._idle.append(connection)
        if self._is_closed:
            self.close()
        return rows

    def close(self) -> None:
        """Close what is not lent; what is lent is closed when it comes back."""
        self._is_closed = True
        while True:
            try:
                self._idle.pop().close()
            except IndexError:
                return

    def _borrowed(self) -> Connection:
        """Return an idle connection, or a new one."""
        try:
            return self._idle.pop()
        except IndexError:
            return self._place.reader()
