"""Learning: from lines seen while three things were put on, the form that reads them all."""

from __future__ import annotations

from decimal import Decimal
from functools import reduce
from operator import xor

import pytest

from fillwright.scale.check_marks import CheckRule
from fillwright.scale.form_file import form_from_toml, form_to_toml
from fillwright.scale.learning import SeenLine, learn
from fillwright.scale.lines import BadLine, RawWeighing

# All lines here are invented.
LOADS = ("250.1", "1033.4", "18.2")


def session(write, loads=LOADS):
    """Lines of an empty pan, and of each load put on and taken off again, ten a second."""
    seen = []

    def send(value, *, at_rest):
        raw = write(Decimal(value).quantize(Decimal("0.1")), at_rest, len(seen))
        seen.append(SeenLine(seconds=len(seen) / 10, raw=raw))

    for _ in range(8):
        send("0", at_rest=True)
    for load in loads:
        for share in ("0.2", "0.7", "1.1"):
            send(Decimal(load) * Decimal(share), at_rest=False)
        send(load, at_rest=False)
        for _ in range(8):
            send(load, at_rest=True)
        for share in ("0.7", "0.2"):
            send(Decimal(load) * Decimal(share), at_rest=False)
        for _ in range(8):
            send("0", at_rest=True)
    return seen


def words(value, at_rest, _):
    """A mark of rest, gross, sign and unit."""
    return b"%s,GS,%+9.1f g" % (b"ST" if at_rest else b"US", value)


def bare(value, _at_rest, _count):
    """Nothing but the number."""
    return b"%9.1f" % value


def only_at_rest(value, at_rest, _):
    """The unit is there only at rest."""
    return b"%9.1f %s" % (value, b"g" if at_rest else b"")


def comma(value, _at_rest, _count):
    """Kilograms with a decimal comma, net."""
    return (b"N %9.4f kg" % (value / 1000)).replace(b".", b",")


def doubt(value, at_rest, _):
    """A question mark while it moves."""
    return b"%+8.1f g%s" % (value, b"" if at_rest else b" ?")


def three(value, at_rest, _):
    """Gross, tare and net on one line, a star at rest."""
    star = b" *" if at_rest else b""
    return b"G %8.1f g T %6.1f g N %8.1f g%s" % (value + 20, 20, value, star)


def letters(value, at_rest, _):
    """The same letter twice at rest."""
    return b"S %s %10.1f g" % (b"S" if at_rest else b"D", value)


def counted(value, _at_rest, count):
    """A counter and the time of day before the weight."""
    return b"%04d 12:%02d:%02d %8.1f g" % (count, count // 600, count // 10 % 60, value)


def checked(value, at_rest, _):
    """Two hexadecimal digits of an exclusive or at the end."""
    body = b"\x02%s%+9.1fg" % (b"A" if at_rest else b"B", value)
    return body + b"%02X" % reduce(xor, body)


def volume(value, _at_rest, _count):
    """A scale that works volumes out."""
    return b"vol %9.1f mL" % value


@pytest.mark.parametrize(
    ("write", "marks_rest", "unit", "basis"),
    [
        (words, True, "g", "gross"),
        (only_at_rest, True, "g", None),
        (comma, False, "kg", "net"),
        (doubt, True, "g", None),
        (three, True, "g", "net"),
        (letters, True, "g", None),
        (counted, False, "g", None),
        (checked, True, "g", None),
        (volume, False, "ml", None),
    ],
)
def test_a_form_reads_every_line_it_was_learnt_from(write, marks_rest, unit, basis):
    """Value, sign, unit, rest and basis of each line come out as they were sent."""
    seen = session(write)

    learnt = learn(seen)

    assert learnt.form is not None, learnt.needs
    assert learnt.loads == 3
    read = learnt.form.reader()
    lines = [read(line.raw) for line in seen]
    assert all(isinstance(line, RawWeighing) for line in lines)
    assert {line.unit for line in lines} == {unit}
    assert {line.basis for line in lines} == {basis}
    factor = 1000 if unit == "kg" else 1
    assert lines[11].value * factor == Decimal(LOADS[0])
    rests = [line.is_stable for line in lines]
    assert rests[:8] == [marks_rest or None] * 8
    assert set(rests) == ({True, False} if marks_rest else {None})


@pytest.mark.parametrize("write", [words, bare, comma, three, checked, counted])
def test_what_was_learnt_survives_as_a_file(write):
    """Written as TOML and read back, a form is the very same."""
    form = learn(session(write), unit="g").form

    assert form_from_toml(form_to_toml(form)) == form


def test_the_step_that_is_missing_is_told():
    """From silence to the third load, each look says what to do next."""
    seen = session(words)
    told = [learn(seen[:count]).needs for count in (0, 6, 20, len(seen) - 30, len(seen))]

    assert told[0].startswith("Nothing has come yet")
    assert told[1] == "Put something on the pan and wait a moment."
    assert told[2] == "Take it off, and put something on 2 times more."
    assert told[3] == "Take it off, and put something on once more."
    assert told[4] == ""


def test_a_unit_that_no_line_names_is_asked_for():
    """The person says it; then the form takes it for every line."""
    seen = session(bare)
    asked = learn(seen)
    assert (asked.form, asked.lacks_unit) == (None, True)

    form = learn(seen, unit="kg").form

    assert form.reader()(b"  12.5").unit == "kg"


def test_noise_is_not_learnt():
    """Bytes of a wrong speed, and text without a number, say so and give no form."""
    noise = [SeenLine(seconds=n / 10, raw=bytes([200, n, 150])) for n in range(1, 60)]
    text = [SeenLine(seconds=n / 10, raw=b"ready") for n in range(60)]

    assert "not plain text" in learn(noise).needs
    assert "No line holds a number" in learn(text).needs


def test_a_scale_that_sends_on_its_key_is_learnt_from_three_presses():
    """Three lines of different things are enough; rest is not looked for."""
    seen = [SeenLine(seconds=5.0 * n, raw=b"W %7.2f g" % v) for n, v in enumerate((10, 20.5, 31))]

    learnt = learn(seen, on_key=True)

    assert learnt.form.reader()(b"W  99.99 g").value == Decimal("99.99")
    assert learn(seen[:2], on_key=True).form is None


def test_a_line_with_a_wrong_check_is_left_out():
    """A form with a check refuses a line in which one digit was changed."""
    form = learn(session(checked)).form
    assert form.check == CheckRule(kind="xor", written="hex")
    good = checked(Decimal("250.1"), at_rest := True, 0)

    assert isinstance(form.reader()(good), RawWeighing)
    assert isinstance(form.reader()(good.replace(b"250.1", b"258.1")), BadLine)
    assert at_rest


def test_plain_words_say_how_lines_are_read():
    """The sentences name value, mark, rest, basis and rate."""
    told = " ".join(learn(session(words)).words)

    assert "The last line says 0.0 g." in told
    assert "decimal mark is a point" in told
    assert "At rest a line looks like 'ST,GS, … g', and 'US,GS, … g' while it moves." in told
    assert "Lines say gross." in told
    assert "about 10 lines a second" in told
