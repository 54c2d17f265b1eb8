"""How a text is said in another language: whole, by its pattern, sentence by sentence."""

from __future__ import annotations

import pytest

from fillwright.language.names import Names
from fillwright.language.tongues import tongue_of
from fillwright.language.voice import Voice

TEXTS = {
    "jar": "Glas",
    "lid": "Deckel",
    "Weigh {count} jars.": "{count} Gläser wiegen.",
    "Weigh {count} jars of {product_name}.": "{count} Gläser {product_name} wiegen.",
    "Aim for {aim_g} g.": "Auf {aim_g} g zielen.",
    "Missing: {what}": "Es fehlt: {what}",
    "Lock the wheel.": "Rad feststellen.",
    "the wheel is loose": "das Rad ist lose",
    ", struck out: {reason}": ", gestrichen: {reason}",
    "kept": "behalten",
    "Carry on": "Weiter",
    "<1>Practice.</1> Nothing leaves the bench.": "<1>Übung.</1> Nichts verlässt den Platz.",
    "Jul": "Juli",
    "{product_name} on {machine_name}": "{product_name} an {machine_name}",
    "and": "und",
    "to do": "zu tun",
    "to {where}": "bis {where}",
    "on": "ein",
    "Nothing is left on the bench.": "Auf dem Platz bleibt nichts.",
    "{what}, lot {lot_code}": "{what}, Los {lot_code}",
    "{word} on {machine_name}, lot {lot_code} (invented)": (
        "{word} an {machine_name}, Los {lot_code} (erfunden)"
    ),
    "Weighed by {person}": "Gewogen von {person}",
    "bench": "Platz",
    "{count} drum": "{count} Fass",
    "Mark the wheel.": "Rad markieren.",
    "{part} names no jars.": "{part} nennt keine Gläser.",
    "By {size} g ({low} to {high}).": "Um {size} g ({low} bis {high}).",
    "{low} to {high} {unit}": "{low} bis {high} {unit}",
    "By {who}": "Von {who}",
    "Short: {numbers}.": "Zu wenig: {numbers}.",
}


@pytest.fixture(scope="module")
def voice():
    """German with a few invented texts."""
    return Voice(tongue_of("de"), TEXTS)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("jar", "Glas"),
        ("Weigh 5 jars.", "5 Gläser wiegen."),
        ("Weigh 5 jars of jar.", "5 Gläser jar wiegen."),
        ("Aim for 250.13 g.", "Auf 250,13 g zielen."),
        ("Aim for 1,250.5 g. Lock the wheel.", "Auf 1.250,5 g zielen. Rad feststellen."),
        ("Missing: jar", "Es fehlt: Glas"),
        ("The wheel is loose.", "Das Rad ist lose."),
        ("jar, lid", "Glas, Deckel"),
        ("jar and lid", "Glas und Deckel"),
        ("kept, struck out: spilt", "behalten, gestrichen: spilt"),
        ("Jar 12", "Glas 12"),
        ("0.985 g/mL", "0,985 g/mL"),
        ("at 20:15", "at 20:15"),
        ("2026-11-29 and 192.168.0.1", "2026-11-29 und 192.168.0.1"),
        ("clause 8.1", "clause 8.1"),
        ("3 Jul 12:05", "3 Juli 12:05"),
        ("Quite unknown to all.", "Quite unknown to all."),
        ("Oat wash on East filler", "Oat wash an East filler"),
        (", to do", ", zu tun"),
        ("By 2.5 g (2.1 to 2.9). Short: 84.", "Um 2,5 g (2,1 bis 2,9). Zu wenig: 84."),
        (
            "Lock the wheel. Nothing is left on the bench.",
            "Rad feststellen. Auf dem Platz bleibt nichts.",
        ),
        ("1 of it hangs on how fast hands are", "1 of it hangs on how fast hands are"),
        (
            "jar on West filler, lot NE-0104 (invented)",
            "Glas an West filler, Los NE-0104 (erfunden)",
        ),
        ("Missing: quite unknown", "Missing: quite unknown"),
        *[(text, text) for text in ("All that was weighed before is kept on it.",)],
    ],
)
def test_a_text_is_said_as_the_catalogue_has_it(voice, text, expected):
    """Exact, by pattern, in parts; figures with a decimal comma; unknown texts as they were."""
    assert voice.said(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("A. Bench", "A. Bench"),
        ("Weighed by A. Bench", "Gewogen von A. Bench"),
        ("A. Bench, 12:05", "A. Bench, 12:05"),
        ("1 drum, C. Drum", "1 Fass, C. Drum"),
        ("jar, Oil 1.5", "Glas, Oil 1.5"),
        ("Missing: Lid and jar", "Es fehlt: Lid and jar"),
        ("Lid and jar on A. Bench", "Lid and jar an A. Bench"),
        ("Mark the wheel.", "Rad markieren."),
        ("Weighed by Mark", "Gewogen von Mark"),
    ],
)
def test_names_stay_as_they_were_typed(voice, text, expected):
    """Whatever words of the program they are made of, also within a sentence."""
    names = Names({"A. Bench", "C. Drum", "Oil 1.5", "Lid and jar", "Mark"})

    assert voice.said(text, names) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("'abc' names no jars.", "'abc' nennt keine Gläser."),
        ("'jar' names no jars.", "'jar' nennt keine Gläser."),
        ('"it\'s on" names no jars.', '"it\'s on" nennt keine Gläser.'),
        ("abc names no jars.", "abc names no jars."),
    ],
)
def test_what_stands_in_quotes_stays_as_it_was_typed(voice, text, expected):
    """Whatever its place is called, and though it may be a word of the program."""
    assert voice.said(text) == expected


def test_a_sentence_with_marks_is_one_text(voice):
    """Inline tags stand as numbers in it; one that is not known as a whole is none."""
    known = voice.with_marks("<1>Practice.</1> Nothing leaves the bench.")

    assert known == "<1>Übung.</1> Nichts verlässt den Platz."
    assert voice.with_marks("<1>Carry on</1> with it") is None


def test_what_is_left_is_counted(voice):
    """Letters of words that no entry holds; figures, units and codes are none."""
    assert voice.left("Weigh 5 jars.") == 0
    assert voice.left("NE-0101, 250 mL") == 0
    assert voice.left("Quite unknown") == len("Quiteunknown")
