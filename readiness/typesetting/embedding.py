"""Faces inside a file: what is used of each, and how to read it back (ISO 32000-1, 9.7)."""

import uharfbuzz as hb

from readiness.typesetting.faces import Weight
from readiness.typesetting.objects import Name, Objects, Reference, Value
from readiness.typesetting.shaping import Glyph

# What a program that shows the file reads; the rest is for shaping, which is done.
_NEEDED = {"glyf", "loca", "head", "hhea", "hmtx", "maxp", "cvt ", "fpgm", "prep"}
_SYMBOLIC = 4
_MOST_IN_A_BLOCK = 100
# Asked for, and used only where the face itself is missing.
_STEM = 80
_CMAP = """/CIDInit /ProcSet findresource begin
12 dict begin
begincmap
/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def
/CMapName /Adobe-Identity-UCS def
/CMapType 2 def
1 begincodespacerange
<0000> <FFFF>
endcodespacerange
{blocks}endcmap
CMapName currentdict /CMap defineresource pop
end
end
"""


class Embedded:
    """What a document uses of one weight. A glyph has a number of its own for each text that it
    stands for, so that each is read back as it was."""

    def __init__(self, weight: Weight) -> None:
        self.weight = weight
        # Number 0 is the glyph of what is lacking: never drawn.
        self._codes: dict[tuple[int, str], int] = {(0, ""): 0}

    def code(self, glyph: Glyph) -> int:
        return self._codes.setdefault((glyph.number, glyph.text), len(self._codes))

    def width(self, glyph: Glyph) -> int:
        return int(self.weight.font.get_glyph_h_advance(glyph.number))

    def write(self, objects: Objects, reference: Reference, prefix: str) -> None:
        name = Name(f"{prefix}+{self.weight.name}")
        file, new_numbers = self._subset()
        numbers = [number for number, _text in self._codes]
        mapped = b"".join(new_numbers[number].to_bytes(2, "big") for number in numbers)
        widths = [int(self.weight.font.get_glyph_h_advance(number)) for number in numbers]
        descendant: Value = {
            "Type": Name("Font"),
            "Subtype": Name("CIDFontType2"),
            "BaseFont": name,
            "CIDSystemInfo": {"Registry": b"Adobe", "Ordering": b"Identity", "Supplement": 0},
            "FontDescriptor": objects.add(self._descriptor(objects, name, file)),
            "CIDToGIDMap": objects.add_stream(mapped),
            "W": [0, widths],
        }
        font: Value = {
            "Type": Name("Font"),
            "Subtype": Name("Type0"),
            "BaseFont": name,
            "Encoding": Name("Identity-H"),
            "DescendantFonts": [objects.add(descendant)],
            "ToUnicode": objects.add_stream(self._to_unicode().encode("ascii")),
        }
        objects.set(reference, font)

    def _subset(self) -> tuple[bytes, dict[int, int]]:
        """A file of the glyphs used, and the number that each has in it."""
        wanted = hb.SubsetInput()
        wanted.flags = hb.SubsetFlags.NO_LAYOUT_CLOSURE
        wanted.glyph_set.update(number for number, _text in self._codes)
        unneeded = set(self.weight.face.table_tags) - _NEEDED
        wanted.drop_table_tag_set.update(int.from_bytes(tag.encode(), "big") for tag in unneeded)
        plan = hb.SubsetPlan(self.weight.face, wanted)
        return bytes(plan.execute().blob.data), dict(plan.old_to_new_glyph_mapping)

    def _descriptor(self, objects: Objects, name: Name, file: bytes) -> Value:
        extents = self.weight.font.get_font_extents("ltr")
        return {
            "Type": Name("FontDescriptor"),
            "FontName": name,
            "Flags": _SYMBOLIC,
            "FontBBox": [-1000, extents.descender, 2000, extents.ascender],
            "ItalicAngle": 0,
            "Ascent": extents.ascender,
            "Descent": extents.descender,
            "CapHeight": self.weight.font.get_metric_position_with_fallback(
                hb.OTMetricsTag.CAP_HEIGHT
            ),
            "StemV": _STEM,
            "FontFile2": objects.add_stream(file, Length1=len(file)),
        }

    def _to_unicode(self) -> str:
        lines = [
            f"<{code:04x}> <{text.encode('utf-16-be').hex()}>"
            for (_number, text), code in self._codes.items()
        ]
        blocks = ""
        for start in range(0, len(lines), _MOST_IN_A_BLOCK):
            block = lines[start : start + _MOST_IN_A_BLOCK]
            blocks += "\n".join((f"{len(block)} beginbfchar", *block, "endbfchar", ""))
        return _CMAP.format(blocks=blocks)
