"""Tables as spreadsheet programs write them."""

from pathlib import Path

import pytest

from studio.imports.file_text import TableFileError
from studio.imports.table_file import Table, match_columns, read_table
from tests.files import make_rosters

FILES = Path(__file__).parents[2] / "files"
FOUR = ["Zoë O’Brien", "Nguyễn Thị Ánh", "Núñez, Iñaki", '"Anne-Marie" D\'Angelo']


def names(table: Table) -> list[str]:
    at = match_columns(table.columns, {"name": ()})["name"]
    return [" ".join(row.cells[at].split()) for row in table.rows]


@pytest.mark.parametrize(
    ("file", "encoding", "delimiter"),
    [
        ("four-utf8.csv", "utf-8", ","),
        ("four-utf8-bom.csv", "utf-8", ","),
        ("four-utf16le.txt", "utf-16-le", "\t"),
        ("four-utf16le-no-mark.txt", "utf-16-le", "\t"),
        ("four-utf16be.txt", "utf-16-be", "\t"),
        ("four-utf16be-no-mark.txt", "utf-16-be", ";"),
        ("four-semicolon.csv", "utf-8", ";"),
        ("four-tab.txt", "utf-8", "\t"),
        ("four-sep-line.csv", "utf-8", ";"),
        ("four-cr-only.csv", "utf-8", ","),
        ("four-lf-only.csv", "utf-8", ","),
        ("four-blank-ends.csv", "utf-8", ";"),
        ("four-header-turned.csv", "utf-8", ","),
        ("four-line-break.csv", "utf-8", ","),
        ("four-one-column.csv", "utf-8", ""),
    ],
)
def test_the_same_four_children_come_out_of_every_kind_of_file(file, encoding, delimiter):
    table = read_table((FILES / file).read_bytes())
    assert (table.encoding, table.delimiter) == (encoding, delimiter)
    assert names(table) == FOUR


def test_windows_1252_is_read_as_such_with_curly_apostrophes():
    # Byte 0x92 is U+2019 in Windows-1252 (WHATWG Encoding, index
    # windows-1252) and a control character in Latin-1.
    data = (FILES / "four-windows-1252.csv").read_bytes()
    assert b"\x92" in data
    table = read_table(data)
    assert table.encoding == "windows-1252"
    assert names(table) == [FOUR[0], FOUR[2], FOUR[3]]


def test_the_stored_files_are_the_ones_the_script_writes():
    for name, content in (make_rosters.four() | make_rosters.messy()).items():
        assert (FILES / name).read_bytes() == content, name


@pytest.mark.parametrize(
    ("data", "word"),
    [
        ((FILES / "four-workbook.csv").read_bytes(), "workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on", "old spreadsheet"),
        (b"%PDF-1.7", "PDF"),
        (b"", "empty"),
        (b"\xef\xbb\xbf\r\n\r\n", "empty"),
        (b",,,\r\n,,,\r\n", "empty"),
        (b"sep=;\r\n", "empty"),
        (b"name\x00,birth\r\n", "text"),
        (bytes(range(256)) * 4, "text"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence_on_how_to_save(data, word):
    with pytest.raises(TableFileError, match=word) as refusal:
        read_table(data)
    assert "CSV UTF-8" in str(refusal.value)


def test_a_damaged_utf8_file_names_the_line():
    data = "name\nZoë\nNúñez\nÁnh\n".encode() + "Jörg\n".encode("windows-1252")
    with pytest.raises(TableFileError, match="line 5"):
        read_table(data)


def test_an_encoding_that_does_not_fit_names_the_line():
    with pytest.raises(TableFileError, match="line 2 cannot be read as UTF-8"):
        read_table("name\nZoë\n".encode("windows-1252"), encoding="utf-8")


def test_encoding_and_separator_can_be_said():
    data = "name;class\nŠimon;a,b\n".encode("windows-1250")
    table = read_table(data, encoding="windows-1250", delimiter=";")
    assert table.rows[0].cells == ("Šimon", "a,b")
    table = read_table(data, encoding="windows-1250", delimiter=",")
    assert table.columns == ("name;class",)


def test_a_comma_in_the_header_does_not_hide_the_semicolon():
    table = read_table(b"name;class (one, or more)\nAda;Minis\nBo;Minis\n")
    assert table.delimiter == ";"


def test_one_column_of_names_with_commas_stays_one_column():
    table = read_table("name\nNúñez, Iñaki\n".encode())
    assert (table.delimiter, table.rows[0].cells) == ("", ("Núñez, Iñaki",))


def test_rows_know_the_line_they_begin_on():
    data = b'sep=,\r\nname,note\r\n\r\nAda,"two\r\nlines"\r\n,\r\nBo,\r\n'
    table = read_table(data)
    assert [(row.line, row.cells) for row in table.rows] == [
        (4, ("Ada", "two\r\nlines")),
        (7, ("Bo", "")),
    ]


def test_a_quote_left_open_is_refused_with_its_line_and_swallows_nothing():
    with pytest.raises(TableFileError, match="line 3"):
        read_table(b'name,class\nAda,Minis\n"Bo,Minis\nCleo,Minis\n')


def test_cells_too_many_stay_visible():
    table = read_table(b"name,class\nAda,Minis\nAlder, Bo,Minis\n")
    assert [len(row.cells) for row in table.rows] == [2, 3]


def test_blank_columns_at_the_end_are_dropped_and_unnamed_ones_with_content_kept():
    table = read_table(b"name,class,,\nAda,Minis,,\nBo,Minis,late,\n")
    assert table.columns == ("name", "class", "")
    assert [row.cells for row in table.rows] == [("Ada", "Minis", ""), ("Bo", "Minis", "late")]


def test_everything_stays_text():
    table = read_table(b"id,value\n007,3/5\n7,1-2\n0007,1E5\n")
    assert [row.cells for row in table.rows] == [("007", "3/5"), ("7", "1-2"), ("0007", "1E5")]


def test_the_apostrophe_that_guards_a_formula_is_taken_off_again():
    table = read_table(b"name\n'=Gerd\n'-5\n'tis\n")
    assert [row.cells[0] for row in table.rows] == ["=Gerd", "-5", "'tis"]


def test_headers_fit_in_any_case_and_order_with_spaces():
    columns = (" Date of  BIRTH", "child_name", "Klasse")
    known = {"name": ("child name",), "birth": ("date of birth",), "class": ()}
    assert match_columns(columns, known) == {"birth": 0, "name": 1}


def test_two_columns_of_one_meaning_are_refused():
    with pytest.raises(TableFileError, match="“Name” and “child”"):
        match_columns(("Name", "child"), {"name": ("child",)})
