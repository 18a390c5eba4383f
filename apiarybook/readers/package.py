"""The parts of a zipped book, each unpacked once and within bounds."""

import hashlib
import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from xml.parsers import expat

from apiarybook.errors import CannotRead
from apiarybook.readers.limits import LIMITS, Limits

_ENTRY_SIGNATURE = b"PK\x01\x02"
_ENCRYPTED_FLAG = 1
_PACKED = 1 << 13
"""Bytes that are unpacked at a time; they give a thousand times as many at most."""
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError, RuntimeError, OSError)


class Package:
    """A zip file in memory whose parts are read one by one, never more than the limits allow.

    Part names are compared without regard to case, as spreadsheet programs do.

    Raises:
        CannotRead: the zip is broken, has too many parts, or the same part twice.
    """

    def __init__(self, file: str, data: bytes, limits: Limits = LIMITS) -> None:
        self.file = file
        self.limits = limits
        self._data = data
        self._left = limits.unpacked
        if data.count(_ENTRY_SIGNATURE) > limits.parts:
            raise CannotRead(f"{file}: the file has more than {limits.parts:,} parts inside and is not read; {ANEW}")
        try:
            found = zipfile.ZipFile(io.BytesIO(data)).infolist()
        except (*_BROKEN, ValueError) as fault:
            raise CannotRead(f"{file}: the file is cut short or damaged; {ANEW}") from fault
        entries = [(entry.filename.replace("\\", "/").lower(), entry) for entry in found]
        self._entries = dict(entries)
        if len(self._entries) != len(entries):
            raise CannotRead(f"{file}: the file holds one of its parts twice and is not read; {ANEW}")

    def __contains__(self, part: str) -> bool:
        return part.lower() in self._entries

    def names(self) -> list[str]:
        """Names of all parts in lower case, in the order of the zip."""
        return list(self._entries)

    def read(self, part: str) -> bytes:
        """Unpack one part.

        Args:
            part: its name, in any case.

        Returns:
            The part's bytes; empty if there is no such part.

        Raises:
            CannotRead: the part is encrypted, damaged, or unpacks to more than is left of the limit.
        """
        return b"".join(self.pieces(part, self.limits.part))

    def pieces(self, part: str, most: int | None = None) -> Iterator[bytes]:
        """Unpack one part bit by bit, whatever size it claims.

        Args:
            part: its name, in any case.
            most: bytes after which it is refused; those of the whole file if not given.

        Raises:
            CannotRead: as for `read`.
        """
        entry = self._entries.get(part.lower())
        if entry is None:
            return
        if entry.flag_bits & _ENCRYPTED_FLAG:
            raise CannotRead(f"{self.file}: {PASSWORD}")
        check, most = 0, self.limits.unpacked if most is None else min(most, self.limits.unpacked)
        left = most
        try:
            for piece in self._unpacked(entry):
                check, left, self._left = zlib.crc32(piece, check), left - len(piece), self._left - len(piece)
                if min(left, self._left) < 0:
                    bound = (most if left < 0 else self.limits.unpacked) // 1_000_000
                    raise CannotRead(f"{self.file}: the file unpacks to more than {bound} MB and is not read; {ANEW}")
                yield piece
        except _BROKEN as fault:
            raise CannotRead(f"{self.file}: the file is cut short or damaged (in {part}); {ANEW}") from fault
        if check != entry.CRC:
            raise CannotRead(f"{self.file}: the file is cut short or damaged (in {part}); {ANEW}")

    def digest(self, part: str) -> bytes:
        """A digest of one part as it lies in the file, with all that its unpacking rests on.

        Raises:
            CannotRead: the file is damaged.
        """
        entry = self._entries[part.lower()]
        about = f"{entry.CRC} {entry.compress_type} {entry.flag_bits} "
        try:
            return hashlib.sha256(about.encode() + self._packed(entry)).digest()
        except _BROKEN as fault:
            raise CannotRead(f"{self.file}: the file is cut short or damaged (in {part}); {ANEW}") from fault

    def _packed(self, entry: zipfile.ZipInfo) -> memoryview:
        names, extras = struct.unpack_from("<HH", self._data, entry.header_offset + 26)
        first = entry.header_offset + 30 + names + extras
        return memoryview(self._data)[first : first + entry.compress_size]

    def _unpacked(self, entry: zipfile.ZipInfo) -> Iterator[bytes]:
        """The bytes of an entry; ten times as fast as opening it as a stream."""
        packed = self._packed(entry)
        if entry.compress_type == zipfile.ZIP_STORED:
            yield bytes(packed)
            return
        if entry.compress_type != zipfile.ZIP_DEFLATED:
            raise zipfile.BadZipFile("a packing that no spreadsheet program uses")
        inflater = zlib.decompressobj(-zlib.MAX_WBITS)
        for begin in range(0, len(packed), _PACKED):
            yield inflater.decompress(packed[begin : begin + _PACKED])
            if inflater.eof:
                return

    def read_xml(self, part: str) -> bytes:
        """Unpack one XML part and refuse what no spreadsheet program writes: a document type, or UTF-16.

        Raises:
            CannotRead: as for `read`, or the part is not plain XML.
        """
        data = self.read(part)
        if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
            raise CannotRead(f"{self.file}: {part} declares a document type, which no workbook needs; {ANEW}")
        if b"\0" in data:
            raise CannotRead(f"{self.file}: {part} is not UTF-8 text as it should be; {ANEW}")
        return data


ANEW = "open it in a spreadsheet program, save it again as .xlsx and send that."
PASSWORD = "the file is locked with a password; open it, take the password off, save it and send it again."  # noqa: S105 a sentence

MOST_TAGS = 12_000_000
"""Tags of one part that a full parser is let run over, about a microsecond each: three million cells."""

Start = Callable[[str, dict[str, str]], None]
Name = Callable[[str], None]


def parse_xml(place: str, data: bytes, start: Start, end: Name | None = None, text: Name | None = None) -> None:
    """Run over an XML part once, calling back at each element by its name without prefix.

    Args:
        place: file and part, for the message.
        data: the part.
        start: called with name and attributes (with prefix) as an element opens.
        end: called with the name as an element closes.
        text: called with character data between tags, in one or more pieces.

    Raises:
        CannotRead: the XML is broken or declares a document type.
    """
    if data.count(b"<") > MOST_TAGS:
        raise CannotRead(f"{place} has more than {MOST_TAGS:,} tags and is not read; {ANEW}")
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.StartElementHandler = lambda name, attributes: start(name.rpartition(":")[2], attributes)
    if end is not None:
        parser.EndElementHandler = lambda name: end(name.rpartition(":")[2])
    if text is not None:
        parser.CharacterDataHandler = text
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, LookupError) as fault:  # the latter of a name that no encoding has
        raise CannotRead(f"{place} is damaged ({fault}); {ANEW}") from fault


def _refuse_doctype(*_: object) -> None:
    raise expat.ExpatError("document type")


_REFERENCE = re.compile(r"&(?:#(\d{1,7})|#x([0-9A-Fa-f]{1,6})|(lt|gt|amp|quot|apos));")
_NAMED = {"lt": "<", "gt": ">", "amp": "&", "quot": '"', "apos": "'"}


def unescape(text: str) -> str:
    """Resolve the character references of XML text.

    >>> unescape("A1&lt;&gt;&#34;&#x41;&quot;")
    'A1<>"A"'
    """
    return _REFERENCE.sub(_character, text) if "&" in text else text


def _character(found: re.Match[str]) -> str:
    decimal, hexadecimal, named = found.groups()
    if named:
        return _NAMED[named]
    code = int(decimal) if decimal else int(hexadecimal, 16)
    return chr(code) if code <= 0x10FFFF else "\ufffd"  # noqa: PLR2004 the last code point of Unicode
