"""Photos go with a job or a case, and nothing comes in that is not named or was changed."""

from __future__ import annotations

import base64
import io
import json
from dataclasses import replace
from hashlib import sha256

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.fault.case import case_file
from fillwright.jobs.fault.case_photos import shown_photos
from fillwright.jobs.field import case_sent as casesent
from fillwright.jobs.field import register as field
from fillwright.jobs.files.job import job_lines, look_at_job, open_brought
from fillwright.jobs.run.photos import keep_fault_photo, keep_photo, keep_step_photo
from fillwright.jobs.strip.acts import begin
from fillwright.knowledge.procedures_load import shipped_profiles
from fillwright.records import job_file
from fillwright.records.case_file import MOST_CASE_PHOTOS, case_from_bytes, case_to_bytes
from fillwright.store.photos import PhotoFolder

PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)
JPEG = b"\xff\xd8\xff" + bytes(40)


@pytest.fixture
def shop(tmp_path):
    """A job with a photo of its first jar, and one of a step of its strip."""
    shop = Workshop().to_run()
    shop.desk = replace(shop.desk, photos=PhotoFolder(tmp_path / "photos"))
    keep_photo(shop.desk, shop.number, PNG, shop.press)
    begin(shop.desk, shop.number, next(iter(shipped_profiles())), shop.press)
    keep_step_photo(shop.desk, shop.number, "note_settings", JPEG, shop.press)
    return shop


@pytest.fixture
def other(tmp_path):
    """Another bench, with a folder of its own."""
    other = Workshop(job("0100"))
    other.desk = replace(other.desk, photos=PhotoFolder(tmp_path / "elsewhere"))
    return other


def sent(shop):
    """The job as lines of a file."""
    return list(job_lines(shop.desk, shop.number))


def look(shop, lines):
    """Look at a file of these lines."""
    return look_at_job(shop.desk, io.BytesIO(b"".join(lines)))


def sealed(lines):
    """Return lines with a seal that fits them, as somebody would who changed them."""
    body = b"".join(lines)
    return [*lines, json.dumps({"seal": sha256(body).hexdigest()}).encode() + b"\n"]


def line(data, digest=None):
    """A photo as a line."""
    text = base64.b64encode(data).decode()
    return f'{{"photo":"{digest or sha256(data).hexdigest()}","data":"{text}"}}\n'.encode()


def test_photos_come_with_the_job(shop, other):
    """Both are kept there, by their hash."""
    lines = sent(shop)
    data = b"".join(lines)
    looked = look(other, lines)
    open_brought(other.desk, looked, looked.number, other.press, file=io.BytesIO(data))

    assert lines[0].startswith(b'{"form":"fillwright-job 2"')
    assert looked.photos_words == "2"
    assert other.desk.photos.find(sha256(PNG).hexdigest()) == (PNG, "image/png")
    assert other.desk.photos.find(sha256(JPEG).hexdigest()) == (JPEG, "image/jpeg")


def test_a_photo_that_is_gone_here_is_told_there(shop, other, tmp_path):
    """The job goes without it, and the page says so."""
    digest = sha256(PNG).hexdigest()
    (tmp_path / "photos" / digest[:2] / digest).unlink()

    assert look(other, sent(shop)).photos_words == "1 of 2; the others stayed there"


def test_a_job_without_photos_keeps_the_first_form(other):
    """So that a copy of an earlier version opens it."""
    shop = Workshop().to_run()
    lines = sent(shop)

    assert lines[0].startswith(b'{"form":"fillwright-job 1"')
    assert look(other, lines).photos_words == ""


def test_a_bench_without_a_folder_takes_the_job_alone(shop):
    """As one whose journal is a database elsewhere."""
    bare = Workshop(job("0100"))
    lines = sent(shop)
    looked = look(bare, lines)

    state = open_brought(
        bare.desk, looked, looked.number, bare.press, file=io.BytesIO(b"".join(lines))
    )
    assert state.lots.photos[0].sha256 == sha256(PNG).hexdigest()


@pytest.mark.parametrize(
    ("put", "told"),
    [
        (line(b"\xff\xd8\xff" + bytes(60)), "no entry names this photo"),
        (line(PNG), "or it comes twice"),
        (line(b"<script>alert(1)</script>"), "what should be a photo is none"),
        (line(JPEG, "0" * 64), "not the one of its hash"),
        (b'{"photo":"../../x","data":"AAAA"}\n', "no photo as this form writes it"),
        (b'{"photo":"' + b"0" * 64 + b'","data":"AA AA"}\n', "no photo as this form writes it"),
        (b'{"photo":' + b" " * 5_000_000 + b"}\n", "it is too long"),
    ],
)
def test_a_photo_that_does_not_belong_is_refused(shop, other, put, told):
    """Also where the seal was made anew; nothing is kept."""
    lines = sent(shop)
    with pytest.raises(BadInput, match=told):
        look(other, sealed([*lines[:-1], put]))


def test_photos_stand_in_no_file_of_the_first_form(shop, other):
    """There they are what they are: a line that does not belong."""
    lines = sent(shop)
    header = lines[0].replace(b"fillwright-job 2", b"fillwright-job 1")
    with pytest.raises(BadInput, match="This job file cannot be opened"):
        look(other, sealed([header, *lines[1:-1]]))


def test_more_photos_than_are_taken_are_refused(shop, other, monkeypatch):
    """By their number, and by their bytes."""
    lines = sent(shop)
    for limit, value in (("MOST_PHOTOS", 1), ("MOST_PHOTO_BYTES", 50)):
        with monkeypatch.context() as patched:
            patched.setattr(job_file, limit, value)
            with pytest.raises(BadInput, match="more photos than are taken in"):
                look(other, lines)


def test_a_file_that_changes_after_the_look_brings_nothing(shop, other):
    """Each photo is checked again as it is kept; then no entry comes either."""
    lines = sent(shop)
    looked = look(other, lines)
    data = b"".join(lines).replace(line(JPEG), line(b"\xff\xd8\xff" + bytes(39) + b"\x01"))
    count = len(other.journal.log)

    with pytest.raises(BadInput, match="changed since it was looked at"):
        open_brought(other.desk, looked, looked.number, other.press, file=io.BytesIO(data))
    assert len(other.journal.log) == count


def searched(shop):
    """Look for a fault, with a photo of it."""
    fault.begin(shop.desk, shop.number, "drips", (), shop.press)
    keep_fault_photo(shop.desk, shop.number, b"\xff\xd8\xff" + bytes(90), shop.press)
    return case_to_bytes(case_file(shop.desk, shop.number))


def test_photos_go_with_a_case_and_are_kept_where_it_is_opened(shop, other):
    """That of the fault first; the journal there holds hashes, and the case can be sent on."""
    data = searched(shop)
    number = casesent.receive(other.desk, data, "case.json", 0, other.press)
    again = casesent.receive(other.desk, data, "case.json", 0, other.press)
    case = field.case_of(other.desk, number)

    assert again == number
    shown = shown_photos(other.desk, case.sent)
    assert [photo.of for photo, _ in shown][:2] == ["what is wrong", "jar 12"]
    assert [is_kept for _, is_kept in shown] == [True] * 3
    assert all(not photo.data for photo in case.sent.photos)
    assert len(case.received.content) < 10_000
    onward = case_from_bytes(case_to_bytes(casesent.as_sent(other.desk, case)))
    assert onward.photos == case_from_bytes(data).photos


def test_a_case_holds_so_many_photos_and_each_once(shop):
    """The latest of the fault go first."""
    fault.begin(shop.desk, shop.number, "drips", (), shop.press)
    for place in (*range(9), 8):
        photo = b"\xff\xd8\xff" + bytes(90) + bytes([place])
        keep_fault_photo(shop.desk, shop.number, photo, shop.press)
    sent = case_file(shop.desk, shop.number)

    assert len({photo.sha256 for photo in sent.photos}) == MOST_CASE_PHOTOS
    assert {photo.of for photo in sent.photos} == {"what is wrong"}
    assert sent.photos[0].photo_bytes[-1] == 8


def test_a_bench_without_a_folder_shows_that_a_photo_came(shop):
    """It names it, and takes the case all the same."""
    bare = Workshop(job("0100"))
    number = casesent.receive(bare.desk, searched(shop), "case.json", 0, bare.press)

    case = field.case_of(bare.desk, number)
    assert [is_kept for _, is_kept in shown_photos(bare.desk, case.sent)] == [False] * 3


def test_a_case_without_photos_has_no_word_of_them():
    """So that a copy of an earlier version opens it."""
    shop = Workshop().to_run()
    fault.begin(shop.desk, shop.number, "drips", (), shop.press)
    data = case_to_bytes(case_file(shop.desk, shop.number))

    assert b"photos" not in data
    assert b"names" not in data
