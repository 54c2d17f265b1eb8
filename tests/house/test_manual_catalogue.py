"""The catalogue of the manual holds every block of its pages, and translations keep its links."""

from __future__ import annotations

import pytest
from babel.messages.pofile import read_po

from fillwright.language.manual_files import MANUAL_TEMPLATE, manual_file
from fillwright.language.manual_gather import manual_template, told_of
from fillwright.language.tongues import ENGLISH, TONGUES

AGAIN = "run: python -m fillwright.language.extract"
CODES = [t.code for t in TONGUES.values() if not t.is_trial and t.code != ENGLISH]


def _read(path):
    with path.open("rb") as stream:
        return read_po(stream)


def _blocks(catalog):
    return {str(message.id) for message in catalog if message.id}


def test_the_template_holds_the_blocks_of_the_pages():
    """A page that was changed is gathered in the same commit."""
    said, kept = _blocks(manual_template()), _blocks(_read(MANUAL_TEMPLATE))

    assert (sorted(said - kept), sorted(kept - said)) == ([], []), AGAIN


@pytest.mark.parametrize("code", CODES)
def test_a_catalogue_has_the_blocks_of_the_template(code):
    """Each block is there, with a translation or waiting for one."""
    assert _blocks(_read(manual_file(code))) == _blocks(_read(MANUAL_TEMPLATE)), AGAIN


@pytest.mark.parametrize("code", CODES)
def test_translations_keep_links_code_and_pictures(code):
    """A target of a link, a span of code and a picture stand again in the translation."""
    wrong = {
        str(message.id): told
        for message in _read(manual_file(code))
        if message.id and message.string and not message.fuzzy
        if (told := told_of(str(message.id), str(message.string)))
    }

    assert wrong == {}


@pytest.mark.parametrize("code", [code for code in CODES if TONGUES[code].draft])
def test_a_draft_says_that_it_is_one(code):
    """Its file asks a native speaker of the trade to review it."""
    assert b'"X-Draft: for review' in manual_file(code).read_bytes()
