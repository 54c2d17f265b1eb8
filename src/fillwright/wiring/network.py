"""Addresses by which other devices in the network reach this machine."""

from __future__ import annotations

import socket
import struct
from contextlib import closing, suppress

__all__ = ["own_addresses"]

_GIVE_ADDRESS = 0x8915  # SIOCGIFADDR of Linux, from memory


def own_addresses() -> tuple[str, ...]:
    """Return the IPv4 addresses of this machine but its own loop, without asking the network."""
    try:
        from fcntl import ioctl  # noqa: PLC0415  not there on Windows
    except ImportError:
        with suppress(OSError):
            return tuple(a for a in socket.gethostbyname_ex(socket.gethostname())[2] if _is_far(a))
        return ()
    found = []
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe:
        for _, name in socket.if_nameindex():
            with suppress(OSError):
                asked = struct.pack("256s", name.encode()[:15])
                found.append(socket.inet_ntoa(ioctl(probe.fileno(), _GIVE_ADDRESS, asked)[20:24]))
    return tuple(address for address in found if _is_far(address))


def _is_far(address: str) -> bool:
    """Return whether an address leads here from elsewhere."""
    return not address.startswith("127.")
