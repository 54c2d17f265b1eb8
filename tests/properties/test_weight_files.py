"""Files of weights: any bytes are read or refused, and what was written is read back exactly."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.errors import BadInput
from fillwright.records.columns import grid_from_bytes
from fillwright.records.weights import empties, weights

PIECES = st.sampled_from(
    ["net", "gross (g)", "tare", "weight", "250.1", "250,1", "1.234,5", "1,234", "18 g", "", "x",
     '"', '"a;b"', "-5", "1e9", "#N/A", "# r", "mean", "\u2212 3", ",", ";", "\t", "\n", " "]
)  # fmt: skip
FILES = st.one_of(
    st.binary(max_size=60),
    st.lists(PIECES, max_size=24).map(lambda parts: "".join(parts).encode("utf-8")),
    st.lists(PIECES, max_size=24).map(lambda parts: "".join(parts).encode("utf-16")),
    st.binary(max_size=60).map(lambda tail: b"PK\x03\x04" + tail),
)


@settings(max_examples=300)
@given(data=FILES, is_net=st.booleans())
def test_any_bytes_are_read_or_refused(data, is_net):
    """A file is weights, each from 0 g up, or a refusal that names the file."""
    for read in (lambda grid: weights(grid, is_net=is_net).net_g, empties):
        message, found = "", ()
        try:
            found = read(grid_from_bytes(data, source="w.csv"))
        except BadInput as error:
            message = error.message

        assert message == "" or (message.startswith("w.csv") and message.endswith("."))
        assert all(value >= 0 for value in found)


@settings(max_examples=150)
@given(
    tenths=st.lists(st.integers(0, 99_999), min_size=1, max_size=12),
    between=st.sampled_from([",", ";", "\t", "|"]),
    comma=st.booleans(),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le"]),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    blank=st.booleans(),
)
def test_what_was_written_is_read_back(tenths, between, comma, encoding, end, blank):
    """Tenths of a gram in any dialect come back exactly, in order."""
    values = [Decimal(tenth) / 10 for tenth in tenths]
    cells = [f"{value:.1f}".replace(".", "," if comma else ".") for value in values]
    if comma and between == ",":
        cells = [f'"{cell}"' for cell in cells]
    lines = [f"no{between}net (g)", *(f"{n}{between}{cell}" for n, cell in enumerate(cells, 1))]
    text = (end * 2 if blank else end).join(lines) + end

    found = weights(grid_from_bytes(text.encode(encoding), source="w.csv"))

    assert found.net_g == tuple(values)
