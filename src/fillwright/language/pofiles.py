"""Catalogues as files (GNU gettext): read, made empty, merged, written the same every time."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from difflib import get_close_matches
from io import BytesIO
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po, write_po

__all__ = ["MANUAL", "PROGRAM", "empty", "merged", "read", "written"]

PROGRAM: Final = "Fillwright"
MANUAL: Final = "Fillwright manual"
_DOMAINS: Final = {PROGRAM: "fillwright", MANUAL: "manual"}
_ALIKE: Final = 0.75
_DAY: Final = datetime(2026, 1, 1, tzinfo=UTC)
_DRAFT: Final = b'"X-Draft: for review by a native speaker of the trade\\n"\n'


def merged(old: Catalog, template: Catalog) -> Catalog:
    """Return a catalogue with the texts of a template and the translations that it had.

    A changed text takes the translation of the one most like it, marked fuzzy; a translation
    whose text is gone is kept as obsolete.
    """
    new = empty(str(old.locale or ""), str(template.project))
    has = {str(m.id): m for m in old if m.id} | {str(m.id): m for m in old.obsolete.values()}
    gone = {key: m for key, m in has.items() if m.string and key not in template}
    for message in template:
        if not message.id:
            continue
        text = str(message.id)
        known = has.get(text)
        string = str(known.string) if known else ""
        flags = set(known.flags) - {"python-brace-format"} if known and string else set()
        if not string and gone:
            alike = get_close_matches(text, gone, n=1, cutoff=_ALIKE)
            if alike:
                string, flags = str(gone.pop(alike[0]).string), {"fuzzy"}
        new.add(
            text,
            string,
            locations=message.locations,
            auto_comments=message.auto_comments,
            user_comments=known.user_comments if known else (),
            flags=flags,
        )
    for text, message in gone.items():
        new.obsolete[text] = Message(text, message.string)
    return new


def empty(code: str, project: str = PROGRAM) -> Catalog:
    """Return a catalogue without texts, of a language and a project; a template has no code."""
    return Catalog(
        locale=code or None,
        domain=_DOMAINS[project],
        header_comment=f"# Texts of {project}.",
        project=project,
        version="0.1.0",
        creation_date=_DAY,
        revision_date=_DAY,
        fuzzy=False,
        charset="utf-8",
        last_translator="",
        language_team="",
        msgid_bugs_address="",
        copyright_holder="",
    )


def written(catalog: Catalog) -> bytes:
    """Return a catalogue as a file."""
    stream = BytesIO()
    write_po(stream, catalog, width=99, include_lineno=False, sort_output=False)
    body = stream.getvalue()
    body = re.sub(rb'"Generated-By: [^\n]*\n', b"", body)
    if catalog.locale is not None:
        body = body.replace(b'"Content-Transfer-Encoding', _DRAFT + b'"Content-Transfer-Encoding')
    return body


def read(path: Path, code: str, project: str = PROGRAM) -> Catalog:
    """Return the catalogue in a file; an empty one where there is none."""
    if not path.exists():
        return empty(code, project)
    with path.open("rb") as stream:
        return read_po(stream, locale=code, domain=_DOMAINS[project])
