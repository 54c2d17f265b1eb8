"""Files of weights from bytes to columns, and what is refused by file, row and column."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from zipfile import ZipFile

import openpyxl
import pytest

from fillwright.errors import BadInput
from fillwright.records.columns import Role, columns, grid_from_bytes, grid_from_text
from fillwright.records.figures import Mark
from fillwright.records.weights import empties, weights

TWO = (Decimal("250.1"), Decimal("249.8"))


def read(text, **options):
    """Return the net weights of a text or of bytes."""
    data = text if isinstance(text, bytes) else text.encode()
    return weights(grid_from_bytes(data, source="w.csv"), **options)


@pytest.mark.parametrize(
    "data",
    [
        "net (g)\n250.1\n249.8\n",
        "net (g)\r\n250.1\r\n249.8",
        "net (g)\r250.1\r249.8\r",
        "\ufeffnet [g]\n250.1\n249.8\n",
        "net_g\n\n250.1\n\n\n249.8\n\n",
        "# a remark\nnet\n250.1\n# another\n249.8\n",
        "no;net (g);note\n1;250,1;x\n2;249,8;y\n",
        "no\tnet (g)\n1\t250,1\n2\t249,8\n",
        "no|net (g)\n1|250.1\n2|249.8\n",
        "no,net (g)\n1,250.1\n2,249.8\n",
        'no,net (g)\n1,"250,1"\n2,"249,8"\n',
        "sep=;\nnet;x\n250,1;1\n249,8;2\n",
        "net\n250,1\n249,8\n",
        "net kg\n0.2501\n0.2498\n",
        "net\n250.1 g\n249.8 g\n",
        "net (g),\n250.1,\n249.8,\n",
        "Netto [g];Zeit\n250,1;10:00\n249,8;10:05\n",
        "net (g)\n250.1\n249.8\n".encode("utf-16"),
        "net (g)\n250.1\n249.8\n".encode("utf-16-le"),
        "net (g)\n250.1\n249.8\n".encode("utf-16-be"),
        "net (g);Gef\u00e4\u00df\n250,1;a\n249,8;b\n".encode("cp1252"),
        "net (g)\n250.1\n249.8\n\x1a",
    ],
    ids=lambda data: repr(data)[:40],
)
def test_one_lot_in_many_spellings(data):
    """Separators, encodings, marks, units and blank lines all give the same two weights."""
    assert read(data).net_g == TWO


def test_the_row_is_that_of_the_file():
    """Blank lines and remarks are counted, so that the row can be found in an editor."""
    found = read("net\n\n# remark\n250.1\n\n249.8\n")

    assert [weight.row for weight in found.weights] == [4, 6]


def test_gross_less_an_average_empty():
    """270.1 less 18.2 is 251.9 exactly."""
    found = read("gross (g)\n270.1\n", tare_g=Decimal("18.2"))

    assert found.net_g == (Decimal("251.9"),)
    assert "less an average empty of 18.2 g" in found.how


def test_gross_less_the_tare_of_its_row():
    """With a tare column each row has its own empty."""
    found = read("gross,tare\n270.1,20.0\n268.9,19.1\n")

    assert found.net_g == TWO


def test_a_tare_column_in_another_unit():
    """Units are those of each column."""
    assert read("gross (kg),tare (g)\n0.2701,20\n").net_g == (Decimal("250.1"),)


def test_net_stands_for_itself_beside_gross_and_tare():
    """Where all three stand in a file the net column is used, once it agrees."""
    assert read("gross,tare,net\n270.1,20.0,250.1\n").net_g == TWO[:1]


@pytest.mark.parametrize(
    ("text", "options", "message"),
    [
        ("", {}, r"w.csv: there is nothing in it"),
        ("\n \n\n", {}, r"there is nothing in it"),
        ("net\n", {}, r"a header and no weight below it"),
        ("net\n250.1\nabc\n", {}, r"w.csv, row 3, column net: 'abc' is not a weight"),
        ("net\n250.1\n#N/A\n", {}, r"row 3, column net: '#N/A' is not a weight"),
        ("a,net\n1,250.1\n2,\n", {}, r"row 3, column net: the cell is empty"),
        ("a,net\n1,250.1\n2\n", {}, r"row 3, column net: the cell is empty"),
        ("a,net\nMean,250.1\n", {}, r"row 2: 'Mean' looks like a summary"),
        ("net\n-5\n", {}, r"row 2, column net: the net weight would be -5 g"),
        ("net\n9999999\n", {}, r"row 2, column net: the net weight would be 9999999 g"),
        ("no,net\n1,250,1\n", {}, r"row 2: 3 cells where 2 belong; a decimal comma needs quotes"),
        ("Lot 7\nno,net\n1,250\n", {}, r"row 2: .* a title stands above the header, take it out"),
        ("Lot 7,\nno,net\n1,250\n", {}, r"no column is .* or take out what stands above the head"),
        ("250,1\n249,8\n", {}, r"each line has a comma and there is no header"),
        ("net\n250,123\n249,812\n", {}, r"row 2, column net: '250,123' can be two numbers here"),
        ("net\n250.1\n250,2\n", {}, r"row 3, .* has a comma where other rows have a decimal"),
        ("net (mL)\n250\n", {}, r"row 2, column net \(mL\): the unit 'ml' does not fit"),
        ("net (fl oz)\n8.5\n", {}, r"row 2, .*: the unit 'fl oz' does not fit"),
        ("net fluid ounces\n8.5\n", {}, r"row 2, .*: the unit 'fl oz' does not fit"),
        ("net (g)\n1 kg\n", {}, r"row 2, column net \(g\): the unit 'kg' does not fit"),
        ("net,net 2\n1,2\n", {}, r"more than one column could be meant \(net, net 2\)"),
        ("a;b\n1;2\n", {}, r"no column is headed net, gross or weight \(a, b\)"),
        ("gross\n250\n", {}, r"column gross: gross weights need a tare"),
        ("weight\n250\n", {}, r"the header does not say net or gross"),
        ("250\n", {}, r"column 1: the header does not say net or gross"),
        ("net\n250\n", {"tare_g": Decimal(1)}, r"there is no tare to take off"),
        ("gross,tare,net\n270.1,20,251\n", {}, r"row 2: gross less tare is 250.1 g, but net"),
        ("gross,tare,tare 2\n1,1,1\n", {}, r"more than one column is headed tare"),
        ("net\n250\n", {"column": "gross"}, r"no column is headed 'gross'; there are net"),
        ("n a,n b\n1,2\n", {"column": "n"}, r"more than one column is headed 'n'"),
        ('net\n"250\n', {}, r"row 2: the row cannot be read"),
        (b"\x00\x01\x02\xff\xfe" * 40, {}, r"this is not text"),
        (b"\xff\xfe\x00", {}, r"this is not text"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, {}, r"workbook of the old kind"),
        (b"PK\x03\x04" + b"\0" * 600, {}, r"the workbook cannot be read"),
    ],
    ids=lambda value: repr(value)[:30],
)
def test_what_does_not_fit_is_named(text, options, message):
    """Each refusal names the file, and the row and the column where there is one."""
    with pytest.raises(BadInput, match=message) as refused:
        read(text, **options)

    assert refused.value.message.startswith("w.csv")
    assert refused.value.message.endswith(".")


@pytest.mark.parametrize(
    ("header", "weight", "grams"),
    [
        ("net (lbs)", "0.5", "226.796185"),
        ("net pounds", "0.5", "226.796185"),
        ("Net weight in ounces", "8", "226.796185"),
        ("net weight in kilograms", "0.2501", "250.1"),
        ("kg netto", "0.2501", "250.1"),
        ("Nettogewicht [Gramm]", "250.1", "250.1"),
        ("net, 8 oz jar", "250.1", "250.1"),
        ("net g 2", "250.1", "250.1"),
    ],
)
def test_a_unit_in_the_header_is_found_wherever_it_stands(header, weight, grams):
    """A unit is never taken for grams because of its plural, its long name or its place.

    Half a pound and eight ounces are 226.796185 g: the pound is 453.59237 g by definition.
    """
    assert read(f'"{header}"\n{weight}\n').net_g == (Decimal(grams),)


NUMBERED = "no;net (g)\n1;250,1\n2;249,8\n3;250,0\n"


@pytest.mark.parametrize(
    "last",
    [
        "Mittelwert;249,9667",
        "Moyenne;249,9667",
        "Promedio;249,9667",
        "Summe:;1",
        "Grand total;1",
        "Mean (n=3);250,0",
        "Std. dev.;0,2",
        "Standard deviation;0,2",
        "Snitt;250,0",
        ";250,0",
        ";749,9",
        "4;749,9",
        ";250,0\n;0,2",
    ],
)
def test_a_row_that_sums_up_is_no_weighing(last):
    """A total, a mean or a scatter below the weights is named, in any language, or none."""
    with pytest.raises(BadInput, match=r"w\.csv, row 5.*: .* take the row out"):
        read(f"{NUMBERED}{last}\n")


@pytest.mark.parametrize(
    "text",
    [
        "no;net (g);note\n1;250,1;x\n2;249,8;x\n3;250;x\n4;250;\n",
        "tray;net (g)\n1;250,1\n;249,8\n;250\n2;250\n",
        "time;net (g)\n5 min;250,1\n6 min;249,8\n7 min;250\n8 min;250\n",
        "jar;net (g)\n1;250,1\n2;249,8\n3;250\n4a;250\n",
    ],
)
def test_a_weighing_is_not_taken_for_a_sum(text):
    """A note left out, trays named once, a unit of time and a letter behind a number are usual."""
    assert len(read(text).net_g) == 4


def test_a_sum_below_the_empties_is_refused():
    """A total among the empties would raise the tare."""
    with pytest.raises(BadInput, match="'60' is the sum of all above it"):
        empties(grid_from_text("tare\n10\n20\n30\n60\n", source="t.csv"))


def test_a_named_column_is_found_whatever_its_case():
    """A header is named in full or by its beginning."""
    text = "Jar;Weight A (g);Weight B (g)\n1;250,1;99\n2;249,8;98\n"

    assert read(text, column="weight a", is_net=True).net_g == TWO


def test_the_decimal_mark_can_be_said():
    """Where a column can mean two things the person decides."""
    text = "net\n250,123\n249,812\n"

    assert read(text, decimal=Mark.COMMA).net_g == (Decimal("250.123"), Decimal("249.812"))


def test_a_plain_column_is_net_when_that_is_said():
    """A column headed weight is net by the person's word."""
    assert read("weight\n250.1\n249.8\n", is_net=True).net_g == TWO


def test_the_words_of_headers():
    """Net, gross and tare are found in several languages' trade words, other columns left."""
    text = "time,Brutto (g),Tara,net weight/kg,value,jar\n1,1,1,1,1,1\n"

    found = [(one.role, one.unit) for one in columns(grid_from_text(text, source="w"))]

    assert found == [
        (Role.OTHER, ""),
        (Role.GROSS, "g"),
        (Role.TARE, ""),
        (Role.NET, "kg"),
        (Role.PLAIN, ""),
        (Role.OTHER, ""),
    ]


def workbook(*rows, hidden=()) -> bytes:
    """Return a workbook with these rows on its first sheet, behind one with hidden rows."""
    book = openpyxl.Workbook()
    if hidden:
        book.create_sheet(index=0).sheet_state = "hidden"
        book.active = 1
    for sheet, its_rows in zip(book.worksheets, filter(None, (hidden, rows)), strict=False):
        for row in its_rows:
            sheet.append(row)
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def test_a_workbook_is_read_by_its_shortest_decimals():
    """250.1 in a sheet is 250.1 exactly; empty rows are left out and rows keep their number."""
    found = read(workbook(["no", "net (g)"], [1, 250.1], [], [2, 249.8]))

    assert found.net_g == TWO
    assert [weight.row for weight in found.weights] == [2, 4]


def test_a_computed_cell_is_what_the_sheet_shows():
    """279.7 - 30 is 249.70000000000002 in binary and 249.7 in a sheet, which keeps 15 digits."""
    rows = ["gross", "tare", "net"], [279.7, 30, 249.70000000000002], [270.1, 30, 240.1]

    assert read(workbook(*rows)).net_g == (Decimal("249.7"), Decimal("240.1"))


def test_a_hidden_sheet_is_not_read():
    """The first sheet that a person sees is the one that is meant."""
    assert read(workbook(["net"], [250.1], [249.8], hidden=(["net"], [1.0]))).net_g == TWO


def test_the_sheet_is_named_where_there_are_more():
    """Of two sheets the first is read, and said to be."""
    book = openpyxl.Workbook()
    book.worksheets[0].append(["cover"])
    book.create_sheet("data").append(["net"])
    stream = BytesIO()
    book.save(stream)

    with pytest.raises(BadInput, match=r"w\.csv, sheet Sheet: there is a header and no weight"):
        read(stream.getvalue())


def test_a_wrong_size_in_a_workbook_cuts_nothing_off():
    """Some programs state the size of a sheet wrongly; every row is read all the same."""
    whole = workbook(["net"], [250.1], [249.8])
    stream = BytesIO()
    with ZipFile(BytesIO(whole)) as old, ZipFile(stream, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b'ref="A1:A3"', b'ref="A1:A2"'))

    assert read(stream.getvalue()).net_g == TWO


@pytest.mark.parametrize("cell", [True, "x", None])
def test_a_wrong_cell_of_a_workbook_is_named(cell):
    """Truth, words and an empty cell are no weights, in a sheet as in a text."""
    with pytest.raises(BadInput, match=r"w\.csv, row 3, column net"):
        read(workbook(["no", "net"], [1, 250.1], [2, cell]))


def test_an_empty_workbook_is_refused():
    """A sheet without a cell holds nothing."""
    with pytest.raises(BadInput, match="there is nothing in it"):
        read(workbook())


def test_a_file_beyond_all_measure_is_refused():
    """Size is looked at before anything is read."""
    with pytest.raises(BadInput, match="bytes; at most"):
        grid_from_bytes(b" " * 64_000_001, source="w.csv")


def test_too_many_rows_are_refused():
    """Rows are counted before they are judged."""
    with pytest.raises(BadInput, match="over 200000 rows"):
        grid_from_text("net\n" + "1\n" * 200_001, source="w.csv")


def test_empties_come_from_their_column_or_the_only_one():
    """A file of empties needs no word when it has one column."""
    assert empties(grid_from_text("18.2\n18.4\n", source="t")) == (
        Decimal("18.2"),
        Decimal("18.4"),
    )
    both = grid_from_text("jar;tare (g)\n1;18,2\n", source="t")
    assert empties(both) == (Decimal("18.2"),)
    with pytest.raises(BadInput, match="is no weight of an empty"):
        empties(grid_from_text("0\n18.4\n", source="t"))
