"""Results in Python: a dict that prints in lines and stands in a notebook as a table."""

from __future__ import annotations

import json

import numpy as np
import pytest

from fillwright import as_table, ask
from fillwright.questions.answered import Answer
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.trim import ShotGroup
from fillwright.science.wetpath import Piece, pressure_loss


def test_an_answer_is_a_dict_that_prints_what_was_found_first():
    """Equal to its dict, ready for JSON; the reason leads, what it rests on comes last."""
    found = ask("tolerance-factor", {"n": 4, "content": 0.99, "confidence": 0.95, "sides": 2})

    assert found == found.to_dict()
    assert type(found.to_dict()) is dict
    assert json.loads(json.dumps(found)) == found.to_dict()
    lines = str(found).splitlines()
    assert lines[0].startswith("because ")
    assert lines[1].split() == ["k", "8.22066"]
    assert lines[-1].startswith("version ")


def test_a_notebook_shows_a_table_and_obeys_nothing_in_it():
    """Words are text, never markup."""
    shown = Answer(
        verdict="no", note="<script>alert(1)</script>", fits=True, none=None
    )._repr_html_()

    assert shown.startswith("<table><tr>")
    assert "<script>" not in shown
    assert "&lt;script&gt;" in shown
    assert "yes" in shown
    assert "not applicable" in shown


def test_long_lists_are_shortened_only_in_words():
    """Eight are shown, all are kept; sentences stand behind one another."""
    found = Answer(values=list(range(20)), notes=["One.", "Two."], keys=["a", "b"], of={"x": 0.5})

    assert "and 12 more" in str(found)
    assert len(found["values"]) == 20
    assert "One. Two." in str(found)
    assert "a; b" in str(found)
    assert "x: 0.5" in str(found)


def test_results_of_the_science_become_plain_python():
    """Dataclasses, arrays and what lies in them; anything else is refused by name."""
    flows = np.array([1e-5, 2e-5])
    loss = as_table(
        pressure_loss((Piece(bore=0.01, length=0.1),), flows, FlowCurve(consistency=1.0), 1000.0)
    )

    assert isinstance(loss["total"], list)
    assert len(loss["by_piece"][0]) == 2
    assert as_table({"stay": ShotGroup(setting=1.0, readings=(1.0,))})["stay"]["readings"] == [1.0]
    with pytest.raises(TypeError, match="not int"):
        as_table(3)
