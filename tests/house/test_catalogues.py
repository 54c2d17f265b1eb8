"""The catalogues hold every text of the program, and translations keep what texts carry."""

from __future__ import annotations

import re

import pytest
from babel.messages.pofile import read_po

from fillwright.language.catalogue import PLACEHOLDER, TEMPLATE, catalogue_file, load
from fillwright.language.extract import changed_places, gathered
from fillwright.language.measures import US, edits
from fillwright.language.tongues import ENGLISH, TONGUES
from fillwright.language.voice import voice_of

AGAIN = "run: python -m fillwright.language.extract"
MARK = re.compile(r"</?\d+/?>")
CODES = [t.code for t in TONGUES.values() if not t.is_trial and t.code != ENGLISH]


def _read(path):
    with path.open("rb") as stream:
        return read_po(stream)


@pytest.fixture(scope="module")
def template():
    """The template as it is kept."""
    return _read(TEMPLATE)


def test_the_template_holds_what_the_program_says(template):
    """A text that was added or changed is gathered in the same commit."""
    said = {text for text, _, _ in gathered()}
    kept = {str(message.id) for message in template if message.id}

    assert (sorted(said - kept), sorted(kept - said)) == ([], []), AGAIN


@pytest.mark.parametrize("code", CODES)
def test_a_catalogue_has_the_texts_of_the_template(template, code):
    """Each text is there, with a translation or waiting for one."""
    kept = {str(message.id) for message in _read(catalogue_file(code)) if message.id}

    assert kept == {str(message.id) for message in template if message.id}, AGAIN


@pytest.mark.parametrize("code", CODES)
def test_nothing_waits_for_a_translation(code):
    """A text that is added comes with its translation; one that was changed is looked at."""
    waiting = [
        str(message.id)
        for message in _read(catalogue_file(code))
        if message.id and (not message.string or message.fuzzy)
    ]

    assert waiting == []


@pytest.mark.parametrize("code", CODES)
def test_a_catalogue_is_read_as_it_was_written(code):
    """Our own quick reading gives what the library reads."""
    file = catalogue_file(code)
    kept = {
        str(message.id): str(message.string)
        for message in _read(file)
        if message.id and message.string and not message.fuzzy
    }

    assert load(file) == kept


@pytest.mark.parametrize("code", CODES)
def test_translations_keep_places_and_marks(code):
    """What is filled in and what is marked stands in the translation too."""
    wrong = {
        str(message.id): told
        for message in _read(catalogue_file(code))
        if message.id and message.string and not message.fuzzy
        if (told := changed_places(str(message.id), str(message.string)))
    }

    assert wrong == {}


@pytest.mark.parametrize("code", CODES)
def test_what_is_said_of_metric_figures_is_said_of_turned_ones(code):
    """A text with a unit in it stays in no tongue in English where US units are shown."""
    voice = voice_of(code, US)
    left = []
    for source in load(catalogue_file(code)):
        text = PLACEHOLDER.sub("12.5", source)
        spaced = MARK.sub(lambda mark: "\0" * len(mark[0]), text)
        turned = text
        for edit in reversed(edits(spaced)):
            turned = f"{turned[: edit.start]}{edit.new}{turned[edit.end :]}"
        if turned != text:
            known = voice.with_marks(turned) is not None if "\0" in spaced else None
            if not (known if known is not None else voice.left(turned) == 0):
                left.append(turned)

    assert left == []


@pytest.mark.parametrize("code", [code for code in CODES if TONGUES[code].draft])
def test_a_draft_says_that_it_is_one(code):
    """Its file asks a native speaker of the trade to review it."""
    assert b'"X-Draft: for review' in catalogue_file(code).read_bytes()
