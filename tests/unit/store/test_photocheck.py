"""Photos that the journal names: there, missing, changed; brought back by a restore."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from fillwright.records.codec import draft
from fillwright.records.entries import MachinePhotoKept, PhotoKept
from fillwright.store.photocheck import look_at
from fillwright.store.photos import PhotoFolder, photos_beside, photos_of, photos_of_copy
from fillwright.store.verify import verify

PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)


def path_of(folder, told):
    """The file of a photo."""
    return folder / told.sha256[:2] / told.sha256


@pytest.fixture
def kept(journal, store, weighing):
    """Two photos, one of a jar and one of the machine, beside a weighing."""
    folder = photos_of(store)
    told = [folder.keep(PNG + bytes([number])) for number in range(2)]
    about = {
        "sha256": told[0].sha256,
        "media_type": told[0].media_type,
        "size_bytes": told[0].size_bytes,
    }
    of_machine = {**about, "sha256": told[1].sha256}
    journal.append([weighing(1)])
    for payload in (
        PhotoKept(container=1, **about),
        MachinePhotoKept(place="strip", of="piston", **of_machine),
        PhotoKept(container=2, **about),
    ):
        at = datetime(2031, 3, 5, 9, tzinfo=UTC)
        journal.append([draft(payload, stream="job/1", at=at, zone="UTC", person="A", bench="b")])
    return told


def test_every_photo_that_is_named_is_looked_at_once(store, kept):
    """Two are named by three entries; all is whole."""
    report = verify(store)

    assert [photo.seq for photo in report.photos] == [2, 3, 4]
    assert {photo.sha256 for photo in report.photos} == {told.sha256 for told in kept}
    assert look_at(report.photos, photos_of(store)) == ()


def test_missing_and_changed_ones_are_named_with_their_entry(store, kept):
    """The chain itself stays whole; without any folder all are missing."""
    folder = store.parent / "photos"
    path_of(folder, kept[0]).unlink()
    path_of(folder, kept[1]).write_bytes(PNG)
    report = verify(store)
    found = look_at(report.photos, photos_of(store))

    assert report.ok
    assert [(one.what, one.photo.seq) for one in found] == [("missing", 2), ("changed", 3)]
    assert found[0].sentence.startswith(f"Photo {kept[0].sha256[:12]}, named by entry 2 of job/1")
    assert [one.what for one in look_at(report.photos, None)] == ["missing", "missing"]


def test_a_backup_brings_back_what_was_lost_or_changed(store, kept):
    """What was changed is set aside and stays."""
    copy = store.with_name("copy.sqlite3")
    photos_of_copy(copy).add_from(photos_of(store))
    folder = store.parent / "photos"
    path_of(folder, kept[0]).unlink()
    path_of(folder, kept[1]).write_bytes(b"changed")

    assert photos_of(store).add_from(photos_of_copy(copy)) == 2
    assert look_at(verify(store).photos, photos_of(store)) == ()
    aside = path_of(folder, kept[1]).with_name(f"{kept[1].sha256}.aside-1")
    assert aside.read_bytes() == b"changed"


def test_a_backup_is_looked_at_with_its_own_photos(tmp_path):
    """Its folder goes before the one beside it."""
    store = tmp_path / "bench.sqlite3"
    told = photos_of(store).keep(PNG)
    copy = tmp_path / "copy.sqlite3"

    assert photos_beside(copy).find(told.sha256)
    photos_of_copy(copy).keep(PNG + b"1")
    assert photos_beside(copy).find(told.sha256) is None
    assert photos_beside("postgresql://bench/journal") is None


def test_a_changed_file_does_not_keep_the_photo_from_being_kept_again(tmp_path):
    """The same photo taken again is whole again."""
    folder = PhotoFolder(tmp_path / "photos")
    told = folder.keep(PNG)
    path_of(tmp_path / "photos", told).write_bytes(b"changed")
    folder.keep(PNG)

    assert folder.find(told.sha256) is not None
