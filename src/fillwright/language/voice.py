"""Says a text in another language: whole, by its pattern, or sentence by sentence.

What people typed is left. A pattern is taken only where all it holds is known; a sentence of
which a part is not known stays in English whole.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache, cached_property, lru_cache
from typing import Final

from fillwright.language.catalogue import (
    PLACEHOLDER,
    SENTENCE_END,
    TEMPLATE,
    TURNED,
    Catalogue,
    Pattern,
    catalogue_file,
    load,
    script_texts,
)
from fillwright.language.figures import (
    is_figure,
    isolated,
    localised,
    month_pattern,
    unknown_letters,
)
from fillwright.language.measures import US
from fillwright.language.names import NOBODY, Names, unmasked
from fillwright.language.tongues import Tongue, tongue_of
from fillwright.language.trial import leftward, wrapped
from fillwright.language.turned import turned_texts

__all__ = ["OWN_WORDS", "Voice", "voice_of"]

OWN_WORDS: Final = frozenset({
    "address", "bench", "code", "command", "command_path", "container_name", "customer",
    "digest", "file", "folder", "host", "initials", "lot_code", "machine_name", "maker", "note",
    "number", "option", "path", "person", "port", "product_name", "reason", "serial", "typed",
    "url", "who",
})  # fmt: skip
"""Placeholders that hold what people typed, or what stands on a thing: left alone."""

_FREE: Final = frozenset({"note", "reason", "typed"})
"""Placeholders that hold whole sentences of people."""

_LISTS: Final = (" · ", "; ", ": ", " (", ", ", " and ", " or ", " / ", " – ", "/")
_LOOSE: Final = " · "
_QUOTED: Final = re.compile(r"'[^'\n]+'|\"[^\"\n]+\"")
"""What stands between the quotes of a refusal: somebody typed it, whatever it is called."""
_MARK: Final = re.compile(r"</?\d+/?>")
_LEAD: Final = re.compile(r"[,;:·(–+\u2212\"\u201c-]+ ?")
_STOPS: Final = '.:,;!?)"\u201d'
_MOST_DEEP: Final = 5
_MOST_TRIED: Final = 24
_MOST_TOGETHER: Final = 4
_MOST_LISTED: Final = 60
# A name has few words and none of these, which only sentences have.
_MOST_NAME: Final = 5
_OF_SENTENCES: Final = frozenset({
    "a", "an", "the", "is", "are", "was", "be", "at", "on", "in", "to", "how", "by", "from", "for",
    "with", "it", "its", "that", "this", "not", "no", "yet", "than", "has", "have", "had", "can",
    "may", "must", "will", "left", "each", "every",
})  # fmt: skip

Answer = tuple[str, int, int]
"""A text, how many letters of it stay in English, how many were taken for a name."""


class Voice:
    """One language, with its catalogue."""

    def __init__(self, tongue: Tongue, texts: Mapping[str, str]) -> None:
        self.tongue = tongue
        self._texts = texts
        self._catalogue = Catalogue(texts)
        self._best = lru_cache(maxsize=32768)(self._found)

    def said(self, text: str, names: Names = NOBODY) -> str:
        """Return a text in this language; what is not known stays, and names stay always.

        Parameters
        ----------
        text : str
            What the program says, in English.
        names : Names
            What people, products and things are called here.
        """
        masked, held = names.masked(text)
        if not held:
            return self._best(text, 0)[0]
        new, left, _ = self._best(masked, 0)
        if left and all(name.isalpha() for name in held):
            # A name may be a word of the program too: the sentence that is known wins.
            plain = self._best(text, 0)
            if not plain[1]:
                return plain[0]
        return unmasked(new, [isolated(name, self.tongue) for name in held])

    def warm(self) -> None:
        """Make ready what the first text would wait for."""
        self._best("Weigh 1 of 2, to do.", 0)

    @cached_property
    def script_texts(self) -> Mapping[str, str]:
        """Return what scripts of pages say, and the decimal mark under a point."""
        known = {text: self._texts.get(text, text) for text in script_texts(TEMPLATE)}
        return {**known, ".": self.tongue.decimal_mark}

    def left(self, text: str) -> int:
        """Return how many letters of a text stay in English."""
        return self._best(text, 0)[1]

    def with_marks(self, text: str, names: Names = NOBODY) -> str | None:
        """Return a sentence with numbered marks in it, or None where it is not known as one."""
        exact = self._catalogue.exact.get(text)
        if exact is not None:
            return exact
        masked, held = names.masked(text)
        marks = sorted(_MARK.findall(text))
        best: Answer | None = None
        for pattern, holds in self._catalogue.candidates(masked)[:_MOST_TRIED]:
            if sorted(_MARK.findall(pattern.source)) == marks:
                new = self._filled(pattern, holds, 0)
                best = _better(best, new)
        if best is None:
            return None
        return unmasked(best[0], [isolated(name, self.tongue) for name in held])

    def _found(self, text: str, depth: int) -> Answer:
        """Return a text in this language, and how many of its letters stay in English."""
        exact = self._exact(text)
        if exact is not None:
            return exact, 0, 0
        unknown = unknown_letters(text)
        if not unknown:
            return self._figures(text), 0, 0
        best: Answer | None = None
        if depth <= _MOST_DEEP:
            for way in (
                self._by_exact_sentences,
                self._by_pattern,
                self._by_sentences,
                self._by_tail,
                self._by_parts,
                self._by_figures,
                self._by_ends,
            ):
                new = way(text, depth)
                best = best if new is None else _better(best, new)
                if best is not None and best[1:] == (0, 0):
                    break
        return best or (self._figures(text), unknown, 0)

    def _exact(self, text: str) -> str | None:
        """Return what the catalogue has for a text, but for signs at its ends."""
        found = self._whole(text)
        if found is not None or not text:
            return found
        lead = _LEAD.match(text)
        start = lead[0] if lead else ""
        core = text[len(start) :]
        body = core.rstrip(_STOPS)
        stop = core[len(body) :]
        for words, end in ((core, ""), (body, stop)):
            found = self._whole(words) if words else None
            if found is not None:
                return f"{start}{found.rstrip('.') if end.startswith('.') else found}{end}"
        found = self._whole(f"{body}.") if body else None
        return None if found is None else f"{start}{found.removesuffix('.')}{stop}"

    def _whole(self, text: str) -> str | None:
        """Return what the catalogue has for a text, whatever the size of its first letter."""
        known = self._catalogue.exact
        found = known.get(text)
        if found is not None or not text:
            return found
        if text[0].isupper():
            found = known.get(text[0].lower() + text[1:])
            return found and found[0].upper() + found[1:]
        # A noun keeps its large letter in some languages: what was large stays so.
        return known.get(text[0].upper() + text[1:])

    def _by_exact_sentences(self, text: str, _depth: int) -> Answer | None:
        """Return a text of which the catalogue has each sentence word for word."""
        pieces = SENTENCE_END.split(text)
        if len(pieces) == 1:
            return None
        said = [self._exact(piece) for piece in pieces]
        words = [piece for piece in said if piece is not None]
        return (" ".join(words), 0, 0) if len(words) == len(said) else None

    def _by_pattern(self, text: str, depth: int) -> Answer | None:
        """Return a text by the pattern that takes least for a name, if all else is known."""
        best: Answer | None = None
        is_many = bool(SENTENCE_END.search(text))
        for pattern, held in self._catalogue.candidates(text)[:_MOST_TRIED]:
            if _MARK.search(pattern.source):
                continue
            new, left, doubt = self._filled(pattern, held, depth)
            if left:
                continue
            # Of one sentence is no pattern that two together happen to fit.
            best = _better(best, (new, 0, doubt + is_many))
            if best[1:] == (0, 0):
                break
        return best

    def _filled(self, pattern: Pattern, held: Mapping[str, str], depth: int) -> Answer:
        """Return what a pattern says with what its placeholders hold."""
        left, doubt = 0, 0
        filled: dict[str, str] = {}
        for name, words in held.items():
            kind = name.rstrip("0123456789").rstrip("_")
            is_quoted = bool(_QUOTED.fullmatch(words))
            if is_quoted or kind in OWN_WORDS:
                filled[name] = isolated(words, self.tongue)
                letters = unknown_letters(words)
                if is_quoted or kind in _FREE or _is_name(words):
                    doubt += letters
                else:
                    left += letters
                continue
            if kind.startswith(TURNED) and is_figure(words):
                filled[name] = self._figures(words)
                continue
            new, more, unsure = self._best(words, depth + 1)
            left += more
            doubt += unsure + bool(SENTENCE_END.search(words))
            filled[name] = isolated(new, self.tongue) if new == words else new
        target = PLACEHOLDER.sub(lambda one: filled.get(one[1], one[0]), pattern.target)
        return target, left, doubt

    def _by_sentences(self, text: str, depth: int) -> Answer | None:
        """Return a text sentence by sentence; sentences that belong together stay so."""
        pieces = SENTENCE_END.split(text)
        if len(pieces) == 1:
            return None
        count = len(pieces)
        best: list[tuple[int, int, int, list[str]]] = [(0, 0, 0, [])]
        for end in range(1, count + 1):
            ways = []
            for start in range(max(0, end - _MOST_TOGETHER), end):
                if end - start == count:
                    continue
                part = " ".join(pieces[start:end])
                new, left, doubt = (
                    self._together(part, depth) if end - start > 1 else self._best(part, depth + 1)
                )
                before = best[start]
                ways.append(
                    (before[0] + left, before[1] + doubt, before[2] + 1, [*before[3], new])
                )
            best.append(min(ways, key=lambda way: way[:3]))
        return " ".join(best[count][3]), best[count][0], best[count][1]

    def _together(self, part: str, depth: int) -> Answer:
        """Return some sentences as one text, where the catalogue has them so."""
        exact = self._exact(part)
        if exact is not None:
            return exact, 0, 0
        found = self._by_pattern(part, depth + 1)
        return found or (part, unknown_letters(part) + 1, 0)

    def _by_tail(self, text: str, depth: int) -> Answer | None:
        """Return a text that ends in a part which the code puts behind sentences of all kinds."""
        best: Answer | None = None
        for at, pattern, held in self._catalogue.tails(text)[:_MOST_TRIED]:
            end, more, unsure = self._filled(pattern, held, depth)
            if more:
                continue
            base, left, doubt = self._best(text[:at].rstrip(), depth + 1)
            if left:
                continue
            gap = " " if text[at - 1] == " " else ""
            best = _better(best, (f"{base}{gap}{end}", 0, doubt + unsure))
            if not best[2]:
                break
        return best

    def _by_parts(self, text: str, depth: int) -> Answer | None:
        """Return a text part by part at a sign of a list, where all parts are known.

        Parts that stand loosely beside one another need not all be known.
        """
        best: Answer | None = None
        for sign in _LISTS:
            if sign not in text:
                continue
            parts = text.split(sign)
            if len(parts) > _MOST_LISTED:
                continue
            if sign == " (":
                found = self._bracketed(text, depth)
            else:
                said = [self._best(part, depth + 1) for part in parts]
                between = self._exact(sign.strip()) if sign.strip().isalpha() else None
                joint = f" {between} " if between else sign
                found = _joined(said, joint)
            if not found[1] or sign == _LOOSE:
                best = _better(best, found)
            if best is not None and best[1:] == (0, 0):
                break
        return best

    def _bracketed(self, text: str, depth: int) -> Answer:
        """Return a text whose end stands in brackets, the two each by themselves."""
        before, _, rest = text.partition(" (")
        inside, closed, after = rest.rpartition(")")
        if not closed or not inside:
            return text, unknown_letters(text), 0
        parts = [
            self._best(part, depth + 1) if part.strip() else (part, 0, 0)
            for part in (before, inside, after)
        ]
        _, left, doubt = _joined(parts, "")
        return f"{parts[0][0]} ({parts[1][0]}){parts[2][0]}", left, doubt

    def _by_figures(self, text: str, depth: int) -> Answer | None:
        """Return a text that has figures with their units before or behind it."""
        words = text.split(" ")
        first, last = 0, len(words)
        while first < last and not unknown_letters(words[first]):
            first += 1
        while last > first and not unknown_letters(words[last - 1]):
            last -= 1
        if not (first or last < len(words)) or first == last:
            return None
        new, left, doubt = self._best(" ".join(words[first:last]), depth + 1)
        if left:
            return None
        around = [self._figures(" ".join(part)) for part in (words[:first], words[last:])]
        return " ".join(part for part in (around[0], new, around[1]) if part), 0, doubt

    def _by_ends(self, text: str, depth: int) -> Answer | None:
        """Return a text whose stop, mark or bracket at the ends is no part of what is known."""
        body = text.rstrip(".:,;!? ")
        if body == text:
            body = text.strip("()[]\"'\u201c\u201d+\u2212–-, ")
        if body == text or not body:
            return None
        at = text.index(body)
        new, left, doubt = self._best(body, depth + 1)
        return f"{text[:at]}{new}{text[at + len(body) :]}", left, doubt

    def _figures(self, text: str) -> str:
        """Return a text with its figures and months as the language writes them."""
        found = month_pattern().sub(
            lambda month: self._catalogue.exact.get(month[1], month[1]), text
        )
        return localised(found, self.tongue)


def _better(best: Answer | None, new: Answer) -> Answer:
    """Return the reading that leaves less, then takes less for a name; the first of equals."""
    return new if best is None or new[1:] < best[1:] else best


def _joined(parts: Sequence[Answer], joint: str) -> Answer:
    """Return parts as one text."""
    words = joint.join(part[0] for part in parts)
    return words, sum(part[1] for part in parts), sum(part[2] for part in parts)


def _is_name(words: str) -> bool:
    """Return whether words may be a name: few of them, and none that only a sentence has."""
    parts = words.split(" ")
    has_none = not any(part.strip(".,;:()") in _OF_SENTENCES for part in parts)
    is_set_apart = len(parts) == 1 or not words[0].islower()
    is_short = len(parts) <= _MOST_NAME and not SENTENCE_END.search(words)
    return has_none and is_set_apart and is_short


@cache
def voice_of(code: str, reads: str = "") -> Voice:
    """Return the voice of a language; its catalogue is read when it is first used.

    Parameters
    ----------
    code : str
        Code of the language.
    reads : str
        Measures that the figures are in before they are said; empty as the record keeps them.
    """
    tongue = tongue_of(code)
    if tongue.is_trial:
        change: Callable[[str], str] = leftward if tongue.is_leftward else wrapped
        known = load(TEMPLATE) if TEMPLATE.exists() else {}
        texts: Mapping[str, str] = {text: change(text) for text in known}
    else:
        file = catalogue_file(code)
        texts = load(file) if file.exists() else {}
    return Voice(tongue, {**turned_texts(texts, tongue), **texts} if reads == US else texts)
