"""The edge: hands a text, the data of a paper or a whole page on in the way people chose.

Each step takes a text and the way and gives a text; the steps follow one another, measures
first (they read English), the language last.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from html import escape, unescape
from typing import Final, TypeAlias

from fillwright.language.measured import page_in_us
from fillwright.language.measures import NOTHING, US, Keep, in_us
from fillwright.language.names import NOBODY, Names, names_of
from fillwright.language.runs import Run, Token, runs_of, spoken_attributes, tokens_of
from fillwright.language.tongues import ENGLISH, tongue_of
from fillwright.records.sitefold import SiteState

__all__ = [
    "PLAIN",
    "STEPS",
    "Step",
    "Way",
    "page",
    "said",
    "said_all",
    "script_texts",
    "warm",
    "way_of",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How texts leave the program.

    Parameters
    ----------
    language : str
        Code of the language.
    measures : str
        Name of the measures that figures are shown in; empty as the record keeps them.
    keep : Keep
        What people typed or declared, which stays in its own measures.
    names : Names
        What people, products and things are called, which stays in every language.
    reads : str
        Name of the measures that the texts are in already, where that is not the record's.
    """

    language: str = ENGLISH
    measures: str = ""
    keep: Keep = NOTHING
    names: Names = NOBODY
    reads: str = ""

    def spoken(self) -> Way:
        """Return this way for figures that are in its measures already."""
        reads = "" if self.language == ENGLISH else self.measures or self.reads
        return replace(self, measures="", keep=NOTHING, reads=reads)


PLAIN: Final = Way()
"""English, in the measures of the record: nothing is touched."""


def way_of(site: SiteState, *, language: str = "", measures: str = "") -> Way:
    """Return how texts leave for somebody at a site.

    Parameters
    ----------
    site : SiteState
        What the site keeps: its language, and the names that stay.
    language : str
        Code of the language of a device; empty where it speaks as the bench does.
    measures : str
        Name of the measures that figures are shown in.
    """
    language = language or site.settings.language
    names = NOBODY if language == ENGLISH else names_of(site)
    return Way(language=language, measures=measures, names=names)


Step: TypeAlias = Callable[[str, Way], str]


def _in_measures(text: str, way: Way) -> str:
    """Return a text in the measures of the way."""
    return in_us(text, keep=way.keep) if way.measures == US else text


def _in_language(text: str, way: Way) -> str:
    """Return a text in the language of the way."""
    if way.language == ENGLISH:
        return text
    from fillwright.language.voice import voice_of  # noqa: PLC0415  English loads no catalogue

    return voice_of(way.language, way.measures or way.reads).said(text, way.names)


STEPS: Final[tuple[Step, ...]] = (_in_measures, _in_language)
"""What each text goes through, in order."""

_HEAD: Final = re.compile(r'<html lang="[^"]*" dir="[^"]*"')
_FIELD: Final = re.compile(r'(?<=\svalue=")([+-]?\d+)\.(\d+)(?=")')
_BLANKS: Final = re.compile(r"\s+")
_SPEAKS: Final = re.compile(r"[^\W_]")


def said(text: str, way: Way) -> str:
    """Return a text as it leaves: in the measures and the language of the way.

    Parameters
    ----------
    text : str
        What the program says, in English.
    way : Way
        Language and measures.

    Returns
    -------
    str
        The text; whatever is not known stays as it was.
    """
    if way == PLAIN or not _SPEAKS.search(text):
        return text
    return _said(text, way)


@lru_cache(maxsize=16384)
def _said(text: str, way: Way) -> str:
    """Return a text as it leaves; the blanks at its ends stay."""
    body = text.strip()
    lead = text[: len(text) - len(text.lstrip())]
    tail = text[len(text.rstrip()) :]
    body = _BLANKS.sub(" ", body)
    for step in STEPS:
        body = step(body, way)
    return f"{lead}{body}{tail}"


def said_all(data: object, way: Way, *, as_is: Collection[str] = ()) -> object:
    """Return the data of a paper with every text as it leaves.

    Parameters
    ----------
    data : dict, list, str or anything
        What the paper is made of.
    way : Way
        Language and measures.
    as_is : collection of str
        Keys of dictionaries whose texts people typed or programs read.
    """
    if way == PLAIN:
        return data
    if isinstance(data, str):
        return "\n".join(said(line, way) for line in data.split("\n"))
    if isinstance(data, dict):
        return {
            key: value if key in as_is else said_all(value, way, as_is=as_is)
            for key, value in data.items()
        }
    if isinstance(data, list | tuple):
        return [said_all(value, way, as_is=as_is) for value in data]
    return data


def script_texts(language: str) -> Mapping[str, str]:
    """Return what the scripts of the pages say, and the decimal mark under a point.

    Parameters
    ----------
    language : str
        Code of the language; English has nothing to send along.
    """
    if language == ENGLISH:
        return {}
    from fillwright.language.voice import voice_of  # noqa: PLC0415  English loads no catalogue

    return voice_of(language).script_texts


def warm(language: str, measures: str = "") -> None:
    """Read the texts of a language before anybody waits for them.

    Parameters
    ----------
    language : str
        Code of the language; English has none to read.
    measures : str
        Name of the measures that figures are shown in.
    """
    if language != ENGLISH:
        from fillwright.language.voice import voice_of  # noqa: PLC0415  English loads no catalogue

        voice_of(language, US if measures == US else "").warm()


def page(html: str, way: Way) -> str:
    """Return a page as it leaves: texts and spoken attributes, and the direction of its lines.

    Elements marked ``translate="no"``, scripts, text areas and what people typed into fields
    stay as they are.

    Parameters
    ----------
    html : str
        The page in English.
    way : Way
        Language and measures.
    """
    if way.measures == US:
        html, way = page_in_us(html, way.keep), way.spoken()
    if way == PLAIN:
        return html
    tongue = tongue_of(way.language)
    parts: list[str] = []
    for part in runs_of(tokens_of(html)):
        if isinstance(part, Token):
            parts.append(_tag(part.raw, way))
        elif part.is_closed:
            parts.append(_tag(part.tokens[0].raw, way))
            parts.extend(token.raw for token in part.tokens[1:])
        else:
            parts.append(_run(part, way))
    head = f'<html lang="{tongue.tag}" dir="{tongue.direction}"'
    return _HEAD.sub(head, "".join(parts), count=1)


def _run(run: Run, way: Way) -> str:
    """Return a run: as one sentence where it is known as one, else text by text."""
    if way.language != ENGLISH and run.is_sentence():
        whole = _as_one(run, way)
        if whole is not None:
            return whole
    return "".join(_pieces(run, way))


def _pieces(run: Run, way: Way) -> list[str]:
    """Return the tokens of a run, each text by itself."""
    found: list[str] = []
    skipped, depth = "", 0
    for token in run.tokens:
        if skipped:
            if token.name == skipped:
                depth += -1 if token.is_end else 1
                skipped = skipped if depth else ""
            found.append(token.raw)
        elif token.name:
            if token.is_marked and not token.is_end:
                skipped, depth = token.name, 1
            found.append(token.raw if token.is_end else _tag(token.raw, way))
        else:
            found.append(_text(token.raw, way))
    return found


@lru_cache(maxsize=16384)
def _text(raw: str, way: Way) -> str:
    """Return one text of a page."""
    if not _SPEAKS.search(raw):
        return raw
    text = unescape(raw)
    new = said(text, way)
    return raw if new == text else escape(new, quote=False)


def _as_one(run: Run, way: Way) -> str | None:
    """Return a run that the catalogue knows as one sentence with its marks, or None."""
    from fillwright.language.voice import voice_of  # noqa: PLC0415  English loads no catalogue

    before, _, after = run.core()
    joint, marks = run.joint()
    for step in STEPS[:-1]:
        joint = step(joint, way)
    new = voice_of(way.language, way.measures or way.reads).with_marks(joint, way.names)
    if new is None:
        return None
    whole = _marked(new, [_tag(mark, way) for mark in marks], marks)
    return "".join([*(_tag(token.raw, way) for token in before), whole, *(t.raw for t in after)])


_MARK: Final = re.compile(r"<(/?)(\d+)(/?)>")


def _marked(text: str, opened: list[str], marks: list[str]) -> str:
    """Return a text with its numbered marks as tags again."""
    parts: list[str] = []
    at = 0
    for found in _MARK.finditer(text):
        parts.append(escape(text[at : found.start()], quote=False))
        at = found.end()
        number = int(found[2]) - 1
        if found[3]:
            parts.append(marks[number])
        elif found[1]:
            name = re.match(r"<([\w-]+)", marks[number])
            parts.append(f"</{name[1]}>" if name else "")
        else:
            parts.append(opened[number])
    parts.append(escape(text[at:], quote=False))
    return "".join(parts)


@lru_cache(maxsize=4096)
def _tag(raw: str, way: Way) -> str:
    """Return a tag with what is read from its attributes as it leaves."""
    parts: list[str] = []
    at = 0
    for start, end, words in spoken_attributes(raw):
        parts += [raw[at:start], escape(said(words, way))]
        at = end
    whole = "".join([*parts, raw[at:]])
    mark = tongue_of(way.language).decimal_mark
    if mark != "." and 'inputmode="decimal"' in whole and "data-weigh" not in whole:
        whole = _FIELD.sub(rf"\g<1>{mark}\g<2>", whole)
    return whole
