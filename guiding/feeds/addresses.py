"""Which addresses may be asked: https on the agency's own host, and nothing inside the house.

The owner may name servers of his own (settings.FEEDS_OWN_SERVERS), which may then speak http and
stand in a private network. Everything else is checked on the address that a name leads to, and the
connection goes to that very address.
"""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from urllib.parse import quote, urlsplit

HOST = re.compile(r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*")
HTTPS_PORT = 443
NAT64 = ipaddress.ip_network("64:ff9b::/96")

Resolve = Callable[[str, int], Collection[str]]


class AddressRefused(ValueError):
    """An address that may not be asked; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One address taken apart and checked in its writing."""

    scheme: str
    host: str
    port: int
    rest: str  # path and query
    is_own: bool

    @property
    def url(self) -> str:
        """Return the address as it is asked for."""
        shown = f"[{self.host}]" if ":" in self.host else self.host
        port = "" if (self.scheme, self.port) == ("https", HTTPS_PORT) else f":{self.port}"
        return f"{self.scheme}://{shown}{port}{self.rest}"

    def is_same_server(self, other: Place) -> bool:
        """Say whether another address is on the very same server."""
        return (self.scheme, self.host, self.port) == (other.scheme, other.host, other.port)


def place_of(url: str, own_servers: Collection[str]) -> Place:
    """Take an address apart; http becomes https except on a server of our own."""
    if not url.isascii() or re.search(r"[\x00-\x20\x7f\\]", url):
        raise AddressRefused("the address holds a space or a sign that no address has")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError as error:
        raise AddressRefused(f"this is no address: {error}") from error
    host = (parts.hostname or "").rstrip(".")
    if parts.scheme not in ("http", "https"):
        raise AddressRefused(f"the address begins with {parts.scheme[:20]!r}; https is allowed")
    if "@" in parts.netloc or parts.fragment:
        raise AddressRefused("the address holds a name with a password, or a #; neither is allowed")
    if not HOST.fullmatch(host) and not _is_number(host):
        raise AddressRefused(f"{host[:60]!r} is not the name of a server")
    rest = quote(parts.path or "/", safe="/%:@!$&'()*+,;=-._~")
    if parts.query:
        rest += "?" + quote(parts.query, safe="/%:@!$&'()*+,;=-._~?")
    asked = Place(scheme=parts.scheme, host=host, port=port or 80, rest=rest, is_own=True)
    if port is None and parts.scheme == "https":
        asked = replace(asked, port=HTTPS_PORT)
    if f"{host}:{asked.port}" in own_servers:
        return asked
    if port not in (None, HTTPS_PORT, 80):
        raise AddressRefused(f"the address names port {port}; https on its usual port is allowed")
    return replace(asked, scheme="https", port=HTTPS_PORT, is_own=False)


def resolve(host: str, port: int) -> list[str]:
    """Return the addresses that a name leads to."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except OSError as error:
        raise AddressRefused(f"the name {host} leads nowhere") from error
    return list(dict.fromkeys(str(entry[4][0]) for entry in found))


def checked_addresses(place: Place, ask: Resolve = resolve) -> list[str]:
    """Return the addresses that may be connected to; refuse where any of them is private."""
    found = list(ask(place.host, place.port))
    if not found:
        raise AddressRefused(f"the name {place.host} leads nowhere")
    if not place.is_own:
        for address in found:
            if not is_public(address):
                raise AddressRefused(f"{place.host} leads into a private network, {address}")
    return found


def is_public(address: str) -> bool:
    """Say whether an address is one of the open internet, whatever it is wrapped in."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return False
    if isinstance(found, ipaddress.IPv6Address):
        inside = found.ipv4_mapped or found.sixtofour or (found.teredo or (None, None))[1]
        if found in NAT64:
            inside = ipaddress.IPv4Address(int(found) & 0xFFFFFFFF)
        if inside is not None:
            return is_public(str(inside))
        if found.is_site_local:
            return False
    return found.is_global and not (
        found.is_multicast or found.is_reserved or found.is_unspecified or found.is_loopback
    )


def _is_number(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True
