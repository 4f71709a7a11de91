"""Faces inside a file: what is used of each, and how to read it back (ISO 32000-1, 9.7).

One with TrueType outlines is held as such. Of one with CFF outlines the CFF table alone is held;
its subset is made so that the number of a glyph is its CID.
"""

from collections.abc import Sequence

import uharfbuzz as hb

from readiness.typesetting.faces import COMPACT, Weight
from readiness.typesetting.objects import Name, Objects, Reference, Value, escaped
from readiness.typesetting.shaping import Run

# What a program that shows the file reads; the rest is for shaping, which is done.
_NEEDED = {"glyf", "loca", COMPACT, "head", "hhea", "hmtx", "maxp", "cvt ", "fpgm", "prep"}
_SYMBOLIC = 4
_MOST_IN_A_BLOCK = 100
# Asked for, and used only where the face itself is missing.
_STEM = 80
_CMAP = """/CIDInit /ProcSet findresource begin
12 dict begin
begincmap
/CIDSystemInfo <</Registry (Adobe) /Ordering ({ordering}) /Supplement 0>> def
/CMapName /{name} def
/CMapType {kind} def
1 begincodespacerange
<0000> <FFFF>
endcodespacerange
{blocks}endcmap
CMapName currentdict /CMap defineresource pop
end
end
"""
_IDENTITY: Value = {"Registry": b"Adobe", "Ordering": b"Identity", "Supplement": 0}
_TO_GLYPHS = "Ladder-Glyphs"


class _Codes(dict[tuple[int, str], str]):
    """By a glyph and the text that it stands for its number in the document, in the order in which
    they are first used, as it stands in a string."""

    def __missing__(self, key: tuple[int, str]) -> str:
        self[key] = code = escaped(len(self).to_bytes(2, "big")).decode("latin-1")
        return code


class Embedded:
    """What a document uses of one weight. A glyph has a number of its own for each text that it
    stands for, so that each is read back as it was."""

    def __init__(self, weight: Weight) -> None:
        self.weight = weight
        self._codes = _Codes()
        # The glyph of what is lacking: never drawn.
        self.code(0, "")

    def code(self, number: int, text: str) -> str:
        return self._codes[number, text]

    def codes(self, run: Run) -> str:
        """Of a run in which nothing is placed: what stands in the brackets of its strings."""
        codes = list(map(self._codes.__getitem__, zip(run.numbers, run.text, strict=True)))
        for at, wider in run.kerns:
            codes[at] += f"){wider}("
        return "".join(codes)

    def write(self, objects: Objects, reference: Reference, prefix: str) -> None:
        name = Name(f"{prefix}+{self.weight.name}")
        subset, new_numbers = self._subset()
        glyphs = [new_numbers[number] for number, _text in self._codes]
        widths = [self.weight.width(number) for number, _text in self._codes]
        is_compact = COMPACT in subset.table_tags
        described: dict[str, Value] = {"FontDescriptor": self._descriptor(objects, name, subset)}
        encoding: Value = Name("Identity-H")
        if is_compact:
            encoding = _to_glyphs(objects, glyphs)
            described["W"] = [
                each for cid, width in zip(glyphs, widths, strict=True) for each in (cid, [width])
            ]
        else:
            mapped = b"".join(glyph.to_bytes(2, "big") for glyph in glyphs)
            described |= {"CIDToGIDMap": objects.add_stream(mapped), "W": [0, widths]}
        descendant: Value = {
            "Type": Name("Font"),
            "Subtype": Name("CIDFontType0" if is_compact else "CIDFontType2"),
            "BaseFont": name,
            "CIDSystemInfo": _IDENTITY,
            **described,
        }
        font: Value = {
            "Type": Name("Font"),
            "Subtype": Name("Type0"),
            "BaseFont": name,
            "Encoding": encoding,
            "DescendantFonts": [objects.add(descendant)],
            "ToUnicode": objects.add_stream(self._to_unicode().encode("ascii")),
        }
        objects.set(reference, font)

    def _subset(self) -> tuple[hb.Face, dict[int, int]]:
        """A face of the glyphs used, and the number that each has in it."""
        wanted = hb.SubsetInput()
        wanted.flags = hb.SubsetFlags.NO_LAYOUT_CLOSURE | hb.SubsetFlags.CFF_IDENTITY_CHARSET
        wanted.glyph_set.update(number for number, _text in self._codes)
        unneeded = set(self.weight.face.table_tags) - _NEEDED
        wanted.drop_table_tag_set.update(int.from_bytes(tag.encode(), "big") for tag in unneeded)
        plan = hb.SubsetPlan(self.weight.face, wanted)
        return plan.execute(), dict(plan.old_to_new_glyph_mapping)

    def _descriptor(self, objects: Objects, name: Name, subset: hb.Face) -> Reference:
        extents = self.weight.font.get_font_extents("ltr")
        return objects.add(
            {
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
                **_file(objects, subset),
            }
        )

    def _to_unicode(self) -> str:
        lines = [
            f"<{code:04x}> <{text.encode('utf-16-be').hex()}>"
            for code, (_number, text) in enumerate(self._codes)
        ]
        return _cmap("Adobe-Identity-UCS", "UCS", 2, _blocks("bfchar", lines))


def _file(objects: Objects, subset: hb.Face) -> dict[str, Value]:
    if COMPACT in subset.table_tags:
        outlines = bytes(subset.reference_table(COMPACT).data)
        return {"FontFile3": objects.add_stream(outlines, Subtype=Name("CIDFontType0C"))}
    file = bytes(subset.blob.data)
    return {"FontFile2": objects.add_stream(file, Length1=len(file))}


def _to_glyphs(objects: Objects, glyphs: Sequence[int]) -> Reference:
    """The glyph of each code: a face with CFF outlines takes no map of its own (9.7.4.2)."""
    lines = [f"<{code:04x}> {glyph}" for code, glyph in enumerate(glyphs)]
    cmap = _cmap(_TO_GLYPHS, "Identity", 1, _blocks("cidchar", lines))
    return objects.add_stream(
        cmap.encode("ascii"),
        Type=Name("CMap"),
        CMapName=Name(_TO_GLYPHS),
        CIDSystemInfo=_IDENTITY,
    )


def _cmap(name: str, ordering: str, kind: int, blocks: str) -> str:
    return _CMAP.format(name=name, ordering=ordering, kind=kind, blocks=blocks)


def _blocks(kind: str, lines: Sequence[str]) -> str:
    blocks = ""
    for start in range(0, len(lines), _MOST_IN_A_BLOCK):
        block = lines[start : start + _MOST_IN_A_BLOCK]
        blocks += "\n".join((f"{len(block)} begin{kind}", *block, f"end{kind}", ""))
    return blocks
