"""Read machine profiles; a broken file of the user is told and leaves the shipped ones working."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from fillwright.errors import KnowledgeError
from fillwright.knowledge.procedures_check import check_steps
from fillwright.knowledge.procedures_types import (
    Profile,
    SealPlace,
    Step,
    SuctionRow,
    SuctionTest,
)

__all__ = ["Profiles", "parse_profile", "profiles", "shipped_profiles"]

_LARGEST_BYTES: Final = 1_000_000
_STATES: Final = ("pull", "push", "none", "any")
_PLACES: Final = ("rear_recharge", "front_recharge", "rear_delivery", "front_delivery")
_WORDS: Final = ("do", "caution", "trap", "tool", "part", "undoes", "proof", "reading", "limit")
_FLAGS: Final = ("two_person", "optional", "isolated", "air_on")
_KNOWN: Final = frozenset({"id", "after", "minutes", "seal", *_WORDS, *_FLAGS})
_SEAL_WORDS: Final = ("position", "kind", "size", "material", "side")


@dataclass(frozen=True, slots=True, kw_only=True)
class Profiles:
    """All profiles that can be used, and one sentence for each file that cannot."""

    by_name: Mapping[str, Profile]
    problems: tuple[str, ...] = ()


@cache
def shipped_profiles() -> Mapping[str, Profile]:
    """Return the profiles that come with the program.

    Returns
    -------
    Mapping of str to Profile
        By name; read once.
    """
    folder = files("fillwright.knowledge") / "data" / "procedures"
    found = [
        parse_profile(file.read_text("utf-8"), file=file.name)
        for file in sorted(folder.iterdir(), key=lambda file: file.name)
        if file.name.endswith(".toml")
    ]
    return MappingProxyType({profile.name: profile for profile in found})


def profiles(folder: Path | None) -> Profiles:
    """Return the shipped profiles and those of a folder of the user.

    Parameters
    ----------
    folder : Path or None
        Where the user's files are; none, or not there, is no fault.

    Returns
    -------
    Profiles
        A file that cannot be used is named in `problems` and changes nothing.
    """
    found = dict(shipped_profiles())
    problems = []
    paths = sorted(folder.glob("*.toml")) if folder is not None and folder.is_dir() else []
    for path in paths:
        try:
            if path.stat().st_size > _LARGEST_BYTES:
                raise KnowledgeError(f"{path.name}: over a megabyte; split it.")  # noqa: TRY301
            profile = parse_profile(path.read_text("utf-8"), file=path.name)
        except (KnowledgeError, OSError, UnicodeDecodeError) as error:
            words = str(error)
            problems.append(words if path.name in words else f"{path.name}: {words}")
            continue
        found[profile.name] = profile
    return Profiles(by_name=MappingProxyType(found), problems=tuple(problems))


def parse_profile(text: str, *, file: str) -> Profile:
    """Return the profile that a TOML text holds.

    Parameters
    ----------
    text : str
        Content of the file.
    file : str
        Its name, for messages.

    Returns
    -------
    Profile
        Checked.

    Raises
    ------
    KnowledgeError
        If it cannot be used; says file, line and mend.
    """
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise KnowledgeError(f"{file}: not readable as TOML: {error}.") from error
    reader = _Reader(text, file)
    facts = reader.facts(data)
    steps, lines, names = [], {}, {}
    at = 0
    for procedure in reader.rows(data, "procedure"):
        key = str(procedure.get("id", ""))
        names[key] = str(procedure.get("name", key))
        for row in reader.rows(procedure, "step"):
            line = reader.step_lines[at] if at < len(reader.step_lines) else 1
            at += 1
            step = reader.step(row, key, facts, line)
            if step.id in lines:
                raise reader.wrong(line, f"the step {step.id!r} is there twice", "rename one")
            lines[step.id] = line
            steps.append(step)
    check_steps(steps, lines, file=file)
    return Profile(
        name=facts["name"],
        file=file,
        facts=MappingProxyType(facts),
        procedures=MappingProxyType(names),
        steps=tuple(steps),
        suction=reader.suction(data),
    )


class _Reader:
    """Reads one file and knows its lines."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self.lines = text.splitlines()
        self.step_lines = self._starts("[[procedure.step]]")
        self.row_lines = self._starts("[[suction_test.row]]")

    def _starts(self, header: str) -> list[int]:
        """Return the numbers of the lines that open a table."""
        return [at for at, line in enumerate(self.lines, start=1) if line.strip() == header]

    def wrong(self, line: int, what: str, mend: str) -> KnowledgeError:
        """Return the error for a place of the file."""
        return KnowledgeError(f"{self.file}, line {line}: {what}; {mend}.")

    def line_of(self, start: str) -> int:
        """Return the number of the first line that starts so, or 1."""
        found = (at for at, line in enumerate(self.lines, start=1) if line.startswith(start))
        return next(found, 1)

    def rows(self, data: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
        """Return a list of tables, or refuse what is none."""
        found = data.get(name)
        if not isinstance(found, list) or not all(isinstance(row, dict) for row in found):
            raise self.wrong(1, f"there is no [[{name}]]", "compare the shipped file")
        return found

    def facts(self, data: Mapping[str, Any]) -> dict[str, str]:
        """Return what differs from make to make."""
        found = data.get("profile")
        if not isinstance(found, dict) or not str(found.get("name", "")).strip():
            raise self.wrong(
                self.line_of("[profile]"), "the profile has no name", 'add name = "..."'
            )
        return {key: str(value) for key, value in found.items()}

    def step(self, row: dict[str, Any], procedure: str, facts: dict[str, str], line: int) -> Step:
        """Return one step."""
        name = row.get("id")
        if not isinstance(name, str) or not re.fullmatch(r"[a-z][a-z0-9_]*", name):
            raise self.wrong(line, "a step has no id", "give it one in small letters")
        unknown = sorted(set(row) - _KNOWN)
        if unknown:
            raise self.wrong(line, f"{name} has {unknown[0]!r}", "it is not known here; mend it")
        after, minutes = row.get("after"), row.get("minutes")
        if not isinstance(after, list) or not all(isinstance(item, str) for item in after):
            raise self.wrong(line, f"{name} has no list `after`", "write after = [] for none")
        if not isinstance(minutes, int) or isinstance(minutes, bool) or minutes < 0:
            raise self.wrong(line, f"{name} has no whole minutes", "write minutes = 5")
        words = {word: self._word(row, word, name, facts, line) for word in _WORDS}
        if not words["do"]:
            raise self.wrong(line, f"{name} does not say what to do", 'add do = "..."')
        if words["proof"] not in ("tick", "photo", "reading", "count"):
            raise self.wrong(line, f"{name} has no proof", "use tick, photo, reading or count")
        flags = {flag: row.get(flag, False) is True for flag in _FLAGS}
        seals = row.get("seal", [])
        if not isinstance(seals, list):
            raise self.wrong(line, f"the seals of {name} are no list", "write seal = [{ ... }]")
        return Step(
            id=name,
            procedure=procedure,
            after=tuple(after),
            minutes=minutes,
            seals=tuple(self._seal(seal, name, line) for seal in seals),
            is_two_person=flags["two_person"],
            is_optional=flags["optional"],
            is_isolated=flags["isolated"],
            brings_air_on=flags["air_on"],
            **words,
        )

    def _word(
        self, row: dict[str, Any], word: str, name: str, facts: dict[str, str], line: int
    ) -> str:
        """Return one text of a step, with the facts of the profile put in."""
        text = row.get(word, "")
        if not isinstance(text, str):
            raise self.wrong(line, f"{word} of {name} is no text", "put it in quotes")
        for fact in re.findall(r"\{(\w+)\}", text):
            if fact not in facts:
                raise self.wrong(line, f"{name} asks for {fact!r}", "add it to [profile]")
            text = text.replace("{" + fact + "}", facts[fact])
        return text[:1].upper() + text[1:] if word in ("do", "trap", "caution") else text

    def _seal(self, row: object, name: str, line: int) -> SealPlace:
        """Return one seal."""
        words = row if isinstance(row, dict) else {}
        missing = [word for word in _SEAL_WORDS if not str(words.get(word, "")).strip()]
        if missing:
            raise self.wrong(line, f"a seal of {name} has no {missing[0]}", "add it")
        count = words.get("count", 1)
        if not isinstance(count, int) or count < 1:
            raise self.wrong(line, f"a seal of {name} has no count", "write count = 1")
        return SealPlace(count=count, **{word: str(words[word]) for word in _SEAL_WORDS})

    def suction(self, data: Mapping[str, Any]) -> SuctionTest:
        """Return the table of the suction test."""
        table = data.get("suction_test")
        rows = self.rows(table if isinstance(table, dict) else {}, "row")
        found = []
        for at, row in enumerate(rows):
            line = self.row_lines[at] if at < len(self.row_lines) else 1
            odd = [place for place in _PLACES if row.get(place) not in _STATES]
            if odd:
                raise self.wrong(line, f"{odd[0]} is none of the states", "use pull, push, none")
            found.append(
                SuctionRow(
                    rear_recharge=row["rear_recharge"],
                    front_recharge=row["front_recharge"],
                    rear_delivery=row["rear_delivery"],
                    front_delivery=row["front_delivery"],
                    meaning=str(row.get("meaning", "")),
                    findings=MappingProxyType(dict(row.get("findings", {}))),
                    suspects=tuple(row.get("suspects", ())),
                )
            )
        if not found:
            raise self.wrong(self.line_of("[suction_test]"), "it has no rows", "add the good row")
        return SuctionTest(rows=tuple(found))
