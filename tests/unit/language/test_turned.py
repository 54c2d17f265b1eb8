"""German and US customary units at once: a figure is turned first, then the sentence is said."""

from __future__ import annotations

import pytest

from fillwright.language import Way, page, said
from fillwright.language.measures import US
from fillwright.language.tongues import tongue_of
from fillwright.language.turned import turned_texts

BOTH = Way(language="de", measures=US)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("If hot, let it cool below 40 °C.", "Wenn heiß, unter 104 °F abkühlen lassen."),
        ("Gauge at 5 to 6 bar.", "Manometer auf 73 bis 87 psi."),
        ("Below 5 bar", "Unter 73 psi"),
        ("doses of 100 mL to 1.4 L", "Dosen von 3,380 fl oz bis 47,3 fl oz"),
        ("The job expects 20 °C.", "Der Auftrag erwartet 68 °F."),
        ("Hold the 5 mm bar beside the lip.", "Den 0,20-in-Balken neben den Rand halten."),
        ("Numbers are bores in mm.", "Zahlen sind Bohrungen in Zoll."),
        ("Weigh the 500 g check weight.", "Das Prüfgewicht von 500 g (17,635 oz) wiegen."),
        ("Left empty: 20.", "Leer: 68."),
        ("A kilogram of product.", "Ein Pfund (lb) Produkt."),
        ("250.0 g", "8,820 oz"),
    ],
)
def test_a_sentence_with_a_turned_figure_is_said(text, expected):
    """Whole figures, ranges, patterns, units alone, in words, and beside a size that is a name."""
    assert said(text, BOTH) == expected


def test_a_page_is_said_with_its_figures_turned():
    """Also where the figure stands in a tag of its own."""
    html = '<html lang="en" dir="ltr"><p>Last shot: <b>250.0 g</b></p><p>Gauge at 5 to 6 bar.</p>'

    said_page = page(html, BOTH)

    assert "<p>Letzter Schuss: <b>8,820 oz</b></p>" in said_page
    assert "<p>Manometer auf 73 bis 87 psi.</p>" in said_page


@pytest.mark.parametrize(
    ("source", "target", "expected"),
    [
        (
            "From {low_g} g to {high_g} g, {count} times.",
            "{count}-mal, bis {high_g} g von {low_g} g.",
            (
                "From {low_g} {us_unit_0_1} to {high_g} {us_unit_0_2}, {count} times.",
                "{count}-mal, bis {high_g} {us_unit_0_2} von {low_g} {us_unit_0_1}.",
            ),
        ),
        (
            "Volume at 20 °C, at 20 °C.",
            "Volumen bei 20 °C, bei 20 °C.",
            (
                "Volume at {us_figure_1} {us_unit_16_2}, at {us_figure_3} {us_unit_16_4}.",
                "Volumen bei {us_figure_1} {us_unit_16_2}, bei {us_figure_3} {us_unit_16_4}.",
            ),
        ),
        (
            "Falls by 0.5 bar, 2 times.",
            "Fällt 2-mal um 0,5 bar.",
            (
                "Falls by {us_figure_1} {us_unit_12_2}, 2 times.",
                "Fällt 2-mal um {us_figure_1} {us_unit_12_2}.",
            ),
        ),
        ("Weigh {count} jars.", "{count} Gläser wiegen.", None),
        ("Below 5 bar", "Zu wenig Druck", None),
    ],
)
def test_each_figure_and_unit_finds_its_place(source, target, expected):
    """Whatever their order; a text without any, or whose translation has none, has no form."""
    found = turned_texts({source: target}, tongue_of("de"))

    assert found == ({} if expected is None else dict([expected]))
