"""The bytes of a file -> numbered lines and cells; nothing is unpacked or decoded without bound."""

from __future__ import annotations

import csv
import io
import zlib
from collections.abc import Iterator

from guiding.gauges.intake.csvmap import DELIMITERS, FileRefused

MOST_BYTES = 64_000_000  # after unpacking: thirty years of readings each quarter of an hour
MOST_IN_A_LINE = 100_000  # characters
GZIP = b"\x1f\x8b"


def unpacked(data: bytes, *, most: int = MOST_BYTES) -> bytes:
    """Return the bytes of a plain or a gzip file; FileRefused where they are broken or too many."""
    if not data.startswith(GZIP):
        if len(data) > most:
            raise FileRefused(f"the file has more than {most:,} bytes; split it.")
        return data
    parts, size = [], 0
    rest = data
    try:
        while rest.startswith(GZIP):  # a gzip file may hold several members
            engine = zlib.decompressobj(wbits=31)
            parts.append(engine.decompress(rest, most + 1 - size))
            size += len(parts[-1])
            if size > most:
                raise FileRefused(f"the file unpacks to more than {most:,} bytes; split it.")
            if not engine.eof:
                raise FileRefused("the gzip file breaks off before its end.")
            rest = engine.unused_data
    except zlib.error as error:
        raise FileRefused(f"the gzip file cannot be unpacked: {error}.") from error
    return b"".join(parts)


def encoding_of(data: bytes, said: str | None) -> str:
    """Return the encoding to read with; FileRefused where the bytes are no text at all."""
    if said:
        return "utf-8-sig" if said == "utf-8" else said
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    # a logger that lost its power leaves a NUL in a row; in the first line it is no table at all
    if b"\x00" in data[:MOST_IN_A_LINE].split(b"\n", 1)[0]:
        raise FileRefused("the file is binary (it holds NUL bytes), not text with columns.")
    return "utf-8-sig"


def lines_of(data: bytes, encoding: str, skip: int) -> Iterator[tuple[int, str]]:
    """Yield lines with their numbers; empty ones and those that begin with # are left out."""
    number = 0
    stream = io.TextIOWrapper(io.BytesIO(data), encoding=encoding)
    try:
        for number, text in enumerate(stream, start=1):
            if number > skip and text.strip() and not text.startswith("#"):
                yield number, text.rstrip("\n")
    except UnicodeError as error:
        name = encoding.removesuffix("-sig").upper()
        raise FileRefused(
            f"the file is not text in {name} (after line {number}); if it is text, say its "
            "encoding in a map, such as cp1252."
        ) from error


def delimiter_of(line: str) -> str:
    """Return the delimiter that cuts a line into the most columns."""
    return max(DELIMITERS, key=line.count)


def cells_of(line: str, delimiter: str) -> list[str]:
    """Return a line's cells. Each line stands alone, so an open quote spoils one line only."""
    if len(line) > MOST_IN_A_LINE:
        raise FileRefused(f"a line is {len(line):,} characters long; {MOST_IN_A_LINE:,} at most.")
    try:
        cells = next(csv.reader([line], delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise FileRefused(f"the line cannot be cut into columns: {error}.") from error
    return [cell.strip() for cell in cells]
