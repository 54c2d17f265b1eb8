"""Weights out of a file: looked over, kept once, refused by row, judged where asked."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.files import take_in as takein
from fillwright.jobs.files import take_look as takelook
from fillwright.jobs.files.take_in import remember_columns, strike_file, take_in
from fillwright.jobs.files.take_look import look_over, purposes_for
from fillwright.jobs.run.weigh import checked
from fillwright.records.capture import Capture
from fillwright.records.entries import FileTaken, WeighingFromFile
from fillwright.records.figures import Mark
from fillwright.records.filefields import Choice, chosen_before, guess
from fillwright.records.filerows import FileRows

LOG = "when,jar,net (g)\n" + "".join(
    f"2031-03-04 07:{minute:02d},{minute + 1},{250 + minute / 10:.1f}\n" for minute in range(20)
)


@pytest.fixture
def shop():
    """A job that was just opened."""
    return Workshop()


@pytest.fixture
def file(tmp_path):
    """Make a file of text."""

    def made(text=LOG, name="log.csv"):
        (tmp_path / name).write_text(text)
        return FileRows(tmp_path / name, name=name)

    return made


def look(shop, file, **more):
    """Look a file over by a guess at its columns."""
    changes = {key: more.pop(key) for key in ("basis", "tare_g", "decimal") if key in more}
    found = guess(file, "weighings")
    choice = Choice(
        holds="weighings",
        columns=found.columns,
        unit=found.unit,
        basis=changes.get("basis", found.basis),
        decimal=changes.get("decimal", found.decimal),
        order=found.order,
        tare_g=changes.get("tare_g"),
    )
    return look_over(shop.desk, file, choice, more.pop("number", shop.number), **more)


def taken(shop, file, **more):
    """Take a whole file in."""
    return take_in(shop.desk, look(shop, file, **more), shop.press)


def weights(shop):
    """Return the weights of files on record."""
    return [fact for fact in facts(shop) if isinstance(fact, WeighingFromFile)]


def facts(shop):
    """Return all that is on record of the job."""
    return [entry.payload for entry in shop.entries()]


def test_looking_keeps_nothing(shop, file):
    """A look says what would come, and the journal stays as it was."""
    before = len(shop.journal.log)
    seen = look(shop, file())

    assert (seen.fact.good, seen.fact.refused) == (20, 0)
    assert (seen.least_g, seen.mean_g, seen.most_g) == (
        Decimal("250.0"),
        Decimal("250.95"),
        Decimal("251.9"),
    )
    assert len(shop.journal.log) == before


def test_a_file_is_kept_weight_by_weight(shop, file):
    """Each with its own id, moment, number and row, after the file itself."""
    done = taken(shop, file())
    kept = weights(shop)

    assert (done.kept, done.again) == (20, 0)
    assert isinstance(shop.entries()[-21].payload, FileTaken)
    assert [one.container for one in kept] == list(range(1, 21))
    assert (kept[0].value, kept[0].net_g, kept[0].basis) == ("250.0", Decimal("250.0"), "net")
    assert kept[3].weighed_at == "2031-03-04T07:03:00.000000Z"
    assert {one.file_id for one in kept} == {shop.entries()[-21].id}
    assert len({entry.id for entry in shop.entries()}) == len(shop.entries())


def test_the_same_file_twice_adds_nothing(shop, file):
    """Also under another name, with other line ends and written with more digits."""
    taken(shop, file())
    count = len(shop.journal.log)
    again = taken(shop, file())
    other = taken(shop, file(LOG.replace(".0\n", ".00\n").replace("\n", "\r\n"), "other.csv"))

    assert (again.kept, again.again) == (0, 20)
    assert (other.kept, other.again) == (0, 20)
    assert len(shop.journal.log) == count
    assert look(shop, file()).was_here


def test_a_log_that_grew_brings_only_what_is_new(shop, file):
    """Where each row has its moment, rows that are here are known in a longer file."""
    taken(shop, file())
    done = taken(shop, file(LOG + "2031-03-04 07:20,21,249.9\n", "longer.csv"))

    assert (done.kept, done.again) == (1, 20)
    assert weights(shop)[-1].container == 21


def test_files_without_moments_are_told_apart_as_a_whole(shop, file):
    """Two files that begin alike are two files: no weight is dropped because another has it."""
    first = taken(shop, file("net (g)\n250.1\n250.3\n"))
    second = taken(shop, file("net (g)\n250.1\n249.9\n", "second.csv"))

    assert (first.kept, second.kept) == (2, 2)


def test_two_alike_at_one_moment_are_two(shop, file):
    """The same weight twice in one minute is kept twice, and still only once a file."""
    text = "when,net (g)\n2031-03-04 07:00,250.1\n2031-03-04 07:00,250.1\n2031-03-04 07:01,250\n"

    assert taken(shop, file(text)).kept == 3
    assert taken(shop, file(text, "b.csv")).kept == 0


def test_what_cannot_be_used_is_named_by_row(shop, file):
    """Row, what was given, what is allowed; the good rows are as they would be without it."""
    text = "no,net (g)\n1,250.1\n2,=cmd()\n3,-4\n4,9999\n5,\n6,250.4\nMean,250.25\n"
    seen = look(shop, file(text))

    assert [one.row for one in seen.refusals] == [3, 4, 5, 6, 8]
    assert [one.given for one in seen.refusals] == ["=cmd()", "-4 g", "9999 g", "", "Mean"]
    assert all(one.why and one.allowed for one in seen.refusals)
    assert seen.fact.good == 2
    assert len(seen.fact.refusals) == 5


def test_a_sum_below_the_weights_is_left_out(shop, file):
    """A last weight that is exactly the sum of all above it is no weight."""
    seen = look(shop, file("net (g)\n100.1\n100.2\n100.3\n300.6\n"))

    assert seen.fact.good == 3
    assert "the sum of all above it" in seen.refusals[0].why


def test_gross_weights_take_the_empty_that_is_known(shop, file):
    """The row's own empty, else the one that was typed, else the average of the job."""
    own = taken(shop, file("gross (g),tare (g)\n290.1,40.0\n290.1,40.1\n"))
    typed = taken(shop, file("gross (g)\n290.1\n290.2\n"), tare_g=Decimal("41.0"))
    mean = taken(shop, file("gross (g)\n290.1\n290.2\n"))

    assert (own.kept, typed.kept, mean.kept) == (2, 2, 2)
    assert [str(one.net_g) for one in weights(shop)] == [
        "250.1", "250.0", "249.1", "249.2", "250.10", "250.20",
    ]  # fmt: skip
    assert {one.basis for one in weights(shop)} == {"gross"}


def test_other_units_are_turned_to_grams_exactly(shop, file):
    """What was shown stays as it was shown."""
    taken(shop, file("net oz,x\n8.82,a\n8.83,b\n"))

    assert [(one.value, one.unit) for one in weights(shop)] == [("8.82", "oz"), ("8.83", "oz")]
    assert weights(shop)[0].net_g == Decimal("8.82") * Decimal("28.349523125")


def test_every_row_passes_the_checks_of_a_typed_weight(shop, file):
    """What the one path refuses, the file's look refuses, and nothing else."""
    values = ["-0.1", "0", "0.1", "250", "600", "620.5", "700", "1e5"]
    seen = look(shop, file("net (g)\n" + "\n".join(values) + "\n"))
    refused = {one.given.split(maxsplit=1)[0] for one in seen.refusals}

    for value in values:
        capture = Capture(weighing_id="", value=Decimal(value), basis="net")
        try:
            checked(shop.desk, shop.state, capture, "elsewhere")
        except BadInput:
            assert str(Decimal(value)) in refused
        else:
            assert value not in refused


def test_weights_from_elsewhere_touch_no_stage(shop, file):
    """They stand in a tally of their own; the job waits for what it waited for."""
    before = shop.state.weighings, shop.state.filled_to
    taken(shop, file())
    [tally] = shop.state.files.files.values()

    assert (shop.state.weighings, shop.state.filled_to) == before
    assert (tally.count, tally.mean_g) == (20, Decimal("250.95"))
    # Numbers 0 to 1.9 in steps of 0.1: variance (n^2 - 1)/12 x 0.01 x n/(n - 1), n = 20.
    assert tally.sd_g == pytest.approx(((399 / 12) * 0.01 * 20 / 19) ** 0.5)
    assert sum(tally.states.values()) == 20
    assert shop.refolded().files == shop.state.files


def test_a_file_is_struck_out_with_a_reason(shop, file):
    """All that came by it counts no more, and stays on record."""
    done = taken(shop, file())

    with pytest.raises(BadInput, match="Say why"):
        strike_file(shop.desk, shop.number, done.file_id, " ", shop.press)
    strike_file(shop.desk, shop.number, done.file_id, "wrong job", shop.press)

    assert shop.state.files.files[done.file_id].struck == "wrong job"
    assert len(weights(shop)) == 20
    with pytest.raises(BadInput, match="no such file"):
        strike_file(shop.desk, shop.number, done.file_id, "again", shop.press)


@pytest.mark.parametrize("text", [LOG, "net (g)\n250.1\n250.3\n"])
def test_a_file_that_was_struck_out_can_come_again(shop, file, text):
    """It was struck out by mistake, say: its weights are kept anew, and counted."""
    first = taken(shop, file(text))
    strike_file(shop.desk, shop.number, first.file_id, "by mistake", shop.press)
    again = taken(shop, file(text))
    third = taken(shop, file(text))

    assert (again.kept, again.again) == (first.kept, 0)
    assert (third.kept, third.again) == (0, first.kept)
    assert [tally.struck for tally in shop.state.files.files.values()] == ["by mistake", ""]


def test_a_file_can_be_judged_as_the_doses_of_the_run(file):
    """As if each was typed: the run moves on, and the same file again adds nothing."""
    shop = Workshop().to_run()
    first = shop.state.filled_to + 1
    text = "jar,net (g)\n" + "".join(f"{first + 10 * at},{250 + at / 100}\n" for at in range(6))

    assert purposes_for(shop.desk, shop.number) == ("elsewhere", "dose")
    done = taken(shop, file(text), purpose="dose")
    doses = [w for w in shop.state.weighings if w.fact.source == "file"]

    assert (done.kept, done.again) == (6, 0)
    assert [w.fact.container for w in doses] == [first + 10 * at for at in range(6)]
    assert all(w.fact.state for w in doses)
    assert taken(shop, file(text), purpose="dose").again == 6
    assert shop.refolded().filled_to == shop.state.filled_to == first + 50


def test_a_stage_refuses_rows_that_it_would_not_take_typed(file):
    """An old number is refused with its row; a job that moved on is looked at anew."""
    shop = Workshop().to_run()
    first = shop.state.filled_to + 1
    seen = look(shop, file(f"jar,net (g)\n{first},250\n99999,250.1\n"), purpose="dose")

    assert (seen.fact.good, [one.row for one in seen.refusals]) == (1, [3])
    shop.off("0.1", container=first + 10)
    with pytest.raises(Conflict, match="moved on"):
        take_in(shop.desk, seen, shop.press)


def test_a_long_file_goes_in_by_pieces_and_is_carried_on(shop, file, monkeypatch):
    """Broken off in the middle, the same file again brings the rest, and none twice."""
    monkeypatch.setattr(takelook, "AT_ONCE", 5)
    monkeypatch.setattr(takein, "_BATCH", 4)
    seen = look(shop, file())
    told = []

    def stop(share, rows):
        told.append((round(share, 2), rows))
        if rows == 8:
            message = "the disk is full"
            raise StoreFull(message)

    assert seen.is_in_pieces
    with pytest.raises(StoreFull, match="disk is full"):
        take_in(shop.desk, seen, shop.press, progress=stop)
    assert told == [(0.2, 4), (0.4, 8)]
    assert len(weights(shop)) == 8

    done = taken(shop, file())
    assert (done.kept, done.again) == (12, 8)
    assert shop.state == shop.refolded()
    assert shop.state.files.files.keys() == {weights(shop)[0].file_id}


def test_a_new_job_can_have_the_facts_of_another(shop, file):
    """The look goes by the facts of the one it is like."""
    seen = look(shop, file(), number="0900", like=shop.number)

    assert (seen.number, seen.facts.number, seen.fact.good) == ("0900", "0900", 20)
    with pytest.raises(BadInput, match="no job 0900"):
        take_in(shop.desk, seen, shop.press)


def test_a_closed_lot_takes_no_file(file):
    """A released job stays as it was signed."""
    shop = Workshop().to_released()

    with pytest.raises(BadInput, match="is closed"):
        look(shop, file())


def test_gross_weights_without_any_empty_are_refused():
    """Nobody guesses what the container weighs."""
    shop = Workshop(job(container={"tare_g": None, "tare_sd_g": None}))
    choice = Choice(holds="weighings", columns={"weight": 0}, basis="gross", decimal=Mark.POINT)

    with pytest.raises(BadInput, match="average empty is not known"):
        takelook.RowCheck(shop.desk, shop.state, choice, "elsewhere")


def test_columns_are_remembered_on_the_site(shop, file):
    """Once for the same headings, and found again by them."""
    rows = file()
    choice = guess(rows, "weighings")
    remember_columns(shop.desk, choice, rows.headings, shop.press)
    count = len(shop.journal.log)
    remember_columns(shop.desk, choice, rows.headings, shop.press)

    kept = shop.desk.book.site().columns["weighings", *rows.headings]
    assert len(shop.journal.log) == count
    assert chosen_before(kept, rows) == choice
