"""Photos beside the journal: named by their hash, told by their bytes, whole or not there."""

from __future__ import annotations

import hashlib

import pytest

from fillwright.errors import BadInput, StoreFull
from fillwright.records.photofile import LONGEST_PHOTO
from fillwright.store.photos import PhotoFolder, photos_of, photos_of_copy

PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)
JPEG = b"\xff\xd8\xff\xe0" + bytes(20)
WEBP = b"RIFF\x00\x00\x00\x00WEBP" + bytes(20)


@pytest.mark.parametrize(
    ("data", "kind"), [(PNG, "image/png"), (JPEG, "image/jpeg"), (WEBP, "image/webp")]
)
def test_a_photo_is_found_by_its_hash(tmp_path, data, kind):
    """The same bytes and the type that they begin with; twice the same is one file."""
    folder = PhotoFolder(tmp_path / "photos")

    told = folder.keep(data)
    folder.keep(data)

    assert told.sha256 == hashlib.sha256(data).hexdigest()
    assert folder.find(told.sha256) == (data, kind)
    assert len([path for path in (tmp_path / "photos").rglob("*") if path.is_file()]) == 1


@pytest.mark.parametrize(
    "data",
    [b"", b"<svg onload=x>" + bytes(20), b"GIF89a" + bytes(20), JPEG + bytes(LONGEST_PHOTO)],
)
def test_what_is_no_photo_is_refused(tmp_path, data):
    """Nor one that is too long; nothing is left behind."""
    with pytest.raises(BadInput, match="photo"):
        PhotoFolder(tmp_path / "photos").keep(data)

    assert list(tmp_path.rglob("*")) == []


def test_a_photo_that_was_changed_is_not_shown(tmp_path):
    """Its bytes have another hash; a name that is no hash leads nowhere."""
    folder = PhotoFolder(tmp_path / "photos")
    told = folder.keep(PNG)
    (tmp_path / "photos" / told.sha256[:2] / told.sha256).write_bytes(PNG + b"x")

    assert folder.find(told.sha256) is None
    assert folder.find("../bench.sqlite") is None
    assert folder.find("0" * 64) is None


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    """A file stands in its place."""
    (tmp_path / "photos").write_text("a file")

    with pytest.raises(StoreFull, match="not kept"):
        PhotoFolder(tmp_path / "photos").keep(PNG)


def test_photos_go_with_a_backup_and_come_back(tmp_path):
    """What is missing there is added, once; what was changed or is no photo stays behind."""
    store, copy = tmp_path / "bench.sqlite3", tmp_path / "usb" / "friday.sqlite3"
    mine = photos_of(store)
    told = [mine.keep(data) for data in (PNG, JPEG)]
    (tmp_path / "photos" / told[1].sha256[:2] / told[1].sha256).write_bytes(b"changed")
    (tmp_path / "photos" / "aa").mkdir(exist_ok=True)
    (tmp_path / "photos" / "aa" / "note.txt").write_text("not a photo")

    assert photos_of_copy(copy).add_from(mine) == 1
    assert photos_of_copy(copy).add_from(mine) == 0
    back = photos_of(tmp_path / "new" / "bench.sqlite3")
    assert back.add_from(photos_of_copy(copy)) == 1
    assert back.find(told[0].sha256) == (PNG, "image/png")


def test_a_database_elsewhere_keeps_no_photos():
    """It has no folder beside it."""
    assert photos_of("postgresql://bench/journal") is None
