"""The objects of a PDF file (ISO 32000-1, section 7), and the file that they make."""

import hashlib
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any, TypeAlias


@dataclass(frozen=True)
class Reference:
    """The place of an object, for others to name it by."""

    number: int


# A value as it stands in the file: a text that is no name becomes a string.
Value: TypeAlias = "str | float | bytes | Reference | dict[str, Value] | Sequence[Value]"


class Name(str):
    """A name, written with its stroke."""


def written(value: Value) -> bytes:
    return _WRITTEN.get(type(value), _array)(value)


def _array(values: Sequence[Value]) -> bytes:
    return b"[%s]" % b" ".join(map(written, values))


def _dictionary(values: dict[str, Value]) -> bytes:
    pairs = (b"/%s %s" % (key.encode(), written(each)) for key, each in values.items())
    return b"<<%s>>" % b" ".join(pairs)


_WRITTEN: dict[type, Callable[[Any], bytes]] = {
    Reference: lambda value: b"%d 0 R" % value.number,
    Name: lambda value: b"/" + value.encode("ascii"),
    bytes: lambda value: b"(%s)" % escaped(value),
    str: lambda value: written(value.encode("ascii") if value.isascii() else utf_16(value)),
    bool: lambda value: b"true" if value else b"false",
    int: lambda value: b"%d" % value,
    float: lambda value: number(value).encode(),
    dict: _dictionary,
}


def escaped(value: bytes) -> bytes:
    """What stands in the brackets of a string: half as long as in hexadecimals."""
    for special, other in ((b"\\", b"\\\\"), (b"(", b"\\("), (b")", b"\\)"), (b"\r", b"\\r")):
        value = value.replace(special, other)
    return value


def utf_16(text: str) -> bytes:
    return b"\xfe\xff" + text.encode("utf-16-be")


def number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def point(left: float, height: float) -> str:
    """A place on a page, in points: a thousandth of one is finer than any printer."""
    return f"{left:.3f} {height:.3f}"


class Objects:
    """The objects of one file, numbered in the order in which room is made for them."""

    def __init__(self) -> None:
        self._objects: list[bytes] = []

    def reserve(self) -> Reference:
        self._objects.append(b"")
        return Reference(len(self._objects))

    def add(self, value: Value) -> Reference:
        reference = self.reserve()
        self.set(reference, value)
        return reference

    def set(self, reference: Reference, value: Value) -> None:
        self._objects[reference.number - 1] = written(value)

    def copy(self, reference: Reference, content: bytes) -> None:
        """What is written already."""
        self._objects[reference.number - 1] = content

    def add_stream(self, data: bytes, **entries: Value) -> Reference:
        packed = zlib.compress(data)
        told = written({**entries, "Filter": Name("FlateDecode"), "Length": len(packed)})
        self._objects.append(told + b"\nstream\n" + packed + b"\nendstream")
        return Reference(len(self._objects))

    def file(self, catalogue: Reference, info: Reference) -> bytes:
        """The whole file. Its identity is made of what is in it, so that the same input gives
        the same bytes."""
        parts = [b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"]
        parts += [b"%d 0 obj\n%s\nendobj\n" % each for each in enumerate(self._objects, 1)]
        body = b"".join(parts)
        *places, end = accumulate(map(len, parts))
        trailer: dict[str, Value] = {
            "Size": len(places) + 1,
            "Root": catalogue,
            "Info": info,
            "ID": [hashlib.sha256(body).digest()[:16]] * 2,
        }
        table = b"".join(b"%010d 00000 n \n" % place for place in places)
        head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
        about = b"trailer\n%s\nstartxref\n%d\n%%%%EOF\n" % (written(trailer), end)
        return b"".join([body, head, table, about])
