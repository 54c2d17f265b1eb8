"""Files from outside: how they are read, what is guessed, what each row holds."""

from __future__ import annotations

import io
import time
import zipfile
from datetime import UTC, datetime
from decimal import Decimal

import openpyxl
import pytest

from fillwright.errors import BadInput
from fillwright.records import filerows
from fillwright.records.figures import Mark
from fillwright.records.filecells import FileWeight, Refusal, WeightReader
from fillwright.records.filefields import Choice, chosen_before, guess
from fillwright.records.filerows import FileRows
from fillwright.records.filespool import FileSpool
from fillwright.records.filetimes import DateOrder, clock_of, date_order, moment_of

SHEET = (
    "Line 3, early shift\r\n\r\nNo;Date;Time;Net (g);Remark\r\n"
    "1;05.03.2031;08:31;250,1;\r\n2;05.03.2031;08:32;249,8;=1+1\r\n"
    "3;13.03.2031;08:32;249,8;\r\n;;;;\r\nTotal;;;749,7;\r\n"
)


@pytest.fixture(autouse=True)
def bench_zone(monkeypatch):
    """The bench's own clock is that of UTC."""
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def saved(tmp_path, data, name="weights.csv"):
    """Return a file with these bytes."""
    path = tmp_path / name
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def file_of(tmp_path, data, **more):
    """Return the rows of a file with these bytes."""
    return FileRows(saved(tmp_path, data), name="weights.csv", **more)


def read(file, **changes):
    """Return what every row of a file of weights holds, by a guess at its columns."""
    found = guess(file, "weighings")
    choice = Choice(
        **{
            "holds": "weighings",
            "columns": found.columns,
            "basis": found.basis or "net",
            "unit": found.unit,
            "decimal": found.decimal,
            "order": found.order,
            **changes,
        }
    )
    reader = WeightReader(file, choice)
    return [reader.read(row) for row in file.rows()]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_a_sheet_is_read_in_any_encoding(tmp_path, encoding):
    """Title lines, semicolons, decimal commas, dates and a totals line, whatever the bytes."""
    rows = read(file_of(tmp_path, SHEET.replace("Remark", "Größe").encode(encoding)))

    assert [type(one) for one in rows] == [FileWeight, FileWeight, FileWeight, Refusal]
    assert rows[0] == FileWeight(4, "250.1", "g", "", 1, "2031-03-05T08:31:00.000000Z")
    assert (rows[3].row, rows[3].given) == (8, "Total")
    assert "sum" in rows[3].why


def test_the_columns_of_a_sheet_are_guessed_from_its_headings(tmp_path):
    """Number, date, time of day and net weight, each where it stands."""
    found = guess(file_of(tmp_path, SHEET), "weighings")

    assert dict(found.columns) == {"container": 0, "when": 1, "clock": 2, "weight": 3}
    assert (found.basis, found.unit, found.decimal) == ("net", "g", Mark.COMMA)
    assert found.order is DateOrder.DAY


def test_gross_and_tare_columns_go_together(tmp_path):
    """A tare column beside gross weights is found; beside net weights it is left."""
    gross = guess(file_of(tmp_path, "gross (g),tare (g)\n290.1,40.0\n"), "weighings")
    net = guess(file_of(tmp_path, "net kg,tare kg\n0.2501,0.04\n"), "weighings")

    assert (gross.basis, dict(gross.columns)) == ("gross", {"weight": 0, "tare": 1})
    assert (net.basis, dict(net.columns), net.unit) == ("net", {"weight": 0}, "kg")


def test_a_weight_in_another_unit_than_its_heading_is_refused(tmp_path):
    """A cell that says kg below a heading in g is not read as either."""
    [good, bad] = read(file_of(tmp_path, "net (g),x\n250.1 g,a\n0.25 kg,b\n"))

    assert good.unit == "g"
    assert (bad.given, bad.allowed) == ("0.25 kg", "g")


def test_a_figure_that_can_be_two_numbers_is_asked_about(tmp_path):
    """1,234 alone is a thousand or one: nobody guesses."""
    file = file_of(tmp_path, "net g\tx\n1,234\ta\n1,240\tb\n")

    with pytest.raises(BadInput, match="decimal point or with a decimal comma"):
        read(file)
    assert [one.value for one in read(file, decimal=Mark.COMMA)] == ["1.234", "1.240"]


def test_a_date_that_can_be_two_days_is_asked_about(tmp_path):
    """05/03 is March or May until a person says so."""
    file = file_of(tmp_path, "date;net g\n05/03/2031 08:00;250.1\n")

    with pytest.raises(BadInput, match="can be two dates"):
        read(file)
    [one] = read(file, order=DateOrder.MONTH)
    assert one.at == "2031-05-03T08:00:00.000000Z"


@pytest.mark.parametrize(
    ("text", "order", "expected"),
    [
        ("2031-03-05 08:31:02", None, datetime(2031, 3, 5, 8, 31, 2, tzinfo=UTC)),
        ("2031-03-05T08:31+02:00", None, datetime(2031, 3, 5, 6, 31, tzinfo=UTC)),
        ("5.3.31 8:31", DateOrder.DAY, datetime(2031, 3, 5, 8, 31, tzinfo=UTC)),
        ("3/5/2031 8:31 PM", DateOrder.MONTH, datetime(2031, 3, 5, 20, 31, tzinfo=UTC)),
        ("12/5/2031 12:05 am", DateOrder.DAY, datetime(2031, 5, 12, 0, 5, tzinfo=UTC)),
        # A spreadsheet counts days from 30 December 1899: 47912 is 2031-03-05.
        ("47912.5", None, datetime(2031, 3, 5, 12, 0, tzinfo=UTC)),
        ("31.02.2031", DateOrder.DAY, None),
        ("yesterday", DateOrder.DAY, None),
        ("05/03/2031", None, None),
        ("0001-01-01", None, None),
    ],
)
def test_a_moment_is_read_as_it_is_written(text, order, expected):
    """ISO, day or month first, a clock of twelve hours, a count of days; nonsense is none."""
    assert moment_of(text, order) == expected


def test_the_order_of_dates_is_told_by_a_day_above_twelve():
    """13 can be no month; a point means day first."""
    assert date_order(["05/03/2031", "13/03/2031"]) is DateOrder.DAY
    assert date_order(["05/03/2031", "03/13/2031"]) is DateOrder.MONTH
    assert date_order(["05/03/2031"]) is None
    assert clock_of("25:00") is None


def test_one_column_with_decimal_commas_is_one_column(tmp_path):
    """The heading has no comma, so those below stand in the numbers; a title may have one."""
    rows = read(file_of(tmp_path, "Early shift, week 10\nnet (g)\n248,18\n248,19\n248,2\n"))

    assert [one.value for one in rows] == ["248.18", "248.19", "248.2"]


def test_a_missing_number_below_numbered_rows_is_a_sum(tmp_path):
    """A mean that stands below without its word is refused, since it has no number."""
    rows = read(file_of(tmp_path, "no;net g\n1;250\n2;251\n3;252\n;251\n"))

    assert [type(one) for one in rows] == [FileWeight] * 3 + [Refusal]
    assert "may be a sum or a mean" in rows[-1].why


def workbook(tmp_path, fill, name="weights.xlsx"):
    """Return the path of a workbook that `fill` wrote."""
    book = openpyxl.Workbook()
    fill(book)
    path = tmp_path / name
    book.save(path)
    return path


def test_a_workbook_is_read_past_its_hidden_sheet(tmp_path):
    """The first sheet that is shown, with its dates and the digits that were meant."""
    day = datetime(2031, 3, 5, 8, 31)  # noqa: DTZ001  a sheet knows no zones

    def fill(book):
        hidden = book.active
        hidden.title = "old"
        hidden.sheet_state = "hidden"
        hidden.append(["net (g)"])
        shown = book.create_sheet("Week 10")
        shown.append(["When", "Net (g)"])
        shown.append([day, 0.1 + 0.2 + 249.7])
        shown.append([day, "=HYPERLINK(1)"])

    file = FileRows(workbook(tmp_path, fill), name="weights.xlsx")
    rows = read(file)

    assert (file.sheet, file.sheets, file.hidden) == ("Week 10", ("Week 10",), 1)
    assert rows[0].value == "250"
    assert rows[0].at == "2031-03-05T08:31:00.000000Z"
    assert isinstance(rows[1], Refusal)


def test_a_workbook_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch):
    """Its parts are added up before any of them is unpacked."""
    path = workbook(tmp_path, lambda book: book.active.append(["net (g)", 1]))
    monkeypatch.setattr(filerows, "_UNPACKED", 100)

    with pytest.raises(BadInput, match="unpacks to far more"):
        FileRows(path, name="weights.xlsx")


def test_a_sheet_of_one_letter_over_and_over_is_not_unpacked(tmp_path):
    """Small on the disk and huge in the memory: refused before it is opened."""
    path = workbook(tmp_path, lambda book: book.active.append(["net (g)", 1]))
    swollen = tmp_path / "swollen.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(swollen, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            more = b"<!--" + b"A" * 25_000_000 + b"-->" if name.endswith("sheet1.xml") else b""
            new.writestr(name, old.read(name) + more)

    with pytest.raises(BadInput, match="unpacks to far more"):
        FileRows(swollen, name="weights.xlsx")


def test_a_file_without_a_column_of_weights_names_what_it_has(tmp_path):
    """Its headings, and the other sheets, since the weights may stand there."""

    def fill(book):
        book.active.title = "Read me"
        book.active.append(["see", "below"])
        book.active.append(["the other", "sheet"])
        book.create_sheet("Log").append(["net (g)", 250])

    file = FileRows(workbook(tmp_path, fill), name="weights.xlsx")
    with pytest.raises(
        BadInput, match=r"There are: see, below\. This is the sheet Read me; .*Log"
    ):
        WeightReader(
            file, Choice(holds="weighings", columns={}, basis="net", unit="g", decimal=Mark.POINT)
        )


def test_a_formula_without_its_result_is_told(tmp_path):
    """The program that wrote the file did not work it out; a spreadsheet program saves it."""

    def fill(book):
        book.active.append(["no", "net (g)"])
        book.active.append([1, "=250+1"])
        book.active.append([2, 250])

    file = FileRows(workbook(tmp_path, fill), name="weights.xlsx")
    choice = Choice(holds="weighings", columns={"weight": 1}, basis="net", decimal=Mark.POINT)
    refused, kept = (WeightReader(file, choice).read(row) for row in file.rows())
    assert refused.allowed.endswith("a formula only with its result saved in the file")
    assert kept.value == "250"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "nothing in it"),
        (b"\n\n\n", "nothing in it"),
        (b"PK\x03\x04 but no workbook", "cannot be read"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old kind"),
        (b"\x00\x01\x02\x03\x04weights\x07", "not text"),
        (b"\xff\xfe\x00", "not text"),
        (b"248,18\n248,19\n", "a decimal|two"),
        (b"x" * 200_000, "no end"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_one_sentence(tmp_path, data, words):
    """Nothing of it is read, and the sentence says what would do."""
    with pytest.raises(BadInput, match=words):
        file_of(tmp_path, data)


def test_a_workbook_with_a_broken_sheet_is_refused(tmp_path):
    """What is torn inside is told like a file that is none."""
    path = workbook(tmp_path, lambda book: book.active.append(["net (g)", 1]))
    torn = io.BytesIO()
    with zipfile.ZipFile(path) as whole, zipfile.ZipFile(torn, "w") as part:
        for one in whole.infolist():
            data = whole.read(one)
            part.writestr(one, data[:60] if "sheet1" in one.filename else data)
    path.write_bytes(torn.getvalue())

    with pytest.raises(BadInput, match="cannot be read"):
        FileRows(path, name="weights.xlsx")


def test_a_choice_is_remembered_for_the_same_headings(tmp_path):
    """Columns and order of dates come back; the decimal mark is that of the new file."""
    first = file_of(tmp_path, "date;a;b\n05/03/2031;250,1;9\n")
    kept = Choice(
        holds="weighings",
        columns={"when": 0, "weight": 1},
        basis="net",
        decimal=Mark.COMMA,
        order=DateOrder.MONTH,
    ).remembered(first.headings)
    again = chosen_before(kept, file_of(tmp_path, "date;a;b\n05/04/2031;250.2;9\n"))

    assert (dict(again.columns), again.basis) == ({"when": 0, "weight": 1}, "net")
    assert (again.decimal, again.order) == (Mark.POINT, DateOrder.MONTH)


def test_a_spool_gives_back_what_was_laid_aside():
    """In order, piece by piece, and the same identity for the same weights written otherwise."""
    at = "2031-03-05T08:31:00.250000Z"
    rows = [FileWeight(row, f"250.{row % 7}0", "g", "", row, at) for row in range(5000)]
    with FileSpool("job/1") as one, FileSpool("job/1") as other:
        for row in rows:
            one.add(row)
            other.add(FileWeight(row.row + 3, row.value.rstrip("0"), "g", "", row.container, at))

        assert [row for piece in one.pieces() for row in piece] == rows
        assert one.identity() == other.identity()
        assert one.is_in_order
        assert not one.tells_moments
    assert Decimal(rows[0].value) == Decimal("250.0")
