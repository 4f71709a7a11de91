"""The tags of a PDF, read by hand from pypdf's objects (ISO 32000-1, 14.6 to 14.8)."""

import io
from dataclasses import dataclass
from typing import Any

import pypdf
from pypdf.generic import ContentStream


@dataclass(frozen=True)
class Element:
    """A structure element that holds marked content: its tag, page, MCID, and text if given."""

    tag: str
    page: int
    place: int
    said: str


@dataclass(frozen=True)
class Content:
    """Marked content on a page: its tag, its MCID unless it adorns, and what is drawn in it."""

    tag: str
    page: int
    place: int | None
    operators: tuple[str, ...]


def read(file: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(file), strict=True)


def elements(file: bytes) -> list[Element]:
    """In the order of reading, from the root of the tree down; parents must be named rightly."""
    reader = read(file)
    pages = {page.indirect_reference.idnum: at for at, page in enumerate(reader.pages)}
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    found: list[Element] = []

    def walk(node: Any, parent: Any) -> None:
        element = node.get_object()
        assert element["/Type"] == "/StructElem"
        assert element.raw_get("/P").idnum == parent.idnum
        if isinstance(element["/K"], int):
            said = element.get("/ActualText", "")
            page = pages[element.raw_get("/Pg").idnum]
            found.append(Element(element["/S"], page, element["/K"], str(said)))
        else:
            for kid in element["/K"]:
                walk(kid, node)

    for kid in root["/K"]:
        walk(kid, reader.trailer["/Root"].raw_get("/StructTreeRoot"))
    return found


def contents(file: bytes) -> list[Content]:
    """The marked content of all pages; whatever draws must be inside of one."""
    reader = read(file)
    found = []
    for at, page in enumerate(reader.pages):
        open_: list[tuple[str, int | None]] = []
        drawn: list[str] = []
        if "/Contents" not in page:
            continue
        for operands, operator in ContentStream(page["/Contents"], reader).operations:
            name = operator.decode()
            if name in {"BDC", "BMC"}:
                about = operands[1] if name == "BDC" else {}
                open_.append((operands[0], about.get("/MCID")))
            elif name == "EMC":
                tag, place = open_.pop()
                if not open_:
                    found.append(Content(tag, at, place, tuple(drawn)))
                    drawn = []
            elif name in {"Tj", "TJ", "S", "f"}:
                assert open_, f"{name} outside of marked content"
                drawn.append(name)
        assert not open_
    return found


def parents(file: bytes) -> dict[tuple[int, int], str]:
    """The tag that the parent tree gives for each page and MCID."""
    reader = read(file)
    numbers = reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    by_number = dict(zip(numbers[::2], numbers[1::2], strict=True))
    return {
        (at, place): element.get_object()["/S"]
        for at, page in enumerate(reader.pages)
        # An empty page has none.
        if "/StructParents" in page
        for place, element in enumerate(by_number[page["/StructParents"]].get_object())
    }


def figures(reader: pypdf.PdfReader) -> list[str]:
    """What each Figure shows, in words (ISO 32000-1, 14.9.3), in the order of reading."""
    found: list[str] = []
    left = [reader.trailer["/Root"]["/StructTreeRoot"]]
    while left:
        element = left.pop(0).get_object()
        if isinstance(element, list):
            left[:0] = element
        elif isinstance(element, dict):
            if element.get("/S") == "/Figure":
                found.append(str(element.get("/Alt", "")))
            left[:0] = [element["/K"]] if "/K" in element else []
    return found
