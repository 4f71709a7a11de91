"""manage.py import_roster: shows what would change, and changes it only if told to."""

import csv
import io
import json
from pathlib import Path

import pytest
import time_machine
from django.core.management import CommandError, call_command

from studio.models import Child, ClassGroup
from tests.support.cast import NOW, make_child, make_class

FILES = Path(__file__).parents[2] / "files"

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today():
    with time_machine.travel(NOW, tick=False):
        yield


def run(*args: object) -> str:
    out = io.StringIO()
    call_command("import_roster", *map(str, args), stdout=out)
    return out.getvalue()


@pytest.fixture
def roster(cast, tmp_path) -> Path:
    path = tmp_path / "roster.csv"
    path.write_text(
        "Name;Birth;Class;Phone\nAda Alder;2016-04;Blue;123\nMai Tran;2016-04;Red;456\n"
        "Bo Birk;30/02/2016;Blue;\n",
        encoding="windows-1252",
    )
    return path


def test_it_shows_what_would_change_and_stores_nothing(roster):
    before = Child.objects.count()
    output = run(roster)
    assert "Read as UTF-8, separator: semicolon." in output
    assert "Not read and not kept: Phone" in output
    assert "new      line 2: Ada Alder, born 2016-04, Blue" in output
    assert "changed  line 3: Mai Tran: class: – → Red" in output
    assert "refused  line 4, Birth: 30/02/2016: there is no such day." in output
    assert "1 new, 1 changed, 0 the same, 0 asked about, 1 refused" in output
    assert "add --commit" in output
    assert Child.objects.count() == before


def test_with_commit_it_stores_and_a_second_run_changes_nothing(roster):
    before = Child.objects.count()
    assert "Stored." in run(roster, "--commit")
    assert Child.objects.count() == before + 1
    assert ClassGroup.objects.get(name="Red").children.filter(name="Mai Tran").exists()
    assert "0 new, 0 changed, 2 the same, 0 asked about, 1 refused" in run(roster, "--commit")
    assert Child.objects.count() == before + 1


def test_all_or_nothing_stores_nothing_if_a_line_is_left_out(roster):
    before = Child.objects.count()
    with pytest.raises(CommandError, match="Nothing was stored"):
        run(roster, "--commit", "--all-or-nothing")
    assert Child.objects.count() == before


def test_refused_lines_are_saved_as_a_file(roster, tmp_path):
    refused = tmp_path / "refused.csv"
    assert "1 line left out is in" in run(roster, "--refused", refused)
    text = refused.read_bytes().decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=";"))
    assert rows[1] == [
        "4",
        "Birth",
        "30/02/2016: there is no such day.",
        "Bo Birk",
        "30/02/2016",
        "Blue",
        "",
    ]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "The file is empty."),
        (b"PK\x03\x04", "workbook"),
        (b"who,when\nAda,2016\n", "no column for the name"),
        (b"name,birth,class\nAda,03/04/2016,Blue\n", "--dates day-first or --dates month-first"),
        (b"name,birth,class\n,2016-04,Blue\n", "No line can be taken."),
    ],
)
def test_it_fails_with_a_sentence_if_nothing_can_be_read(cast, tmp_path, content, sentence):
    path = tmp_path / "roster.csv"
    path.write_bytes(content)
    before = Child.objects.count()
    with pytest.raises(CommandError, match=sentence) as failure:
        run(path, "--commit")
    assert failure.value.returncode == 1
    assert Child.objects.count() == before


def test_it_fails_with_a_sentence_if_there_is_no_file(cast, tmp_path):
    with pytest.raises(CommandError, match="cannot be opened"):
        run(tmp_path / "nothing.csv")


def test_encoding_separator_dates_and_usual_class_can_be_said(cast, tmp_path):
    path = tmp_path / "roster.csv"
    path.write_bytes("name;birth\nŠimon;03/04/2016\n".encode("windows-1250"))
    run(
        path,
        "--commit",
        "--encoding=windows-1250",
        "--delimiter=semicolon",
        "--dates=month-first",
        "--class=Blue",
    )
    child = Child.objects.get(name="Šimon")
    assert (child.birth_month, child.classes.get().name) == (3, "Blue")


def test_lines_that_fit_two_children_are_left_out_and_said(cast, tmp_path):
    make_child("Mai Tran", make_class("Green", cast.hall))
    path = tmp_path / "roster.csv"
    path.write_text("name,birth,guardian\nMai Tran,2016-04,T. Tran\nRosa Vidal,2016-04,V. Vidal\n")
    output = run(path, "--commit")
    assert "asked    line 2: More than one child here fits Mai Tran." in output
    assert "Bring in a roster" in output
    assert not Child.objects.filter(guardian="T. Tran").exists()
    assert Child.objects.filter(guardian="V. Vidal").exists()


def test_what_is_asked_is_shown_with_its_answers_and_a_file_answers_it(cast, tmp_path):
    twin = make_child("Mai Tran", make_class("Green", cast.hall))
    path, answers = tmp_path / "roster.csv", tmp_path / "answers.json"
    path.write_text("name,birth,guardian,class\nMai Tran,2016-04,T. Tran,Blauw\n")
    output = run(path)
    assert f"         {twin.uuid}: Mai Tran" in output
    assert "word     class “blauw”, lines 2: Blue" in output
    said = {"lines": {"2": str(twin.uuid)}, "words": {"class": {"BLAUW": "Blue"}}}
    answers.write_text(json.dumps(said))
    output = run(path, "--commit", "--answers", answers)
    assert "0 asked about" in output
    assert Child.objects.get(guardian="T. Tran") == twin
    assert cast.blue in twin.classes.all()


@pytest.mark.parametrize("text", ["", "[]", '{"lines": {"two": "new"}}'])
def test_a_file_that_holds_no_answers_is_refused_with_a_sentence(cast, tmp_path, text):
    path, answers = tmp_path / "roster.csv", tmp_path / "answers.json"
    path.write_text("name,birth,class\nAda Alder,2016-04,Blue\n")
    answers.write_text(text)
    with pytest.raises(CommandError, match="holds no answers"):
        run(path, "--commit", "--answers", answers)
    assert not Child.objects.filter(name="Ada Alder").exists()
