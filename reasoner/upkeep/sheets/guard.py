"""Look a workbook over before anything opens it: is it one, is it safe, how large is it really?

What a zip file says of its own sizes is not believed; everything is unpacked once, piece by piece,
with nothing kept, and counted. External entities need a DTD, and no honest workbook has one.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path

from .faults import FileRefused


@dataclass(frozen=True, slots=True)
class Bounds:
    """How large a file may be: in bytes, rows and columns, and characters in one cell."""

    packed: int = 100_000_000
    unpacked: int = 800_000_000
    shared_texts: int = 100_000_000
    other_member: int = 20_000_000
    members: int = 2_000
    ratio: int = 300
    ratio_from: int = 2_000_000
    rows: int = 1_048_576
    columns: int = 200
    cell: int = 2_000
    text_run: int = 131_072


BOUNDS = Bounds()
"""Enough for a hundred thousand rows ten times over; far from what fills a computer."""

_PIECE = 65_536
_OLE = bytes.fromhex("d0cf11e0a1b11ae1")
_FORBIDDEN = re.compile(rb"<!\s*(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_DECLARED = re.compile(rb"<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([^\"']{1,40})[\"']")
_XML = (".xml", ".rels")
_BEFORE = b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"
_WRONG_SORT = {
    ".xlsm": "has macros; save it as .xlsx without them",
    ".xltm": "has macros; save it as .xlsx without them",
    ".xlsb": "is a binary workbook; save it as .xlsx or .csv",
    ".xls": "is an old workbook; save it as .xlsx or .csv",
    ".ods": "is an OpenDocument sheet; save it as .xlsx or .csv",
}


def check_size(path: Path, bounds: Bounds = BOUNDS) -> None:
    """Refuse a file that is not there, is no file, is empty or is too large to look at.

    Raises:
        FileRefused: says which.
    """
    try:
        size = path.stat().st_size
    except OSError as error:
        raise FileRefused(path.name, error.strerror or "cannot be read") from None
    if not path.is_file():
        raise FileRefused(path.name, "is no file")
    if size == 0:
        raise FileRefused(path.name, "is empty")
    if size > bounds.packed:
        most = bounds.packed // 1_000_000
        raise FileRefused(path.name, f"has {size // 1_000_000} MB; at most {most} MB are read")
    wrong = _WRONG_SORT.get(path.suffix.lower())
    if wrong:
        raise FileRefused(path.name, wrong)


def check_workbook(path: Path, bounds: Bounds = BOUNDS) -> None:
    """Refuse what is no plain workbook or would harm whoever opens it.

    Raises:
        FileRefused: encrypted, with macros, no zip file, a zip bomb, a DTD, a wrong encoding.
    """
    check_size(path, bounds)
    with path.open("rb") as file:
        start = file.read(8)
    if start == _OLE:
        raise FileRefused(
            path.name, "is encrypted, or an old .xls workbook; save it as .xlsx without a password"
        )
    if not start.startswith(b"PK"):
        raise FileRefused(path.name, "is no workbook, whatever its name says (no zip file)")
    try:
        with zipfile.ZipFile(path) as archive:
            _check_members(path.name, archive, bounds)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        raise FileRefused(path.name, f"is a damaged workbook ({error})") from None


def _check_members(name: str, archive: zipfile.ZipFile, bounds: Bounds) -> None:
    members = archive.infolist()
    if len(members) > bounds.members:
        raise FileRefused(name, f"holds {len(members)} files; a workbook has at most a few dozen")
    names = [member.filename for member in members]
    if len(set(names)) < len(names):
        raise FileRefused(name, "holds two files of one name; no spreadsheet program writes that")
    if any(n.lower().endswith("vbaproject.bin") for n in names):
        raise FileRefused(name, "has macros; save it as .xlsx without them")
    if "[Content_Types].xml" not in names or "xl/workbook.xml" not in names:
        raise FileRefused(name, "is a zip file but no workbook (it has no xl/workbook.xml)")
    total = 0
    for member in members:
        if member.flag_bits & 0x1:
            raise FileRefused(name, "is encrypted; save it without a password")
        total += _check_member(name, archive, member, bounds, total)


def _check_member(
    name: str, archive: zipfile.ZipFile, member: zipfile.ZipInfo, bounds: Bounds, before: int
) -> int:
    """Unpack one member piece by piece and look at it; returns its true size."""
    part = member.filename
    is_sheet = part.startswith("xl/worksheets/")
    own = bounds.unpacked if is_sheet else bounds.other_member
    own = bounds.shared_texts if part.lower() == "xl/sharedstrings.xml" else own
    size, tail, run, is_xml = 0, b"", 0, False
    with archive.open(member) as file:
        while piece := file.read(_PIECE):
            if size == 0:
                # Any member may be pointed at as a sheet, so its name does not excuse it.
                is_xml = part.lower().endswith(_XML) or piece.lstrip(_BEFORE)[:1] == b"<"
                if is_xml:
                    _check_encoding(name, part, piece)
            size += len(piece)
            packed = max(member.compress_size, 1)
            if size > own or before + size > bounds.unpacked:
                raise FileRefused(name, f"unpacks to more than is read ({part}); a zip bomb?")
            if size > bounds.ratio_from and size > bounds.ratio * packed:
                raise FileRefused(
                    name, f"unpacks to over {bounds.ratio} times its size ({part}); a zip bomb?"
                )
            if is_xml and _FORBIDDEN.search(tail + piece):
                raise FileRefused(name, f"has a DTD or an entity ({part}); no workbook needs one")
            if b"macroEnabled" in tail + piece and part == "[Content_Types].xml":
                raise FileRefused(name, "has macros; save it as .xlsx without them")
            run = 0 if b"<" in piece else run + len(piece)
            if is_xml and run > bounds.text_run:
                raise FileRefused(name, f"has a cell of over {run // 1000} thousand signs ({part})")
            tail = piece[-20:]
    return size


def _check_encoding(name: str, part: str, piece: bytes) -> None:
    declared = _DECLARED.search(piece[:300])
    encoding = declared[1].decode("ascii", "replace").lower() if declared else "utf-8"
    if piece[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in piece[:200]:
        encoding = "utf-16"
    if encoding not in ("utf-8", "us-ascii", "ascii"):
        raise FileRefused(name, f"is written in {encoding} inside ({part}); workbooks are UTF-8")
