"""Ports: addresses that cannot be, and a line that comes back to its own end."""

from __future__ import annotations

import pytest

from fillwright.errors import BadInput, PortGone
from fillwright.scale.ports import open_line


@pytest.mark.parametrize(
    "url",
    ["", "  ", "spy:///dev/null", "socket://", "socket://bench", "socket://bench:x", "http://a:1"],
)
def test_an_address_that_cannot_be_is_refused(url):
    """Only devices, sockets, remote serial ports and the loop are taken."""
    with pytest.raises(BadInput, match="give a serial device, socket://host:port"):
        open_line(url)


def test_a_setting_that_cannot_be_is_refused():
    """A speed below nothing is told with the line it was for."""
    with pytest.raises(BadInput, match="'loop://' cannot be set up"):
        open_line("loop://", baud_per_s=-1)


def test_a_device_that_is_not_there_is_gone():
    """A missing device is a port that is gone, with its name."""
    with pytest.raises(PortGone, match="The scale line /dev/no-such-port is not there"):
        open_line("/dev/no-such-port")


def test_the_loop_gives_back_what_was_written():
    """What is written into a loop is read from it; then it is silent."""
    line = open_line("loop://")
    line.write(b"weight 250.13 g\r\n")

    assert line.read(1.0) == b"weight 250.13 g\r\n"
    assert line.read(0.0) == b""
    line.close()
