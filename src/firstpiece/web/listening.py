"""Where the page listens: this computer alone, or its address in the shop's own network besides.

Never every address of the computer, never one that the open internet could reach.
"""

from __future__ import annotations

import ipaddress
import socket
from gettext import gettext as _

from firstpiece.errors import BusyError

PREFERRED_PORT = 8137
HOST = "127.0.0.1"


def listen_here(port: int) -> socket.socket:
    """Return a listening socket on this computer's own address.

    Parameters
    ----------
    port : int
        0 takes ``PREFERRED_PORT``, or any free one when that is in use.

    Raises
    ------
    BusyError
        When the port that was asked for is in use.
    """
    for wanted in (port,) if port else (PREFERRED_PORT, 0):
        found = _bound(HOST, wanted)
        if found is not None:
            return found
    raise _in_use(port)


def listen_in_network(port: int) -> socket.socket:
    """Return a listening socket on the computer's address in the shop's network.

    Raises
    ------
    BusyError
        When there is no such network, its address is a public one, or the port is in use there.
    """
    address = network_address()
    found = _bound(address, port)
    if found is None:
        raise _in_use(port)
    return found


def network_address() -> str:
    """Return the computer's own private address.

    Raises
    ------
    BusyError
        When it has none.
    """
    # Nothing is sent: for UDP, connecting only chooses the way. RFC 5737 keeps the address unused.
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address = str(probe.getsockname()[0])
        except OSError:
            address = HOST
    check_private(address)
    return address


def check_private(address: str) -> None:
    """Refuse an address that is not one of a private network.

    Raises
    ------
    BusyError
    """
    found = ipaddress.ip_address(address)
    if found.is_loopback or found.is_unspecified:
        raise BusyError(
            _("this computer is in no network"),
            remedy=_("join the shop’s network, then open again"),
        )
    if not found.is_private:
        raise BusyError(
            _("{address} can be reached from the whole internet").format(address=address),
            remedy=_("let devices in only from the shop’s own network"),
        )


def _bound(address: str, port: int) -> socket.socket | None:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
        # At once, so that a browser quicker than the server waits and is not turned away.
        listener.listen()
    except OSError:
        listener.close()
        return None
    return listener


def _in_use(port: int) -> BusyError:
    return BusyError(
        _("port {port} is in use").format(port=port),
        remedy=_("leave out --port for a free one"),
    )
