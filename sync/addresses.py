"""Where phones find this PC: its addresses on the local network, and one stable name announced by mDNS (RFC 6762).

A phone keeps its findings under the address that it opened. An IP address changes hands; the fleet's own name
"CODE.local" goes with the collection, even to another PC, so it comes first everywhere.
"""

import ipaddress
import socket
from collections.abc import Iterable
from dataclasses import dataclass

import ifaddr
from zeroconf import Error as ZeroconfError
from zeroconf import ServiceInfo, Zeroconf

SERVICE = "_https._tcp.local."
_LOCAL = [ipaddress.ip_network(net) for net in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")]  # RFC 1918


@dataclass(frozen=True)
class Places:
    """The names a phone may use, best first, and this PC's private addresses."""

    names: tuple[str, ...]
    addresses: tuple[str, ...]

    @property
    def best(self) -> str:
        return self.names[0]

    @property
    def networked(self) -> bool:
        return any(not ipaddress.ip_address(address).is_loopback for address in self.addresses)


def places(code: str, *, hostname: str | None = None, found: Iterable[str] | None = None) -> Places:
    """Names and addresses of this PC for a fleet's `code`; what the system says can be given instead."""
    host = (hostname if hostname is not None else socket.gethostname()).split(".")[0].lower()
    own = [f"{host}.local"] if host and host.isascii() and host.replace("-", "").isalnum() else []
    addresses = sorted(_usable(system_addresses() if found is None else found), key=_order)
    return Places(tuple(dict.fromkeys([f"{code}.local", *own, "localhost"])), (*addresses, "127.0.0.1"))


def system_addresses() -> tuple[str, ...]:
    """Every IP address of this PC's adapters."""
    return tuple(
        ip.ip if isinstance(ip.ip, str) else ip.ip[0] for adapter in ifaddr.get_adapters() for ip in adapter.ips
    )


def _usable(found: Iterable[str]) -> set[str]:
    """Private IPv4 addresses: what a phone in the same network can type, and what the authority vouches for."""
    parsed = [ipaddress.ip_address(address) for address in found]
    return {str(a) for a in parsed if any(a.version == 4 and a in net for net in _LOCAL)}


def _order(address: str) -> tuple[int, ...]:
    return tuple(int(part) for part in address.split("."))


class Announced:
    """The fleet's name, answered for on the local network while the door is open."""

    def __init__(self, code: str, found: Places, port: int) -> None:
        packed = [socket.inet_aton(a) for a in found.addresses if a != "127.0.0.1"]
        self._info = ServiceInfo(
            SERVICE, f"Driptray {code}.{SERVICE}", addresses=packed, port=port, server=f"{found.best}."
        )
        self._responder: Zeroconf | None = None
        self.trouble = ""

    def start(self) -> "Announced":
        """Begin to answer; where that cannot be, `trouble` says why and the addresses still work.

        Takes some seconds, and not in a thread that runs an event loop: the responder brings one of its own.
        """
        try:
            self._responder = Zeroconf()
            self._responder.register_service(self._info, allow_name_change=False)
        except (OSError, ZeroconfError) as error:
            self.trouble = f"the name cannot be announced on this network ({str(error) or type(error).__name__})"
            self.stop()
        return self

    def stop(self) -> None:
        if self._responder is not None:
            self._responder.close()
            self._responder = None
