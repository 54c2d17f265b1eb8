"""Any cut of the bytes gives the same weighings, and noise never raises."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from fillwright.scale.form_file import form_from_toml
from fillwright.scale.lines import BadLine, LineForm, LineReader, RawWeighing, read_line

UNITS = st.sampled_from(["g", "kg", "mg", "oz", "lb"])
RESTS = {None: "", True: "steady", False: "moving"}
VALUES = st.decimals(
    min_value=-99999, max_value=99999, allow_nan=False, allow_infinity=False, places=3
)
ALPHABET = st.sampled_from(list(b"0123456789+-., gksteadymovingnetgross:;\r\n\x00\x02\x7f\xff"))
NOISE = st.one_of(st.binary(max_size=200), st.lists(ALPHABET, max_size=200).map(bytes))


@st.composite
def good_lines(draw):
    """An invented line and what it says."""
    value = draw(VALUES)
    unit = draw(UNITS)
    is_stable = draw(st.sampled_from(list(RESTS)))
    basis = draw(st.sampled_from([None, "gross", "net"]))
    number = f"{abs(value):f}".replace(".", draw(st.sampled_from([".", ","])))
    sign = "-" if value.is_signed() else draw(st.sampled_from(["", "+"]))
    gap = " " * draw(st.integers(0, 3))
    words = [draw(st.sampled_from(["", "weight", "wt:"])), basis or "", f"{sign}{gap}{number}"]
    text = " ".join(words) + gap + unit + " " + RESTS[is_stable]
    raw = draw(st.sampled_from([text, text.upper()])).encode()
    return raw, RawWeighing(value=value, unit=unit, is_stable=is_stable, basis=basis, raw=raw)


@st.composite
def cuts(draw, data):
    """The same bytes in pieces, some of them empty."""
    places = sorted(draw(st.lists(st.integers(0, len(data)), max_size=20)))
    return [data[a:b] for a, b in zip([0, *places], [*places, len(data)], strict=True)]


@given(st.lists(good_lines(), max_size=6), st.sampled_from([b"\r\n", b"\n", b"\r", b"\n\n\r"]))
def test_what_was_sent_is_what_is_read(lines, end):
    """Every line of the grammar comes out with its exact value, in order, none doubled."""
    reader = LineReader()

    found = reader.feed(b"".join(raw + end for raw, _ in lines))

    assert found == [meant for _, meant in lines]
    assert reader.bad_count == 0


@given(st.data(), st.lists(st.one_of(good_lines().map(lambda line: line[0]), NOISE), max_size=6))
def test_any_cut_of_the_bytes_gives_the_same(data, pieces):
    """Whole, byte by byte or in any pieces: the same weighings and the same bad lines."""
    stream = b"\r\n".join([*pieces, b""])
    whole, single, cut = LineReader(), LineReader(), LineReader()

    expected = whole.feed(stream)
    one_by_one = [line for byte in stream for line in single.feed(bytes([byte]))]
    in_pieces = [line for piece in data.draw(cuts(stream)) for line in cut.feed(piece)]

    assert one_by_one == expected
    assert in_pieces == expected
    assert whole.bad_count == single.bad_count == cut.bad_count


@given(st.lists(NOISE, max_size=10), st.integers(1, 40), st.booleans())
def test_noise_never_raises_and_is_never_held(pieces, longest, is_mid_line):
    """Whatever comes, the answer is values, each within the limit; a good line then is read."""
    reader = LineReader(LineForm(longest=longest))
    reader.restart(is_mid_line=is_mid_line)

    found = [line for piece in pieces for line in reader.feed(piece)]
    last = reader.feed(b"\n1 g\n")[-1]

    assert all(len(line.raw) <= longest for line in found)
    assert all(isinstance(line, RawWeighing | BadLine) for line in found)
    assert last == (
        RawWeighing(value=Decimal(1), unit="g", is_stable=None, basis=None, raw=b"1 g")
        if longest >= 3
        else BadLine(raw=b"1 g"[:longest], why=f"The line is longer than {longest} bytes.")
    )


@given(good_lines(), st.data())
def test_a_cut_line_is_never_another_weight(line, data):
    """Its beginning alone is bad or keeps the value; its tail after a restart is nothing."""
    raw, meant = line
    place = data.draw(st.integers(0, len(raw)))
    beginning = read_line(raw[:place])
    reader = LineReader()
    reader.restart(is_mid_line=True)

    assert reader.feed(raw[place:] + b"\r\n") == []
    if isinstance(beginning, RawWeighing):
        assert (beginning.value, beginning.unit) == (meant.value, meant.unit)


@given(NOISE)
def test_no_weight_comes_from_a_line_with_two_numbers(noise):
    """Whatever else stands on the line, two numbers are never a weight."""
    line = read_line(b"250.1 g " + noise.replace(b"\r", b"").replace(b"\n", b"") + b" 7")

    assert isinstance(line, BadLine)


SHAPES = form_from_toml(
    """
[[line]]
shape = "{rest}, {basis}, {value} {unit}"
[[line]]
shape = "{value} {unit}"
[words]
still = ["ST"]
moving = ["US"]
gross = ["GS"]
net = ["NT"]
"""
)
SHAPED = st.lists(
    st.one_of(
        st.tuples(
            st.sampled_from(["ST,", "us,", ""]),
            st.sampled_from(["GS,", "nt,", ""]),
            st.sampled_from(["+", "- ", " ", ""]),
            st.sampled_from(["1", "12.5", ".5", "7.", "1,5", "1.2.3", "12345678901234567"]),
            st.sampled_from([" g", "kg", " ML", ""]),
        ).map(lambda parts: "".join(parts).encode()),
        NOISE.map(lambda noise: noise.replace(b"\r", b"").replace(b"\n", b"")),
    ),
    max_size=30,
)


@given(SHAPED)
def test_a_line_read_at_once_is_read_as_the_first_time(lines):
    """What was remembered of lines before never changes what a line says."""
    one = SHAPES.reader()

    for line in lines:
        assert one(line) == SHAPES.reader()(line)


@given(SHAPED)
def test_plain_words_read_at_once_are_read_as_the_first_time(lines):
    """The same for the form that every scale begins with."""
    one = LineForm(unit_if_absent="g").reader()

    for line in lines:
        assert one(line) == read_line(line, LineForm(unit_if_absent="g"))
