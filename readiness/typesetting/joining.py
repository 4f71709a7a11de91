"""Several files as one: the objects of each as they are, under new numbers (ISO 32000-1, 7.5), with
a bookmark for each file (12.3.3) and the tags of all under one root (14.7.2, 14.7.4.4).

What is read are files with a table of their objects, as ``Objects`` writes them.
"""

import re
from collections.abc import Mapping
from itertools import pairwise

from readiness.typesetting.objects import Name, Objects, Reference, Value, utf_16

# A string, in which nothing is a reference, or a reference.
_REFERENCE = re.compile(rb"\((?:[^()\\]|\\.)*\)|\b(\d+) 0 R\b", re.DOTALL)
_TABLE = re.compile(rb"xref\s+0 (\d+)\s+")
_ROW = 20
_BEGINNING = re.compile(rb"\d+ 0 obj\s*")
_STREAM = re.compile(rb">>\s*stream\r?\n")
_PAPER = re.compile(rb"/MediaBox\s*\[([^]]*)\]")
_LANGUAGE = re.compile(rb"/Lang \([^)]*\)")
_PLACE_OF_TAGS = re.compile(rb"/StructParents \d+")


class _File:
    """The objects of a file by their numbers, but for those that each file has one of."""

    def __init__(self, data: bytes) -> None:
        start = int(data[data.rindex(b"startxref") + len(b"startxref") :].split()[0])
        table = _TABLE.match(data, start)
        if table is None:
            raise ValueError("there is no table of the objects")
        rows, end = table.end(), table.end() + int(table[1]) * _ROW
        places = {
            number: int(data[at : at + 10])
            for number, at in enumerate(range(rows, end, _ROW))
            if data[at + 17 : at + 18] == b"n"
        }
        in_order = sorted([*places.values(), start])
        ends = dict(pairwise(in_order))
        self.objects = {
            number: _content(data[place : ends[place]]) for number, place in places.items()
        }
        trailer = data[end:]
        catalogue = self._taken(trailer, b"Root")
        self._taken(trailer, b"Info")
        self.pages = _number(catalogue, b"Pages")
        self.kids = _numbers(self.objects[self.pages], b"Kids")
        language = _LANGUAGE.search(catalogue)
        self.language = language[0] if language else b""
        self.tree = _number(catalogue, b"StructTreeRoot")
        self.tags = self._taken(catalogue, b"StructTreeRoot")

    def _taken(self, named_in: bytes, name: bytes) -> bytes:
        return self.objects.pop(_number(named_in, name), b"")

    def add(self, number: int, entry: bytes) -> None:
        """To an object that is a dictionary."""
        self.objects[number] = self.objects[number].replace(b"<<", b"<<%s " % entry, 1)


def _content(data: bytes) -> bytes:
    beginning = _BEGINNING.match(data)
    assert beginning is not None
    return data[beginning.end() : data.rindex(b"endobj")].rstrip()


def _number(dictionary: bytes, name: bytes) -> int:
    """Of the object that stands under this name; 0 if there is none."""
    found = re.search(rb"/%s (\d+) 0 R" % name, dictionary)
    return int(found[1]) if found else 0


def _numbers(dictionary: bytes, name: bytes) -> list[int]:
    found = re.search(rb"/%s\s*\[([^]]*)\]" % name, dictionary)
    return [int(each) for each in re.findall(rb"(\d+) 0 R", found[1])] if found else []


class Joined:
    """Printed on both sides, each file begins on a sheet of its own: after an odd number of pages
    comes an empty one."""

    def __init__(self, title: str) -> None:
        self._objects, self._title = Objects(), title
        self._catalogue, self._pages = self._objects.reserve(), self._objects.reserve()
        self._tree, self._outline = self._objects.reserve(), self._objects.reserve()
        self._kids: list[Reference] = []
        self._count = 0
        self._paper: list[float] = []
        # What a bookmark is called, and the page it leads to.
        self._marks: list[tuple[str, Reference]] = []
        self._documents: list[Reference] = []
        self._by_page: list[Value] = []

    def add(self, name: str, data: bytes) -> None:
        """A file, and what its bookmark is called."""
        if self._count % 2:
            self._add_empty_page()
        file = _File(data)
        new = {number: self._objects.reserve() for number in file.objects}
        file.add(file.pages, b"/Parent %d 0 R" % self._pages.number)
        self._kids.append(new[file.pages])
        self._count += len(file.kids)
        self._marks.append((name, new[file.kids[0]]))
        size = _PAPER.search(file.objects[file.kids[-1]])
        self._paper = [float(each) for each in size[1].split()] if size else []
        if file.tree:
            self._add_tags(file, new)
        for number, content in file.objects.items():
            self._objects.copy(new[number], _renumbered(content, new))

    def _add_empty_page(self) -> None:
        """As large as the page before."""
        page: dict[str, Value] = {
            "Type": Name("Page"),
            "Parent": self._pages,
            "MediaBox": self._paper,
            "Resources": {},
        }
        self._kids.append(self._objects.add(page))
        self._count += 1

    def _add_tags(self, file: _File, new: dict[int, Reference]) -> None:
        """Each file's own are a part, in its language; a page finds its tags by another number."""
        new[file.tree] = self._tree
        for document in _numbers(file.tags, b"K"):
            file.add(document, file.language)
            self._documents.append(new[document])
        for page, blocks in zip(file.kids, _numbers(file.tags, b"Nums"), strict=True):
            place = len(self._by_page) // 2
            self._by_page += [place, new[blocks]]
            numbered = b"/StructParents %d" % place
            file.objects[page] = _PLACE_OF_TAGS.sub(numbered, file.objects[page])

    def file(self) -> bytes:
        pages: dict[str, Value] = {"Type": Name("Pages"), "Kids": self._kids, "Count": self._count}
        self._objects.set(self._pages, pages)
        self._write_outline()
        catalogue: dict[str, Value] = {
            "Type": Name("Catalog"),
            "Pages": self._pages,
            "Outlines": self._outline,
            "MarkInfo": {"Marked": True},
            "StructTreeRoot": self._tree,
        }
        tree: dict[str, Value] = {
            "Type": Name("StructTreeRoot"),
            "K": self._documents,
            "ParentTree": {"Nums": self._by_page},
            "ParentTreeNextKey": len(self._by_page) // 2,
        }
        self._objects.set(self._tree, tree)
        self._objects.set(self._catalogue, catalogue)
        info = self._objects.add({"Title": utf_16(self._title)})
        return self._objects.file(self._catalogue, info)

    def _write_outline(self) -> None:
        marks = [self._objects.reserve() for _mark in self._marks]
        whole: dict[str, Value] = {"Type": Name("Outlines"), "Count": len(marks)}
        if marks:
            whole |= {"First": marks[0], "Last": marks[-1]}
        self._objects.set(self._outline, whole)
        around = zip(marks, [None, *marks], [*marks[1:], None], self._marks, strict=False)
        for mark, before, after, (name, page) in around:
            item: dict[str, Value] = {
                "Title": utf_16(name),
                "Parent": self._outline,
                "Dest": [page, Name("Fit")],
            }
            if before:
                item["Prev"] = before
            if after:
                item["Next"] = after
            self._objects.set(mark, item)


def _renumbered(content: bytes, new: Mapping[int, Reference]) -> bytes:
    stream = _STREAM.search(content)
    end = stream.start() if stream else len(content)

    def named(found: re.Match[bytes]) -> bytes:
        return b"%d 0 R" % new[int(found[1])].number if found[1] else found[0]

    return _REFERENCE.sub(named, content[:end]) + content[end:]
