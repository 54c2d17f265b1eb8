"""Which texts are gathered from code, templates, knowledge and scripts, and in which form."""

from __future__ import annotations

import pytest

from fillwright.language.extract import changed_places, merged, template_of
from fillwright.language.from_data import gather_knowledge, gather_script
from fillwright.language.from_pages import gather_page
from fillwright.language.from_python import gather_python
from fillwright.language.gathered import Gathered, is_text


def _texts(gather, source):
    found = Gathered()
    gather(source, "here", found)
    return [text for text, _, _ in found]


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ('x = f"Weigh {job.count} jars."', ["Weigh {count} jars."]),
        ('x = f"{a.name} of {b.name}, the last."', ["{a_name} of {b_name}, the last."]),
        (
            'def f(n):\n    are = "is" if n == 1 else "are"\n    return f"There {are} {n} left."',
            ["is", "are", "There is {n} left.", "There are {n} left."],
        ),
        ('x = "One thing. And another."', ["One thing.", "And another."]),
        ('if x == "Not a text":\n    pass', []),
        ('"""A docstring of a module."""', []),
        ('y = re.compile("Any [a-z]+ here")', []),
        ('y = table["Some key here"]', []),
        ('y = {"a key of it": "A text of it"}', ["A text of it"]),
        ('WORDS = {"kept": "kept"}', ["kept"]),
        ('STATES = {"kept": "kept"}', []),
        ('raise BadInput(f"{name} is missing. Type it.")', ["{name} is missing.", "Type it."]),
        ('x = "Carry" + " on, " + who', ["Carry on, {who}"]),
    ],
)
def test_code(source, expected):
    """Sentences with named places, each form of a choice; nothing that only programs read."""
    assert _texts(gather_python, source) == expected


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("<p>Weigh {{ count }} jars.</p>", ["Weigh {count} jars."]),
        ("<p><b>Missing:</b> {{ act.missing }}</p>", ["<1>Missing:</1> {missing}"]),
        (
            "<p>{% if n == 1 %}One is{% else %}Some are{% endif %} left</p>",
            ["One is left", "Some are left"],
        ),
        ('<a class="btn">{{ "Set it" if x else "Change it" }}</a>', ["Set it", "Change it"]),
        ('<input aria-label="The weight" value="No text">', ["The weight"]),
        ("<p>{{ mark('on') }} Ready</p>", ["Ready"]),
        ('{{ note("is-on", "Go on.") }}', ["Go on."]),
        ("<script>Not a text</script>", []),
        ("{% block page %}settings{% endblock %}", []),
    ],
)
def test_templates(source, expected):
    """A sentence with its tags is one text; a choice gives one for each branch."""
    assert _texts(gather_page, source) == expected


def test_knowledge_and_scripts():
    """Texts but no keys and sources; what a script hands to its function."""
    table = 'name = "Drips"\nkind = "some kind"\nsays = "a thin product"\nsource = "A book"'

    assert _texts(gather_knowledge, table) == ["Drips", "a thin product"]
    assert _texts(gather_script, 'say(inWords("Type it.")); x = "Not this one"') == ["Type it."]


@pytest.mark.parametrize(
    "text", ["/job/0101", "a_key", "application/json", "%d %b", "--flag", "<svg class='x'>", "NE"]
)
def test_what_programs_read_is_no_text(text):
    """Addresses, keys, types, forms of dates, options, tags, codes."""
    assert not is_text(text)


@pytest.mark.parametrize(
    ("source", "target", "told"),
    [
        ("{a} of {b}", "{b} zu {a}", ""),
        ("{a} of {b}", "{b}", "left out: {a}"),
        ("{a}", "{a} {x}", "not in the text: {x}"),
        ("{n} {container_word}s", "{n} Gebinde", ""),
        ("<1>a</1> b", "b <1>a</1>", ""),
        ("<1>a</1> b", "a b", "marks <1> </1> must all stand"),
    ],
)
def test_places_of_a_translation_are_held_against_its_text(source, target, told):
    """Each place stands; a noun may be said in another way; marks stand all."""
    assert changed_places(source, target) == told


def test_a_changed_text_keeps_its_translation_as_fuzzy():
    """The one most like it; what nobody says any more is kept as obsolete."""
    old = template_of(_gathered("Turn the wheel up to the mark.", "Quite something else."))
    old["Turn the wheel up to the mark."].string = "Rad bis zur Marke drehen."
    old["Quite something else."].string = "Etwas anderes."

    new = merged(old, template_of(_gathered("Turn the wheel up to that mark.")))

    assert new["Turn the wheel up to that mark."].string == "Rad bis zur Marke drehen."
    assert new["Turn the wheel up to that mark."].fuzzy
    assert list(new.obsolete) == ["Quite something else."]


def _gathered(*texts):
    found = Gathered()
    for text in texts:
        found.add(text, "here")
    return found
