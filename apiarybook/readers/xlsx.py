"""Books in Office Open XML: looked over part by part, then read from a copy that holds only the parts looked over.

The reader sees exactly the bytes that the scan saw, whatever else the zip file says about itself.
"""

import io
import posixpath
import zipfile
from collections.abc import Callable, Container
from datetime import datetime
from typing import TYPE_CHECKING, TypeVar

from apiarybook.errors import CannotRead
from apiarybook.readers.cells import MAIN
from apiarybook.readers.limits import check_cells
from apiarybook.readers.package import ANEW, Package, parse_xml
from apiarybook.readers.pieces import Remembered
from apiarybook.readers.records import Format, RawBook, RawSheet
from apiarybook.readers.scan import SheetScan, check_text, scan_sheet
from apiarybook.readers.values import moment, plain_values, program_name

if TYPE_CHECKING:
    from python_calamine import CalamineWorkbook

_Result = TypeVar("_Result")

_ROOT_LINKS = "_rels/.rels"
_USUAL_WORKBOOK = "xl/workbook.xml"
STRINGS = "xl/sharedStrings.xml"
_STYLES = "xl/styles.xml"
_SOME_DAY = 46_270
"""Number of a day that every calendar has, 5 September 2026."""


def read_xlsx(
    package: Package, sha256: str, remembered: Remembered | None = None, only: Container[str] | None = None
) -> RawBook:
    """Read a book in xlsx or xlsm form.

    Args:
        package: the zip file.
        sha256: SHA-256 of its bytes, hexadecimal.
        remembered: what this book said when it was read last, if it was.
        only: names of the sheets to be read; all if not given.

    Raises:
        CannotRead: the file is damaged, out of bounds or of another kind.
    """
    file, limits = package.file, package.limits
    workbook = _Workbook(package, only)
    parts = workbook.parts
    parts |= {part: package.read_xml(part) for part in (_STYLES, STRINGS) if part in package}
    scans, area = {}, 0
    for sheet in workbook.worksheets():
        scans[sheet.name] = scan_sheet(package, sheet.name, sheet.part, remembered)
        area += scans[sheet.name].rows * scans[sheet.name].columns
        check_cells(file, sheet.name, area, limits)
    check_text(file, parts.get(STRINGS, b""), {name: scan.cells for name, scan in scans.items()}, limits)
    if remembered is not None:
        remembered.turn()
    days = _days(file, parts, workbook, scans)
    for sheet in workbook.worksheets():
        cells = scans[sheet.name].cells
        parts[sheet.part] = cells if isinstance(cells, bytes) else cells.part(days)
    reader = _open(file, parts)
    sheets = {sheet.name: _sheet(package, reader, sheet, scans.get(sheet.name)) for sheet in workbook.sheets}
    macros = any("vbaproject" in part for part in package.names())
    form: Format = "xlsm" if macros else "xlsx"
    remarks = (f"{file}: the macros in this file were ignored.",) if macros else ()
    return RawBook(file, sha256, form, _saved(package), _properties(package), sheets, remarks, _program(package))


def worksheet_parts(package: Package) -> dict[str, str]:
    """The part of each sheet that has cells, by the sheet's name.

    Args:
        package: the zip file.

    Raises:
        CannotRead: the file is damaged, out of bounds or of another kind.
    """
    return {sheet.name: sheet.part for sheet in _Workbook(package).worksheets()}


def linked_parts(package: Package, part: str) -> list[tuple[str, str]]:
    """Kind and name of each part that a part leads to.

    Args:
        package: the zip file.
        part: name of the part.

    Raises:
        CannotRead: the list of links is damaged.
    """
    return list(_links(package, part, package.read_xml(_links_part(part))).values())


class _Link:
    """One sheet of the workbook: its name, its part and what kind of sheet it is."""

    def __init__(self, name: str, part: str, kind: str, *, hidden: bool) -> None:
        self.name, self.part, self.kind, self.hidden = name, part, kind, hidden


class _Workbook:
    """The list of sheets and the parts they stand in."""

    def __init__(self, package: Package, only: Container[str] | None = None) -> None:
        self.file, self._only = package.file, only
        roots = _links(package, "", package.read_xml(_ROOT_LINKS)).values()
        part = next((target for kind, target in roots if kind == "officeDocument" and target), _USUAL_WORKBOOK)
        if part not in package or not part.endswith(".xml") or not part.startswith("xl/"):
            raise CannotRead(f"{self.file}: this is not a workbook in xlsx form (it may be .xlsb); {ANEW}")
        links_part = _links_part(part)
        self.parts = {name: package.read_xml(name) for name in (_ROOT_LINKS, part, links_part)}
        self._links = _links(package, part, self.parts[links_part])
        self.sheets: list[_Link] = []
        parse_xml(f"{self.file}: the list of sheets", self.parts[part], self._start)
        if len(self.sheets) > package.limits.sheets:
            raise CannotRead(
                f"{self.file}: the book has {len(self.sheets):,} sheets, more than the {package.limits.sheets} that "
                "are read; delete the sheets that are not part of the book, save and send it again."
            )
        if len({sheet.name.casefold() for sheet in self.sheets}) != len(self.sheets):
            raise CannotRead(f"{self.file}: two sheets have the same name; {ANEW}")

    def worksheets(self) -> list[_Link]:
        """Sheets whose cells are to be read: a sheet that is only a chart has none."""
        cells = [sheet for sheet in self.sheets if sheet.kind == "worksheet"]
        return cells if self._only is None else [sheet for sheet in cells if sheet.name in self._only]

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if name != "sheet":
            return
        title = attributes.get("name", "")
        identity = next((value for key, value in attributes.items() if key.endswith(":id")), "")
        kind, part = self._links.get(identity, ("", ""))
        if not part:
            raise CannotRead(f"{self.file}: sheet {title} is listed, but its content is missing; {ANEW}")
        self.sheets.append(_Link(title, part, kind, hidden=attributes.get("state", "visible") != "visible"))


def _links_part(part: str) -> str:
    folder, _, name = part.rpartition("/")
    return f"{folder}/_rels/{name}.rels"


def _links(package: Package, part: str, xml: bytes) -> dict[str, tuple[str, str]]:
    """Kind and part name of each link of a part, by its id."""
    links: dict[str, tuple[str, str]] = {}
    folder = posixpath.dirname(part)

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == "Relationship" and attributes.get("TargetMode") != "External":
            kind = attributes.get("Type", "").rpartition("/")[2]
            target = posixpath.normpath(posixpath.join("/", folder, attributes.get("Target", ""))).lstrip("/")
            links[attributes.get("Id", "")] = (kind, target if target in package else "")

    if xml:
        parse_xml(f"{package.file}: a list of links", xml, start)
    return links


def _open(file: str, parts: dict[str, bytes]) -> "CalamineWorkbook":
    from python_calamine import CalamineWorkbook

    copy = io.BytesIO()
    with zipfile.ZipFile(copy, "w") as target:
        for part, data in parts.items():
            target.writestr(zipfile.ZipInfo(part), data)
    copy.seek(0)
    return _guarded(file, lambda: CalamineWorkbook.from_filelike(copy))


def _days(file: str, parts: dict[str, bytes], workbook: "_Workbook", scans: dict[str, SheetScan]) -> frozenset[bytes]:
    """The attributes of a cell under which a reader takes a number for a day or a time: it is asked once for each."""
    told_apart = [scan.cells for scan in scans.values() if not isinstance(scan.cells, bytes)]
    ways = list(dict.fromkeys(way for cells in told_apart for way in cells.ways_of_numbers()))
    if not any(b" s=" in way for way in ways):
        return frozenset()
    first = workbook.worksheets()[0]
    row = b'<row r="%d"><c r="A%d"%s><v>%d</v></c></row>'
    asked = b"".join(row % (at, at, way, _SOME_DAY) for at, way in enumerate(ways, 1))
    asking = b'<worksheet xmlns="%s"><sheetData>%s</sheetData></worksheet>' % (MAIN, asked)
    reader = _open(file, {name: part for name, part in parts.items() if name != STRINGS} | {first.part: asking})
    said = _guarded(file, lambda: reader.get_sheet_by_name(first.name).to_python(skip_empty_area=False))
    return frozenset(way for way, (one,) in zip(ways, said, strict=True) if not isinstance(one, float))


def _guarded(file: str, read: Callable[[], _Result]) -> _Result:
    """Turn whatever the reading library throws, its panics included, into one sentence."""
    try:
        return read()
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as fault:
        raise CannotRead(f"{file}: the file is damaged and cannot be read ({_brief(fault)}); {ANEW}") from fault


def _brief(fault: BaseException) -> str:
    return " ".join(str(fault).split())[:80] or type(fault).__name__


def _sheet(package: Package, reader: "CalamineWorkbook", link: _Link, scan: SheetScan | None) -> RawSheet:
    if scan is None:
        return RawSheet(link.name, [], hidden=link.hidden, has_drawing=True)
    place = f"{package.file}, sheet {link.name}"
    values = _guarded(place, lambda: reader.get_sheet_by_name(link.name).to_python(skip_empty_area=False))
    notes, drawing = _attachments(package, link.part)
    rows = plain_values(values, scan.errors) if isinstance(scan.cells, bytes) else scan.cells.filled(values)
    return RawSheet(link.name, rows, link.hidden, scan.errors, scan.formulas, notes, drawing)


def _attachments(package: Package, part: str) -> tuple[bool, bool]:
    """Whether a sheet has notes, and whether a picture, chart or shape lies on it."""
    links = linked_parts(package, part)
    kinds = {kind for kind, _ in links}
    drawings = [target for kind, target in links if kind == "drawing" and target]
    return bool(kinds & {"comments", "threadedComment"}), any(
        b"Anchor" in package.read_xml(target) for target in drawings
    )


def _saved(package: Package) -> datetime | None:
    return moment(_collected(package, "docProps/core.xml", "modified").get("modified", ""))


def _program(package: Package) -> str:
    return program_name(_collected(package, "docProps/app.xml", "Application").get("Application", ""))


def _properties(package: Package) -> dict[str, str]:
    texts = _collected(package, "docProps/custom.xml", "property", key="name")
    return {name: value.strip() for name, value in texts.items()}


def _collected(package: Package, part: str, element: str, key: str = "") -> dict[str, str]:
    """The text inside each element of one name, by an attribute of it or, without one, by that name."""
    texts: dict[str, str] = {}
    inside: list[str] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == element:
            inside.append(attributes.get(key, "") if key else element)
            texts[inside[-1]] = ""

    def end(name: str) -> None:
        if name == element:
            inside.pop()

    def text(piece: str) -> None:
        if inside:
            texts[inside[-1]] += piece

    xml = package.read_xml(part)
    if xml:
        parse_xml(f"{package.file}: {part}", xml, start, end, text)
    return texts


def told_of_itself(package: Package) -> dict[str, str]:
    """What a book says of itself outside its sheets: its own properties, its title and when it was saved.

    Args:
        package: the parts of the file.

    Returns:
        the texts by name; title and modified as the standard properties have them.
    """
    core = (_collected(package, "docProps/core.xml", name) for name in ("title", "modified"))
    return _properties(package) | {name: text for texts in core for name, text in texts.items()}
