"""Typefaces of a studio's own, from the folder LADDER_FACES."""

import shutil
import struct

import pytest
import uharfbuzz as hb
from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured

from readiness.letters.type import without_type
from readiness.typesetting.faces import FONTS, faces
from tests.support.typesetting.faces import dejavu, east_asian
from tests.support.typesetting.shaped import faces_of, shaped

ARMENIAN = "Անի"
LIGHT = (FONTS / "NotoSansThai-Regular.ttf").read_bytes()


def faults() -> list[str]:
    return [each.msg for each in run_checks() if each.id == "readiness.E001"]


def collection(file: bytes) -> bytes:
    """One face as a collection, whose tables are found from its own beginning (OpenType 1.9)."""
    header = struct.pack(">4sHHII", b"ttcf", 1, 0, 1, 16)
    (tables,) = struct.unpack(">H", file[4:6])
    moved = bytearray(file)
    for entry in range(12, 12 + 16 * tables, 16):
        (place,) = struct.unpack(">I", file[entry + 8 : entry + 12])
        moved[entry + 8 : entry + 12] = struct.pack(">I", place + len(header))
    return header + bytes(moved)


def test_a_folder_of_typefaces_adds_to_the_shipped_ones(tmp_path, settings):
    file = dejavu()
    assert without_type([ARMENIAN]) == list(ARMENIAN)
    shutil.copy(file, tmp_path / "DejaVuSans-Regular.ttf")
    (tmp_path / "DejaVuSans-Regular.txt").write_text("Its licence")
    settings.LADDER_FACES = str(tmp_path)
    assert without_type([ARMENIAN]) == []
    assert faces_of(ARMENIAN) == ["DejaVuSans"]
    assert faces()[-1].bold is faces()[-1].regular
    assert faults() == []


def test_of_a_collection_the_first_is_taken(tmp_path, settings):
    (tmp_path / "DejaVuSans-Regular.ttc").write_bytes(collection(dejavu().read_bytes()))
    settings.LADDER_FACES = str(tmp_path)
    assert faces_of(ARMENIAN) == ["DejaVuSans"]


def test_debian_s_folder_has_chinese_japanese_and_korean_in_both_weights(settings):
    settings.LADDER_FACES = str(east_asian().parent)
    for name in ("陈美丽", "山田さくら", "김민지", "𠮷野"):
        assert set(faces_of(name)) == {"NotoSansCJK"}
    (face,) = (each for each in faces() if each.regular.name == "NotoSansCJK-Regular")
    assert face.bold.name == "NotoSansCJK-Bold"


@pytest.mark.parametrize(
    ("language", "place"), [("ja", 0), ("ko", 1), ("zh-hans", 2), ("zh-hant", 3)]
)
def test_the_forms_of_han_are_those_of_the_language_that_is_set(language, place, settings):
    """The collection itself has a face for each, and all of them the same glyphs."""
    file = east_asian()
    settings.LADDER_FACES = str(file.parent)
    settings.LADDER_HAN = language
    own = hb.Font(hb.Face(hb.Blob.from_file_path(str(file)), place))
    (run,) = shaped("直骨角")
    assert [glyph.number for glyph in run.glyphs] == [
        own.get_nominal_glyph(ord(each)) for each in "直骨角"
    ]


def test_a_form_of_an_ideograph_that_was_chosen_is_drawn_and_read_back(settings):
    """Unicode's Ideographic Variation Database: registered forms of one ideograph."""
    settings.LADDER_FACES = str(east_asian().parent)
    settings.LADDER_HAN = "ja"
    chosen = "葛\U000e0100"
    assert without_type([chosen]) == []
    (plain,), (other,) = (shaped(each)[0].glyphs for each in ("葛", chosen))
    assert other.text == chosen
    assert other.number != plain.number


@pytest.mark.parametrize(
    ("file", "said"),
    [
        (b"no typeface", "neither TrueType nor CFF outlines"),
        (LIGHT.replace(b"glyf", b"SVG ", 1), "neither TrueType nor CFF outlines"),
        (LIGHT.replace(b"GDEF", b"fvar", 1), "many weights in one file"),
    ],
)
def test_a_file_that_no_letter_can_hold_is_told_of_before_the_first_letter(
    file, said, tmp_path, settings
):
    (tmp_path / "Own-Regular.otf").write_bytes(file)
    settings.LADDER_FACES = str(tmp_path)
    with pytest.raises(ImproperlyConfigured, match=said):
        faces()
    (fault,) = faults()
    assert str(tmp_path / "Own-Regular.otf") in fault


def test_a_folder_that_there_is_not_is_told_of(tmp_path, settings):
    settings.LADDER_FACES = str(tmp_path / "nowhere")
    assert faults() == [f"LADDER_FACES: there is no folder {tmp_path / 'nowhere'}."]
