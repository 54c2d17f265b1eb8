"""Pairing: the right code lets one device in, five wrong ones lock for a minute."""

from __future__ import annotations

import stat

import pytest

from fillwright.errors import BadInput
from fillwright.wiring.pairing import Pairing, pairing_file


class Seconds:
    """A count of seconds that only the test moves."""

    now = 100.0

    def __call__(self):
        """Return the count."""
        return self.now


@pytest.fixture
def seconds():
    """A count of seconds that only the test moves."""
    return Seconds()


@pytest.fixture
def pairing(tmp_path, seconds):
    """A pairing that remembers in a file."""
    return Pairing(tmp_path / "devices", monotonic=seconds, today=lambda: "2031-05-06")


def wrong(pairing):
    """A code that is not the right one."""
    return "111111" if pairing.code != "111111" else "222222"


def test_the_right_code_lets_one_device_in(pairing):
    """Its secret counts from then on, no other does, and the code is another one."""
    code = pairing.code
    secret = pairing.pair(f" {code[:3]} {code[3:]} ", "  tablet   one ")

    assert pairing.is_paired(secret)
    assert not pairing.is_paired(secret + "x")
    assert not pairing.is_paired("")
    assert [device.name for device in pairing.devices] == ["tablet one"]
    with pytest.raises(BadInput, match="not the code"):
        pairing.pair(code if code != pairing.code else wrong(pairing), "two")


def test_five_wrong_codes_lock_for_a_minute(pairing, seconds):
    """Then even the right code is refused, until the minute is over and with a new code."""
    for _ in range(4):
        with pytest.raises(BadInput, match="That is not the code"):
            pairing.pair(wrong(pairing), "x")
    old = pairing.code
    with pytest.raises(BadInput, match="Five wrong codes"):
        pairing.pair(wrong(pairing), "x")
    seconds.now += 59
    with pytest.raises(BadInput, match="Wait 1 s"):
        pairing.pair(pairing.code, "x")
    seconds.now += 2

    assert pairing.is_paired(pairing.pair(pairing.code, "x"))
    assert old != pairing.code or old.isdigit()


def test_devices_are_remembered_and_forgotten(tmp_path, pairing):
    """After a restart a device is still in; once forgotten it is out, also after another."""
    secret = pairing.pair(pairing.code, "tablet")
    again = Pairing(tmp_path / "devices")
    assert again.is_paired(secret)
    assert secret not in (tmp_path / "devices").read_text(encoding="utf-8")
    assert stat.S_IMODE((tmp_path / "devices").stat().st_mode) == 0o600

    again.forget(again.devices[0].key)

    assert not again.is_paired(secret)
    assert not Pairing(tmp_path / "devices").is_paired(secret)


@pytest.mark.parametrize("text", ["", "no json", "[1]", '[{"key": "a"}]', "{}"])
def test_a_file_that_is_not_ours_lets_nobody_in(tmp_path, text):
    """A damaged list of devices is an empty one."""
    file = tmp_path / "devices"
    file.write_text(text, encoding="utf-8")

    assert Pairing(file).devices == ()


def test_the_file_lies_beside_the_store(tmp_path):
    """Devices belong to one bench, and so to one journal."""
    assert pairing_file(tmp_path / "j.sqlite3") == tmp_path / "j.sqlite3-devices"


def test_a_list_that_the_disk_did_not_take_is_said_and_written_again(tmp_path, pairing):
    """Cut off for now; written once there is room, so that a restart lets nobody in again."""
    secret = pairing.pair(pairing.code, "tablet")
    assert pairing.is_remembered
    (tmp_path / "devices").rename(tmp_path / "kept")
    (tmp_path / "devices").mkdir()
    pairing.forget(pairing.devices[0].key)
    assert not pairing.is_paired(secret)
    assert not pairing.is_remembered

    (tmp_path / "devices").rmdir()
    (tmp_path / "kept").rename(tmp_path / "devices")
    assert Pairing(tmp_path / "devices").is_paired(secret)
    pairing.forget("")

    assert pairing.is_remembered
    assert not Pairing(tmp_path / "devices").is_paired(secret)
