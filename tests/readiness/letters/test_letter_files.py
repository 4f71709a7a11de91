"""Several letters in one file, one each in a zip, and by the command: the same letters."""

import datetime
import io
import zipfile

import pytest
from django.core.management import CommandError, call_command
from pypdf import PdfReader, PdfWriter

from readiness.letters.kept.files import Named, file_names, one_file, zip_file
from readiness.models import LetterDraft, PrintedLetter
from tests.support.cast import NOW, make_child
from tests.support.letters.files import text_of
from tests.support.letters.waiting import hurts

DAY = datetime.date(2026, 3, 4)
# The longest name that the file systems in use take: NAME_MAX of Linux, 255 bytes; Windows 255
# characters. Not in a name on Windows: https://learn.microsoft.com/windows/win32/fileio/naming-a-file
MOST_BYTES = 255
RESERVED = set('<>:"/\\|?*') | {chr(code) for code in range(32)}


def letter(pages: int, width: float) -> bytes:
    writer = PdfWriter()
    for _each in range(pages):
        writer.add_blank_page(width, 842)
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()


def named(*names: str) -> list[Named]:
    return [Named(name, PrintedLetter(day=DAY, file=b"%PDF")) for name in names]


def test_each_letter_begins_on_an_odd_page_and_has_a_bookmark():
    # By its width a page says whose it is.
    letters = [
        Named(name, PrintedLetter(day=DAY, file=letter(pages, width)))
        for name, pages, width in (("Mai", 1, 501), ("Ilse", 2, 502), ("Rosa", 1, 503))
    ]
    whole = PdfReader(io.BytesIO(one_file(letters)))
    assert [float(page.mediabox.width) for page in whole.pages] == [501, 501, 502, 502, 503]
    marks = {mark.title: whole.get_destination_page_number(mark) + 1 for mark in whole.outline}
    assert marks == {"Mai": 1, "Ilse": 3, "Rosa": 5}


def test_the_same_letters_make_the_same_files():
    letters = [Named(name, PrintedLetter(day=DAY, file=letter(1, 500))) for name in ("Mai", "Ilse")]
    assert one_file(letters) == one_file(letters)
    assert zip_file(letters) == zip_file(letters)


def test_a_zip_holds_each_letter_byte_for_byte():
    letters = [Named(n, PrintedLetter(day=DAY, file=letter(1, w))) for n, w in (("A", 1), ("B", 2))]
    with zipfile.ZipFile(io.BytesIO(zip_file(letters))) as whole:
        assert whole.testzip() is None
        assert [whole.read(name) for name in whole.namelist()] == [each.file for each in letters]


MESSY = [
    "Mai 🤸‍♀️ Tran", "../../etc/passwd", "a/b\\c", "...", ".", "‮evil‬", "ليلى", "לאה", "CON",
    "x" * 200, "陈" * 200, "é" * 200, 'a"b<c>|d*e?f:g', "tab\tline\nend\r", "\0", "", "   ", "Ａ",
    "Ada", "ADA", "ada", "Ada", "Zoë", "Zoë", "name.pdf", "-rf", "%s %(x)s",
]  # fmt: skip


def test_whatever_a_child_is_called_the_names_are_safe_and_no_two_alike():
    names = file_names(named(*MESSY))
    assert len({name.casefold() for name in names}) == len(names) == len(MESSY)
    for name in names:
        assert len(name.encode()) <= MOST_BYTES
        assert not RESERVED & set(name), name
        assert name == name.strip(" .")
        assert name.endswith(".pdf")
        assert not name.startswith((".", "-"))
        # No mark of direction: what is shown is what it is called.
        assert not {"‮", "‬", "\u200f", "\u200d"} & set(name)


def test_two_of_one_name_are_told_apart_by_a_number():
    assert file_names(named("Ada", "ada", "Ada")) == [
        "Letter about Ada, 4 March 2026.pdf",
        "Letter about ada, 4 March 2026 (2).pdf",
        "Letter about Ada, 4 March 2026 (3).pdf",
    ]


# The command


def test_the_command_writes_the_letters_of_a_class_into_one_file(cast, tmp_path, capsys):
    LetterDraft.objects.create(child=cast.mai, own="Well held.", by=cast.omar, at=NOW)
    out = tmp_path / "blue.pdf"
    call_command("print_letters", group="Blue", out=out)
    whole = PdfReader(out)
    assert [mark.title for mark in whole.outline] == ["Ilse Brand", "Mai Tran"]
    assert "Well held." in text_of(out.read_bytes())
    assert {kept.child for kept in PrintedLetter.objects.all()} == {cast.mai, cast.ilse}
    assert "2 / 2" in capsys.readouterr().out


def test_the_command_prints_the_same_letters_as_the_page(cast, tmp_path):
    call_command("print_letters", "--by=omar", group="Blue", out=tmp_path / "one.zip")
    call_command("print_letters", "--by=omar", group="Blue", out=tmp_path / "each")
    with zipfile.ZipFile(tmp_path / "one.zip") as whole:
        zipped = {name: whole.read(name) for name in whole.namelist()}
    assert zipped == {path.name: path.read_bytes() for path in (tmp_path / "each").iterdir()}
    assert PrintedLetter.objects.count() == 2


def test_the_command_prints_those_of_one_language(cast, tmp_path):
    cast.mai.letter_language = "fr"
    cast.mai.save()
    call_command("print_letters", all=True, language="fr", out=tmp_path / "french.pdf")
    assert {kept.child for kept in PrintedLetter.objects.all()} == {cast.mai}


def test_the_command_leaves_out_what_a_director_has_not_read_and_names_it(cast, tmp_path, capsys):
    hurts(cast, cast.mai)
    call_command("print_letters", all=True, out=tmp_path / "all.zip")
    assert {kept.child for kept in PrintedLetter.objects.all()} == {cast.ilse, cast.rosa}
    said = capsys.readouterr().out
    assert "Left out: Mai Tran." in said
    assert "A director has not read it yet." in said


def test_the_command_prints_no_letter_of_a_child_whom_the_signer_does_not_see(cast, tmp_path):
    with pytest.raises(CommandError, match="No letter was printed"):
        call_command("print_letters", "--by=ines", child="Mai Tran", out=tmp_path / "x.pdf")
    assert not PrintedLetter.objects.exists()
    assert not (tmp_path / "x.pdf").exists()


@pytest.mark.parametrize("wrong", [{"child": "Nobody"}, {"group": "Nowhere"}, {"child": "Mai"}])
def test_the_command_says_whom_it_does_not_find(wrong, cast, tmp_path):
    make_child("Mai Other", cast.blue)
    with pytest.raises(CommandError):
        call_command("print_letters", out=tmp_path / "x.pdf", **wrong)
    assert not PrintedLetter.objects.exists()
