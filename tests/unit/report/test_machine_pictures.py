"""Pictures of a machine: the wet path by its pieces, in both palettes, told and tabled."""

from __future__ import annotations

import re

import pytest

from fillwright.jobs.machines.questions import questions_of
from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.records.wetsketch import sketch_of
from fillwright.report.charts import describe, draw, table


@pytest.mark.parametrize("size", ["small", "medium", "large"])
def test_every_piece_is_told_in_the_order_of_the_flow(size):
    """Name and bore of each piece stand in the sentence and in the table, hopper first."""
    machine = shipped_machine(size)
    spec = sketch_of(machine)

    words, rows = describe(spec), table(spec).rows
    names = [piece.name for piece in (*machine.suction, *machine.outward)]

    assert [row[0] for row in rows] == [*names, "Nozzle"]
    assert all(f"{piece.bore_mm:g} mm" in words for piece in machine.suction)
    assert words.index("From the hopper") < words.index("To the nozzle")


@pytest.mark.parametrize("width", [360, 640, 1000])
def test_the_part_in_hand_is_marked_and_nothing_leaves_the_picture(width):
    """For every question the sketch draws inside its own width, the part in hand marked."""
    machine = shipped_machine("medium")

    for question in questions_of(machine):
        drawn = draw(sketch_of(machine, part=question.part, stroke_mm=154.0), for_print=False,
                     width_px=width)  # fmt: skip
        places = [float(x) for x in re.findall(r"[MHL](\d+(?:\.\d)?)", drawn)]
        assert max(places) <= width
        if question.part:
            assert "var(--hand)" in drawn


def test_bores_are_to_one_scale():
    """A bore twice as wide is drawn twice as high."""
    machine = shipped_machine("large")
    drawn = draw(sketch_of(machine), for_print=False, width_px=640)

    boxes = re.findall(r"M([\d.]+) ([\d.]+)H[\d.]+L[\d.]+ [\d.]+V([\d.]+)", drawn)
    # The hopper begins at the very edge of the picture.
    highs = [float(low) - float(top) for left, top, low in boxes if left != "2"]
    outlet, valve = machine.suction[0].bore_mm, machine.suction[2].bore_mm
    assert highs[0] / highs[2] == pytest.approx(float(outlet / valve), rel=0.02)


def test_on_paper_it_is_black_on_white():
    """Printed, no colour of the style sheet is left."""
    drawn = draw(sketch_of(shipped_machine("small"), part="valve"), for_print=True)

    assert "var(" not in drawn
