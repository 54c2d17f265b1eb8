"""The papers open in another reader, hold all they must, and come out the same each time."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from importlib.resources import files

import pypdf
import pytest

from fillwright.records.sheets import Paper
from fillwright.report.pdf import print_sheet
from fillwright.report.printer import PrintFailed, run_printer

A4 = (210, 297)
LETTER = (216, 279)
LONG = "Lavender & oat lotion, extra rich, Donaudampfschifffahrtsgesellschaftskapitänscreme " * 2


def _open(file: bytes) -> pypdf.PdfReader:
    """A paper, opened."""
    return pypdf.PdfReader(io.BytesIO(file))


def _text(file: bytes) -> str:
    """All text of a paper in one line, without the places where long words may break."""
    text = "\n".join(page.extract_text() for page in _open(file).pages)
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def _sizes_mm(file: bytes) -> set[tuple[int, int]]:
    """The sizes of the pages."""
    return {
        (round(float(p.mediabox.width) / 72 * 25.4), round(float(p.mediabox.height) / 72 * 25.4))
        for p in _open(file).pages
    }


def test_the_record_leads_with_the_verdict(sheet):
    """The first page says what became of the lot, under which rules, and what is unchecked."""
    first = re.sub(r"\s+", " ", _open(print_sheet(sheet())).pages[0].extract_text())

    for words in (
        "Lavender hand lotion",
        "Lot code L-22, job 0417, Filler 2",
        "Released: 410 jars",
        "Lot test passed",
        "Rule set UK-2006/659, SI 2006/659, Schedules 2 and 3",
        "R read in the source; M from memory",
        "Table not checked against the source.",
        "1 signature missing.",
        "250.953 mL at least 249.748 mL passes",
        "0 of 50 at most 3 passes",
        "A. Invented",
    ):
        assert words in first


def test_the_record_can_be_checked_by_hand(sheet):
    """Every step of the lot test stands there with its numbers filled in."""
    text = _text(print_sheet(sheet()))

    for step in (
        "content = net weight × 1.016314 mL/g",
        "T1 = 250 \u2212 9 = 241 mL",
        "T2 = 250 \u2212 2 × 9 = 232 mL",
        "n = 30 for the average, the first 30 in drawing order",
        "mean error = 250.953 \u2212 250 = 0.953 mL",
        # 250 - 0.503 x 0.50085 = 249.748 and 250.953 - 249.748 = 1.205
        "limit = label \u2212 k × s = 250 \u2212 0.503 × 0.50085 = 249.748 mL",
        "margin = mean \u2212 limit = 250.953 \u2212 249.748 = 1.205 mL",
        "below T1: 0 of 50; accepted up to 3, rejected from 4",
        # 3.462 x 0.419 = 1.4506
        "half width = k × s = 3.462 × 0.419 = 1.4506 g",
    ):
        assert step in text


def test_the_record_leaves_nothing_out(sheet):
    """Turns, holds and outcomes, checks, tare, seed, cautions, software and hash are there."""
    text = _text(print_sheet(sheet()))

    for words in (
        "49.0 to 50.4, locked",
        "in the run, after 71; average was \u22120.62 g off, advised 50.8",
        "Refill after jar 80.",
        "61 to 70: scrapped, lids torn (CD, 2025-03-14 13:30)",
        "Still held",
        "200 g 200.1 g ±0.2 g passed",
        "average of 10 empties: 61.9 g, s 0.21 g",
        "drawn by chance with seed 20250314",
        "92, 142, 118",
        "jar 92 309.6 g net 247.7 g = 251.741 mL",
        "fillwright 0.1.0",
        "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    ):
        assert words in text


@pytest.mark.parametrize("count", [1, 40, 1500])
def test_every_weighing_is_printed(sheet, count):
    """Each weighing of the run is there with what was shown and what it came to."""
    record = sheet(count)
    text = _text(print_sheet(record))

    for line in record.weighings:
        shown, net = line.fact.value, line.fact.net_g
        assert (f"{shown} \u2192 {net} " if line.fact.purpose == "dose" else shown) in text


def test_struck_out_ones_keep_number_and_reason(sheet):
    """A struck-out weighing stays in the list with its reason, and so does one set aside."""
    text = _text(print_sheet(sheet()))

    assert "struck out: Wrong jar on the pan, weighed again" in text
    assert "set aside: Knocked over before it was weighed" in text
    assert "Weighing of jar 3 Wrong jar on the pan, weighed again" in text
    assert "1 line struck out. 1 line set aside, in brackets." in text


def test_only_struck_out_ones_are_struck_through(sheet):
    """A line through a weighing means struck out: the record with a strike-out has one more."""
    record = sheet(10)
    plain = replace(record, weighings=tuple(replace(line, struck="") for line in record.weighings))

    def lines(file: bytes) -> int:
        return sum(page.get_contents().get_data().count(b"\nS\n") for page in _open(file).pages)

    assert lines(print_sheet(record)) == lines(print_sheet(plain)) + 1


@pytest.mark.parametrize(("paper", "size"), [(Paper.A4, A4), (Paper.LETTER, LETTER)])
def test_both_papers(sheet, lot_sheet, proof_sheet, card, paper, size):
    """Everything prints on A4 and on US Letter."""
    made = (
        print_sheet(sheet(), paper=paper),
        print_sheet(lot_sheet, paper=paper),
        print_sheet(proof_sheet, paper=paper),
        print_sheet(card(), paper=paper),
    )

    assert [_sizes_mm(file) for file in made] == [{size}] * 4


def test_each_page_is_known_by_itself(sheet):
    """Each page bears the job, its number of so many, and that the data are invented."""
    pages = _open(print_sheet(sheet())).pages

    for i, page in enumerate(pages, 1):
        text = page.extract_text()
        assert "job 0417" in text
        assert f"page {i} of {len(pages)}" in text
        assert "Invented data, not a real lot" in text


def test_real_data_are_not_called_invented(sheet):
    """The mark of invented data appears on those only."""
    record = sheet()
    real = replace(record, facts=replace(record.facts, is_invented=False))

    assert "Invented" not in _text(print_sheet(real)).replace("A. Invented", "")


def test_same_sheet_same_bytes(sheet, lot_sheet, proof_sheet, card):
    """The same sheet prints to the same bytes: no clock and no chance goes in."""
    for print_it in (
        lambda: print_sheet(sheet()),
        lambda: print_sheet(lot_sheet),
        lambda: print_sheet(proof_sheet),
        lambda: print_sheet(card()),
    ):
        assert print_it() == print_it()


def test_the_date_is_that_of_the_record(sheet):
    """The file is dated by the last entry, in its properties too."""
    made = _open(print_sheet(sheet())).metadata

    assert made.creation_date == datetime(2025, 3, 14, 12, 30, tzinfo=UTC)
    assert made.title == "Batch record, job 0417"


def test_it_is_made_for_keeping(sheet):
    """The file declares PDF/A-2b and has only the shipped letters, embedded."""
    reader = _open(print_sheet(sheet()))
    xmp = reader.trailer["/Root"]["/Metadata"].get_data().decode("utf-8")
    fonts = {
        font.get_object()["/BaseFont"].partition("+")[2]
        for page in reader.pages
        for font in page["/Resources"].get("/Font", {}).values()
    }

    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>B</pdfaid:conformance>" in xmp
    assert fonts == {"DejaVuSans", "DejaVuSans-Bold"}


@pytest.mark.parametrize(
    "evil",
    [
        '#let x = 1; #panic("no")',
        '"]); #read("/etc/passwd")',
        "*bold* _x_ $a^2$ <label> @ref // comment",
        "<script>alert(1)</script>",
        '#import "@preview/x:0.1.0"',
        "\\u{1F600} \\ back",
    ],
)
def test_typed_words_are_never_commands(sheet, card, lot_sheet, evil):
    """A product named like a command of the printer is printed as it was typed."""
    for file in (
        print_sheet(sheet(1, name=evil)),
        print_sheet(card(name=evil)),
        print_sheet(replace(lot_sheet, title=evil, source=evil)),
    ):
        # A line may end within it, and is read as a space.
        assert re.sub(r"\s", "", evil) in re.sub(r"\s", "", _text(file))


def test_characters_without_letters_are_named(sheet, card):
    """What cannot be printed appears as its code, and a note lists it."""
    for file in (print_sheet(sheet(1, name="手 lotion")), print_sheet(card(name="手 lotion"))):
        text = _text(file)
        assert "[U+624B] lotion" in text
        assert "their code stands for each: [U+624B]." in text


def test_names_from_right_to_left_are_printed(sheet):
    """A Hebrew or Arabic name prints with the shipped letters, without any note."""
    text = _text(print_sheet(sheet(1, name="קרם ידיים 250")))

    assert "their code stands" not in text
    assert "250 mL in 250 mL jar" in text


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        ("released", "Released: 410 jars"),
        ("not-released", "Not released"),
        (None, "Not released yet"),
    ],
)
def test_the_verdict_follows_the_release(sheet, outcome, words):
    """Released, refused and still open lots each say so in the largest words."""
    record = sheet(1)
    done = None if outcome is None else replace(record.released, outcome=outcome)

    assert words in _text(print_sheet(replace(record, released=done)))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"verdict": "rejected", "is_compliant": False}, "Lot test failed"),
        ({"is_compliant": False, "count_below_t2": 1}, "take out each such jar"),
        ({"is_compliant": False}, "Lot test passed, but not compliant"),
        ({"verdict": "sample-too-small"}, "Cannot say yet: sample too small"),
        ({"verdict": "no-plan"}, "No verdict: no plan for this lot"),
        ({"is_mean_ok": False}, "249.748 mL fails"),
    ],
)
def test_each_lot_verdict_has_its_words(sheet, lot, changes, words):
    """A lot test that failed or could not be judged is never printed as passed."""
    assert words in _text(print_sheet(replace(sheet(1), lot=replace(lot, **changes))))


def test_an_early_record_says_what_is_missing(sheet):
    """A job that has hardly begun prints, and says of each part that it is not there."""
    bare = replace(
        sheet(1),
        lot=None,
        released=None,
        weighings=(),
        turns=(),
        pauses=(),
        course=(),
        held=(),
        checks=(),
        tare=None,
        trim=None,
        proof=None,
        samples=(),
        sample_lines=(),
        signatures=(),
        strikes=(),
        dose_chart=None,
        proof_chart=None,
        lot_chart=None,
    )
    text = _text(print_sheet(bare))

    for words in (
        "The lot test has not been judged.",
        "2 signatures missing.",
        "No jar was held.",
        "No proving run was judged.",
        "It was not checked in this job.",
        "Nothing was struck out.",
    ):
        assert words in text


def test_a_long_name_stays_on_its_line_at_the_head_of_the_page(proof_sheet):
    """The head of the page is one line, cut with a mark; the title has the whole name."""
    page = _open(print_sheet(replace(proof_sheet, title=LONG))).pages[0]
    lines = page.extract_text().replace("\u200b", "").splitlines()
    whole = re.sub(r"\s", "", "".join(lines))

    assert sum("…" in line for line in lines) == 1
    assert whole.count(re.sub(r"\s", "", LONG)) == 1


def test_an_unknown_time_zone_prints_in_utc(sheet):
    """Where the machine does not know the zone the times are those of UTC."""
    assert "2025-03-14 12:30" in _text(print_sheet(replace(sheet(1), zone="Nowhere/Town")))


def test_the_paper_of_a_lot(lot_sheet):
    """Verdict, every row of the file, the one left out with its reason, what was given."""
    text = _text(print_sheet(lot_sheet))

    assert "Lot test passed" in text
    assert "Weights from weights.csv" in text
    assert "Density 0.985 g/mL at 20 °C" in text
    assert "(304.5 g net 244.5 g) left out: weighed twice" in text
    for line in lot_sheet.lines:
        assert f"{line.row} " in text
        assert f"net {line.net_g} g" in text


def test_the_paper_of_a_proof(proof_sheet):
    """Verdict with the claim, the figures, every reading, the one set aside with its reason."""
    text = _text(print_sheet(proof_sheet))

    assert "Holds ±1 %" in text
    assert "Claim: 99 of 100 doses within ±1 % of 247.5 g, at 95 % confidence." in text
    assert "1 247.3 g" in text
    assert "2 (12.0 g) set aside: spilt" in text


@pytest.mark.parametrize(
    ("verdict", "words"),
    [
        ("impossible", "Does not hold ±1 %"),
        ("not-proved", "Cannot say yet"),
        ("not-steady", "Not steady, proving void"),
        ("scale-too-coarse", "The weighing scale is too coarse to say"),
    ],
)
def test_each_proof_verdict_has_its_words(proof_sheet, proof, verdict, words):
    """A proof that failed or is open says so."""
    changed = replace(proof_sheet, proof=replace(proof, verdict=verdict))

    assert words in _text(print_sheet(changed))


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize(("name", "parts"), [("Lotion", 0), ("Lotion", 16), (LONG, 4), (LONG, 16)])
@pytest.mark.parametrize("changes", [{}, {"setting_marks": None, "nozzle_gap_mm": None}])
def test_the_card_is_one_page(card, paper, name, parts, changes):
    """However long the name and the list of parts, the card is one page with 20 boxes."""
    file = print_sheet(card(name=name, parts=parts, **changes), paper=paper)
    text = _text(file)

    assert len(_open(file).pages) == 1
    assert len(re.findall(r"\b(?:1?[1-9]|[12]0) jar\b", text)) == 20
    assert "Before hands go in: air off and vented, gauge reads 0." in text
    assert "Hot product, 72 °C" in text
    assert "Check 14: Dose creeps" in text


def test_the_card_says_where_to_set_the_wheel(card):
    """Setting, aim and band stand large; without a setting there is a line to write on."""
    assert "50.8" in _text(print_sheet(card()))
    assert "247.5 g" in _text(print_sheet(card()))
    assert "band 245.1 to 249.9 g" in _text(print_sheet(card()))
    assert "50.8" not in _text(print_sheet(card(setting_marks=None)))


def test_a_warning_of_the_printer_is_a_failure():
    """A paper that would come out in other letters is not handed over."""
    house = files("fillwright.report") / "templates" / "house.typ"
    other = house.read_text(encoding="utf-8").replace('"DejaVu Sans"', '"No Such Face"')

    with pytest.raises(PrintFailed, match=r"as it should look: .*unknown font family"):
        run_printer(
            "paper.typ",
            {"name": "x", "invented": "", "blocks": []},
            {"house.typ": other.encode("utf-8")},
            at=datetime(2025, 3, 14, tzinfo=UTC),
            paper=Paper.A4,
        )


def test_an_error_of_the_printer_is_one_sentence():
    """A template that cannot be run gives one clear sentence."""
    at = datetime(2025, 3, 14, tzinfo=UTC)

    with pytest.raises(PrintFailed, match=r"The paper could not be made: .*no such block"):
        run_printer(
            "paper.typ",
            {"name": "x", "invented": "", "blocks": [{"kind": "no such"}]},
            {},
            at=at,
            paper=Paper.A4,
        )


def test_a_lot_without_shortage_and_spread_prints(sheet, lot):
    """A lot of which only the average could be judged shows that and nothing made up."""
    bare = replace(
        lot,
        verdict="not-evaluated",
        is_compliant=None,
        shortage="",
        t1_limit="",
        t2_limit="",
        sd=None,
        k=None,
        individual_test=None,
    )
    text = _text(print_sheet(replace(sheet(1), lot=bare)))

    assert "No verdict: shortage not known" in text
    assert "below T1:" not in text
    assert "k × s = 250" not in text


def test_days_are_told_where_they_change(sheet, weighings):
    """Weighings over midnight, as the bench's own clock has it, carry the day."""
    lines = [replace(line, at=line.at + timedelta(hours=14, minutes=25)) for line in weighings(20)]
    text = _text(print_sheet(replace(sheet(1), weighings=tuple(lines))))

    # 08:30 and 14:25 later is 22:55 UTC, 23:55 in the zone of the bench.
    assert "2025-03-14" in text
    assert "2025-03-15" in text


def test_the_tare_of_zeroed_empties_is_told(sheet):
    """Where each empty is zeroed away there is no average to print, and weights are net."""
    record = sheet(1)
    zeroed = replace(record, tare=None, facts=replace(record.facts, tare_way="zeroed"))

    assert "each empty zeroed" in _text(print_sheet(zeroed))
