"""One GET under our own deadline and byte cap: what every agency is asked with.

A timeout is for one wait on the socket, so a server that drips could hold us for ever: every wait
here is cut to what is left of the whole. The cap counts unpacked bytes, and unpacking stops there.
"""

from __future__ import annotations

import io
import socket
import time
import zlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urljoin

import requests
from requests.adapters import HTTPAdapter
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.connectionpool import HTTPConnectionPool, HTTPSConnectionPool
from urllib3.exceptions import HTTPError

from guiding.feeds.addresses import (
    AddressRefused,
    Place,
    Resolve,
    checked_addresses,
    place_of,
    resolve,
)

DEADLINE_S = 30.0
MOST_BYTES = 10_000_000
MOST_HOPS = 3
CHUNK = 65_536
MOVED = (301, 302, 303, 307, 308)
SILENT = "it cannot be reached"
KEPT_OF_A_REFUSAL = 64_000  # bytes of the page that comes with a refusal


class NotGot(Exception):
    """No whole answer came; `body` is what had come by then."""

    def __init__(self, words: str, *, is_silent: bool = False, body: bytes = b"") -> None:
        super().__init__(words)
        self.is_silent = is_silent  # the server cannot be reached at all
        self.body = body


class _Broken(Exception):
    """What came is of no use; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """An answer as it came, unpacked. Header names are in lower case."""

    status: int
    url: str
    body: bytes = b""
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What one answer may take, all hops together."""

    seconds: float = DEADLINE_S
    most_bytes: int = MOST_BYTES


def get(
    url: str,
    *,
    headers: Mapping[str, str],
    bounds: Bounds = Bounds(),
    own_servers: Collection[str] = (),
    ask: Resolve = resolve,
) -> Reply:
    """Ask one address once; redirects are followed on the same server only, and never to http.

    Raises NotGot where no whole answer came. An answer that says no is an answer.
    """
    ends_at = time.monotonic() + bounds.seconds
    try:
        first = here = place_of(url, own_servers)
        for _ in range(MOST_HOPS + 1):
            reply = _get_once(here, checked_addresses(here, ask), headers, bounds, ends_at)
            if reply.status not in MOVED:
                return reply
            target = reply.headers.get("location", "")
            here = place_of(urljoin(here.url, target), own_servers)
            if not target or not here.is_same_server(first):
                raise NotGot(f"it has moved to {here.host}, not {first.host}: not followed")
    except AddressRefused as error:
        raise NotGot(str(error)) from error
    raise NotGot(f"it sent us on more than {MOST_HOPS} times")


def _get_once(
    place: Place,
    addresses: Sequence[str],
    headers: Mapping[str, str],
    bounds: Bounds,
    ends_at: float,
) -> Reply:
    sent = {"Accept-Encoding": "gzip", "Accept": "*/*", "Connection": "close", **headers}
    body = bytearray()
    with requests.Session() as session:
        session.trust_env = False  # no proxy and no password file decide where this goes
        session.headers.clear()
        session.mount(f"{place.scheme}://", _Checked(addresses, ends_at))
        try:
            with session.get(
                place.url,
                headers=sent,
                stream=True,
                allow_redirects=False,
                timeout=_left(ends_at),
            ) as answer:
                said = {name.lower(): _plain(value) for name, value in answer.headers.items()}
                most = bounds.most_bytes if answer.status_code in (200, 203) else KEPT_OF_A_REFUSAL
                is_wanted = answer.status_code in (200, 203)
                if answer.status_code != 304 and answer.status_code not in MOVED:
                    _unpack(answer.raw, said, most, body, is_wanted=is_wanted)
        except _Broken as error:
            raise NotGot(str(error), body=bytes(body)) from error
        except (requests.RequestException, HTTPError, OSError) as error:
            words = _in_words(error, ends_at, bounds)
            raise NotGot(words, is_silent=words == SILENT, body=bytes(body)) from error
    return Reply(status=answer.status_code, url=place.url, body=bytes(body), headers=said)


def _unpack(
    raw: Any, said: Mapping[str, str], most: int, out: bytearray, *, is_wanted: bool
) -> None:
    """Read to the end, or to the cap; of an answer that says no the beginning is enough."""
    packing = said.get("content-encoding", "identity").strip().lower() or "identity"
    if packing not in ("identity", "gzip", "x-gzip"):
        raise _Broken(f"it came packed as {packing[:20]!r}; gzip is what was asked for")
    unpacker = zlib.decompressobj(wbits=31) if packing != "identity" else None
    while piece := raw.read(CHUNK, decode_content=False):
        unpacker = _add(out, piece, unpacker, most)
        if len(out) > most:
            del out[most:]
            if is_wanted:
                raise _Broken(f"it holds more than {most:,} bytes")
            return
    if unpacker is not None and not unpacker.eof and is_wanted:
        raise _Broken("it broke off before its end")


def _add(out: bytearray, piece: bytes, unpacker: Any, most: int) -> Any:
    """Add what a piece unpacks to, one byte over the cap at most; return the unpacker to go on."""
    if unpacker is None:
        out += piece[: most + 1 - len(out)]
        return None
    try:
        while piece and len(out) <= most:
            if unpacker.eof:  # gzip may come in several parts
                unpacker = zlib.decompressobj(wbits=31)
            out += unpacker.decompress(piece, most + 1 - len(out))
            piece = unpacker.unconsumed_tail or unpacker.unused_data
    except zlib.error as error:
        raise _Broken("it cannot be unpacked") from error
    return unpacker


def _in_words(error: Exception, ends_at: float, bounds: Bounds) -> str:
    said = f"{error!r} {error.__cause__!r} {error.__context__!r}"
    if time.monotonic() >= ends_at or "imeout" in said or "timed out" in said:
        return f"it was not all there after {bounds.seconds:g} seconds"
    if "IncompleteRead" in said:
        return "it broke off before its end"
    if "SSL" in said or "ertificate" in said:
        return "its certificate is not in order"
    if "LocationParseError" in said or "InvalidURL" in said or "InvalidHeader" in said:
        return "it cannot be asked for: the address or a header is malformed"
    return SILENT


def _left(ends_at: float) -> float:
    left = ends_at - time.monotonic()
    if left <= 0:
        raise TimeoutError("timed out")
    return left


def _plain(value: str) -> str:
    """Return a header without signs that no line and no database takes."""
    return "".join(sign for sign in value if sign.isprintable())[:1000]


class _Checked(HTTPAdapter):
    """Connects to addresses that were checked, whatever the name would lead to by now."""

    def __init__(self, addresses: Sequence[str], ends_at: float) -> None:
        self._addresses, self._ends_at = addresses, ends_at
        super().__init__(max_retries=0)

    def init_poolmanager(self, *args: Any, **kwargs: Any) -> None:
        super().init_poolmanager(*args, **kwargs)
        addresses, ends_at = self._addresses, self._ends_at

        class Plain(_Hurried, HTTPConnection):
            checked, ends = addresses, ends_at

        class Secure(_Hurried, HTTPSConnection):
            checked, ends = addresses, ends_at

        class PlainPool(HTTPConnectionPool):
            ConnectionCls = Plain

        class SecurePool(HTTPSConnectionPool):
            ConnectionCls = Secure

        self.poolmanager.pool_classes_by_scheme = {"http": PlainPool, "https": SecurePool}


class _Hurried:
    """A connection whose every wait ends with the deadline of the whole."""

    checked: Sequence[str]
    ends: float
    port: int
    sock: Any

    def _new_conn(self) -> socket.socket:
        for place, address in enumerate(self.checked, start=1):
            wait = _left(self.ends) / (len(self.checked) - place + 1)
            try:
                return socket.create_connection((address, self.port), timeout=wait)
            except OSError:
                if place == len(self.checked):
                    raise
        raise OSError("no address to connect to")

    def connect(self) -> None:
        super().connect()  # type: ignore[misc]
        self.sock = _HurriedSocket(self.sock, self.ends)


class _HurriedSocket:
    """A socket whose reader cuts each wait to what is left."""

    def __init__(self, sock: Any, ends: float) -> None:
        self._sock, self._ends = sock, ends

    def __getattr__(self, name: str) -> Any:
        return getattr(self._sock, name)

    def sendall(self, data: Any, *args: Any) -> None:
        self._sock.settimeout(_left(self._ends))
        self._sock.sendall(data, *args)

    def makefile(self, mode: str, *args: Any, **kwargs: Any) -> io.BufferedReader:
        return io.BufferedReader(_HurriedReader(self._sock, self._ends))


class _HurriedReader(io.RawIOBase):
    def __init__(self, sock: Any, ends: float) -> None:
        self._sock, self._ends = sock, ends
        self._raw = sock.makefile("rb", buffering=0)

    def readable(self) -> bool:
        return True

    def readinto(self, into: Any) -> int | None:
        self._sock.settimeout(_left(self._ends))
        return self._raw.readinto(into)

    def close(self) -> None:
        self._raw.close()
        super().close()
