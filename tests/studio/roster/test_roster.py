"""Bringing a roster in: who is new, who is the same, what is asked and what is refused."""

import csv
import datetime
import io
from pathlib import Path

import pytest

from studio.imports.bring_in import FileOptions, NotBroughtIn, PlanChanged, bring_in
from studio.imports.refused_file import refused_file, safe_cell
from studio.imports.table_file import read_table
from studio.models import Child, ClassGroup, Location, Staff, Studio
from studio.people.names import clean_name, fold_name, in_speaking_order
from studio.roster.bring_in import ROSTER, Scope, read_roster
from tests.support.cast import give_consent

FILES = Path(__file__).parents[2] / "files"
TODAY = datetime.date(2026, 5, 20)
NOW = datetime.datetime(2026, 5, 20, 12, tzinfo=datetime.UTC)

pytestmark = pytest.mark.django_db


@pytest.fixture
def hall() -> Location:
    Studio.objects.create(name="Studio Windrose")
    location = Location.objects.create(name="North hall")
    for day, name in enumerate(["Minis", "Juniors", "Seniors, Thursday"]):
        ClassGroup.objects.create(
            name=name, location=location, weekday=day, starts_at=datetime.time(16)
        )
    return location


def child(name: str, year: int, month: int, *classes: str, **fields: object) -> Child:
    added = Child.objects.create(
        name=name, name_key=fold_name(name), birth_year=year, birth_month=month, **fields
    )
    for group in classes:
        ClassGroup.objects.get(name=group).children.add(added)
    return added


def plan(text: str | bytes, **options: object):
    data = text if isinstance(text, bytes) else text.encode()
    reading = read_roster(data, FileOptions(**options), Scope.everything(), TODAY)
    assert reading.plan is not None, reading.parsed.fault
    return reading.plan


def take(text: str | bytes, **options: object):
    data = text if isinstance(text, bytes) else text.encode()
    reading = bring_in(ROSTER, data, FileOptions(**options), Scope.everything(), NOW)
    assert reading.plan is not None
    return reading.plan


def counts(planned) -> tuple[int, int, int, int, int]:
    return (
        len(planned.new),
        len(planned.changed),
        len(planned.same),
        len(planned.questions),
        planned.refused_lines,
    )


# The messy roster.

REFUSED = [
    (50, "Name", "The name is missing."),
    (51, "Birth", "The birth is missing; the year is enough, with the month if you know it."),
    (52, "Birth", "29/02/2015, read day first: there is no such day."),
    (53, "Birth", "2031-01-01 is in the future."),
    (54, "Birth", "spring 2015 cannot be read as a date. Write it as year-month-day."),
    (55, "Birth", "1951-02-03 is more than 30 years ago."),
    (
        56,
        "Class",
        "There is no class called “Maxis” here. The classes are: Juniors; Minis; "
        "Seniors, Thursday.",
    ),
    (57, "Spotting consent", "“perhaps” is neither yes nor no."),
    (
        58,
        "Language",
        "“Gibberish” is not a language known here. Write a code such as en or de.",
    ),
    (
        60,
        "Child ID",
        "The spreadsheet has shortened this number. Make the column text and type it again.",
    ),
    (
        61,
        "",
        "The line has 9 cells and the header 8: a separator stands inside a cell without "
        "quotation marks.",
    ),
]
LOST = [
    (
        48,
        "Name",
        "A letter of “?????? ???????” was lost when the file was saved. Type it again, and "
        "save as “CSV UTF-8”.",
    ),
    (
        49,
        "Name",
        "A letter of “Nguy?n Th? Ánh” was lost when the file was saved. Type it again, and "
        "save as “CSV UTF-8”.",
    ),
]


@pytest.mark.parametrize(
    ("file", "new", "refused"),
    [
        ("roster-comma-utf8.csv", 46, REFUSED),
        ("roster-tab-utf16.txt", 46, REFUSED),
        ("roster-semicolon-windows-1252.csv", 44, LOST + REFUSED),
    ],
)
def test_a_messy_roster_goes_in_with_the_right_counts_and_refusals(hall, file, new, refused):
    data = (FILES / file).read_bytes()
    planned = take(data)
    assert [(r.line, r.column, r.reason) for r in planned.refused] == refused
    assert [q.line for q in planned.questions] == [47, 59]
    assert counts(planned) == (new, 0, 0, 2, len(refused))
    assert Child.objects.count() == new
    again = take(data)
    # Now that one child of the name is here, either of the two lines may be that child.
    assert [q.line for q in again.questions] == [46, 47, 59]
    assert counts(again) == (0, 0, new - 1, 3, len(refused))
    assert Child.objects.count() == new


def test_what_the_messy_roster_says_of_a_child_is_kept_and_no_more(hall):
    take((FILES / "roster-comma-utf8.csv").read_bytes())
    finn = Child.objects.get(list_id="024")
    assert (finn.name, finn.name_used) == ("Finn D'Amara", "Finn")
    assert (finn.birth_year, finn.birth_month) == (2016, 1)
    assert (finn.guardian, finn.letter_language) == ("Parent D'Amara", "fr")
    nora = Child.objects.get(list_id="1E5")
    assert nora.name == "Nora Quell"
    assert answers_of(nora) == [("Q. Quell", True)]
    for name in ("Nora Quell", "Otis Rand"):
        both = ClassGroup.objects.filter(children__name=name).order_by("pk")
        assert [group.name for group in both] == ["Minis", "Juniors"]
    ids = Child.objects.filter(list_id__in=["007", "7", "0007"]).order_by("list_id")
    assert [(c.list_id, c.name) for c in ids] == [
        ("0007", "Mika Sommer"),
        ("007", "Bo Claus-Ruiz"),
        ("7", "Lina Sommer"),
    ]
    assert Child.objects.filter(name="Милена Озёрная").exists()


def test_the_four_children_come_out_alike_of_every_file(hall):
    wanted = ["Zoë O’Brien", "Nguyễn Thị Ánh", "Iñaki Núñez", '"Anne-Marie" D\'Angelo']
    for path in sorted(FILES.glob("four-*")):
        if path.stem in {
            "four-one-column",
            "four-workbook",
            "four-empty",
            "four-windows-1252",
        }:
            continue
        planned = plan(path.read_bytes())
        assert [p.row.name for p in planned.new] == wanted, path.name
        assert counts(planned) == (4, 0, 0, 0, 0)
    take((FILES / "four-windows-1252.csv").read_bytes())
    assert counts(plan((FILES / "four-utf16le.txt").read_bytes())) == (1, 0, 3, 0, 0)


def test_a_file_of_one_column_says_what_is_missing(hall):
    data = (FILES / "four-one-column.csv").read_bytes()
    reading = read_roster(data, FileOptions(), Scope.everything(), TODAY)
    assert reading.plan is None
    assert "no column for the birth" in reading.parsed.fault


def test_a_file_without_a_name_column_says_what_is_missing(hall):
    reading = read_roster(b"who;birth\nAda;2016\n", FileOptions(), Scope.everything(), TODAY)
    assert "no column for the name" in reading.parsed.fault


# Matching.


def test_a_child_is_found_by_name_and_month_of_birth_however_it_is_typed(hall):
    child("Zoë O’Brien", 2016, 4, "Minis")
    # The same letters taken apart (NFD), in capitals, with a straight apostrophe.
    planned = plan("name,birth,class\nZOE\u0308  O'BRIEN,2016-04-03,Minis\n")
    assert [c.what for c in planned.changed[0].changes] == ["name"]
    assert planned.changed[0].child.name == "Zoë O’Brien"
    assert counts(plan("name,birth,class\nZoë O’Brien,04/2016,Minis\n")) == (0, 0, 1, 0, 0)


def test_a_child_of_the_same_name_born_years_apart_is_another_one_and_a_note_says_so(hall):
    child("Ada Alder", 2016, 4, "Minis")
    planned = plan("name,birth,class\nAda Alder,2012-05,Minis\n")
    assert counts(planned) == (1, 0, 0, 0, 0)
    assert "born 2016-04" in planned.new[0].note


def test_two_that_fit_are_asked_about_and_nothing_is_stored_for_them(hall):
    one = child("Ada Alder", 2016, 4, "Minis")
    two = child("Ada Alder", 2016, 4, "Juniors")
    text = "name,birth,guardian\nAda Alder,2016-04,A. Alder\n"
    planned = take(text)
    assert counts(planned) == (0, 0, 0, 1, 0)
    options = [value for value, _words in planned.questions[0].options]
    assert options == [str(one.uuid), str(two.uuid), "new"]
    assert not Child.objects.exclude(guardian="").exists()
    take(text, choices={2: str(two.uuid)})
    two.refresh_from_db()
    assert two.guardian == "A. Alder"
    assert Child.objects.count() == 2


def test_an_answer_that_was_not_offered_is_asked_again(hall):
    child("Ada Alder", 2016, 4, "Minis")
    child("Ada Alder", 2016, 4, "Juniors")
    other = child("Bo Birk", 2016, 4, "Minis")
    planned = plan("name,birth\nAda Alder,2016-04\n", choices={2: str(other.uuid)})
    assert counts(planned) == (0, 0, 0, 1, 0)


def test_twins_are_two_children(hall):
    text = "name,birth,class\nPia Söder,2014-08-17,Minis\nRea Söder,2014-08-17,Minis\n"
    assert counts(take(text)) == (2, 0, 0, 0, 0)
    assert counts(take(text)) == (0, 0, 2, 0, 0)


def test_the_same_name_and_birth_twice_is_asked_about_and_can_be_two_children(hall):
    text = "name,birth,class\nUma Voss,2014-02,Minis\nUma Voss,2014-02,Juniors\n"
    planned = plan(text)
    assert counts(planned) == (1, 0, 0, 1, 0)
    assert [value for value, _w in planned.questions[0].options] == ["line:2", "new"]
    assert counts(plan(text, choices={3: "new"})) == (2, 0, 0, 0, 0)
    planned = plan(text, choices={3: "line:2"})
    assert counts(planned) == (1, 0, 0, 0, 0)
    assert [group.name for group in planned.new[0].joins] == ["Minis", "Juniors"]


def test_two_lines_that_fit_one_child_are_both_asked_about(hall):
    here = child("Uma Voss", 2014, 2, "Minis")
    text = "name,birth,class\nUma Voss,2014-02,Minis\nUma Voss,2014-02,Minis\n"
    planned = plan(text)
    assert [q.line for q in planned.questions] == [2, 3]
    planned = take(text, choices={2: "new", 3: str(here.uuid)})
    assert counts(planned) == (1, 0, 1, 0, 0)
    assert [q.line for q in take(text).questions] == [2, 3]
    assert Child.objects.count() == 2


def test_a_line_repeated_with_another_class_is_one_child_in_two_classes(hall):
    text = "name,birth,class\nOtis Rand,2012-10-22,Minis\nOtis Rand,2012-10-22,Juniors\n"
    planned = take(text)
    assert counts(planned) == (1, 0, 0, 0, 0)
    assert planned.new[0].lines == (2, 3)
    assert Child.objects.get().classes.count() == 2
    assert counts(take(text)) == (0, 0, 1, 0, 0)


def test_an_id_is_text_and_finds_the_child_whose_name_has_changed(hall):
    seven = child("Ada Alder", 2016, 4, "Minis", list_id="7")
    planned = take("id,name,birth,class\n7,Ada Alder-Birk,2016-04,Minis\n007,Bo Birk,2015-01,Minis")
    assert counts(planned) == (1, 1, 0, 0, 0)
    seven.refresh_from_db()
    assert (seven.name, seven.name_key) == ("Ada Alder-Birk", "ada alder-birk")
    assert Child.objects.get(list_id="007").name == "Bo Birk"


def test_an_id_whose_name_and_birth_both_differ_is_asked_about(hall):
    seven = child("Ada Alder", 2016, 4, "Minis", list_id="7")
    text = "id,name,birth,class\n7,Bo Birk,2015-01,Minis\n"
    planned = plan(text)
    assert [value for value, _w in planned.questions[0].options] == [str(seven.uuid)]
    assert counts(plan(text, choices={2: "new"})) == (0, 0, 0, 1, 0)
    assert counts(plan(text, choices={2: str(seven.uuid)})) == (0, 1, 0, 0, 0)


def test_a_child_without_id_is_not_given_one_unasked(hall):
    ada = child("Ada Alder", 2016, 4, "Minis")
    text = "id,name,birth,class\n7,Ada Alder,2016-04,Minis\n"
    assert counts(plan(text)) == (0, 0, 0, 1, 0)
    take(text, choices={2: str(ada.uuid)})
    ada.refresh_from_db()
    assert ada.list_id == "7"


def test_an_id_of_a_child_of_another_location_is_refused(hall):
    director = Staff.objects.create(username="dora", role="director")
    director.locations.add(hall)
    away = Location.objects.create(name="South hall")
    ClassGroup.objects.create(name="Early", location=away, weekday=0, starts_at=datetime.time(9))
    child("Cleo Birk", 2014, 3, "Early", list_id="9")
    data = b"id,name,birth,class\n9,Cleo Birk,2014-03,Minis\n9a,Dina Birk,2014-03,Early\n"
    reading = read_roster(data, FileOptions(), Scope.of(director, TODAY), TODAY)
    reasons = [(r.line, r.column) for r in reading.plan.refused]
    assert reasons == [(2, "id"), (3, "class")]
    assert "Early" not in reading.plan.refused[1].reason.split("The classes are")[1]


# What is written.


def test_only_what_the_file_says_is_changed(hall):
    ada = child(
        "Ada Alder",
        2016,
        4,
        "Minis",
        guardian="A. Alder",
        letter_language="de",
    )
    give_consent(ada, guardian="A. Alder")
    planned = take("name,birth,class,consent\nAda Alder,2016-04,Juniors,no\n")
    changes = [(c.what, c.before, c.after) for c in planned.changed[0].changes]
    assert changes == [("consent to hands-on spotting", "yes", "no"), ("class", "", "Juniors")]
    ada.refresh_from_db()
    assert (ada.guardian, ada.letter_language) == ("A. Alder", "de")
    assert answers_of(ada) == [("A. Alder", True), ("A. Alder", False)]
    assert ada.classes.count() == 2


def test_a_child_who_had_left_is_here_again(hall):
    ada = child("Ada Alder", 2016, 4, "Minis", left_on=datetime.date(2026, 1, 1))
    take("name,birth,class\nAda Alder,2016-04,Minis\n")
    ada.refresh_from_db()
    assert ada.left_on is None


def test_consent_not_spoken_of_is_not_asked(hall):
    take("name,birth,class,consent\nAda Alder,2016-04,Minis,\n")
    assert answers_of(Child.objects.get()) == []


def test_a_yes_in_a_list_does_not_undo_a_no(hall):
    ada = child("Ada Alder", 2016, 4, "Minis", guardian="A. Alder")
    give_consent(ada, yes=False, guardian="A. Alder")
    planned = take("name,birth,class,consent\nAda Alder,2016-04,Minis,yes\n")
    assert planned.changed == []
    assert answers_of(ada) == [("A. Alder", False)]


def answers_of(child):
    rows = child.spotting_consents.order_by("pk")
    return list(rows.values_list("guardian", "yes"))


def test_first_and_last_name_and_year_and_month_can_stand_apart(hall):
    take("Last name;First name;Year of birth;Month of birth;Class\nQuell;Nora;2013;1;Minis\n")
    nora = Child.objects.get()
    assert (nora.name, nora.name_used) == ("Nora Quell", "Nora")
    assert (nora.birth_year, nora.birth_month) == (2013, 1)


def test_a_new_child_without_class_is_refused_unless_a_usual_class_is_said(hall):
    planned = plan("name,birth\nAda Alder,2016-04\n")
    assert [(r.line, r.column) for r in planned.refused] == [(2, "class")]
    planned = plan("name,birth\nAda Alder,2016-04\n", usual="Minis")
    assert [g.name for g in planned.new[0].joins] == ["Minis"]


def test_two_classes_of_one_name_are_told_apart_by_their_location(hall):
    other = Location.objects.create(name="South hall")
    ClassGroup.objects.create(name="minis", location=other, weekday=0, starts_at=datetime.time(9))
    refused = plan("name,birth,class\nAda Alder,2016-04,Minis\n").refused
    assert "Minis (North hall); Seniors, Thursday; minis (South hall)" in refused[0].reason
    planned = plan("name,birth,class\nAda Alder,2016-04,Minis (South hall)\n")
    assert planned.new[0].joins[0].location == other


def test_dates_that_can_be_read_both_ways_are_asked_for_and_nothing_is_read(hall):
    data = b"name,birth,class\nAda Alder,03/04/2016,Minis\nBo Birk,11/12/2015,Minis\n"
    reading = read_roster(data, FileOptions(), Scope.everything(), TODAY)
    assert reading.plan is None
    assert reading.parsed.dates.examples == ("03/04/2016", "11/12/2015")
    take(data, dates="month-first")
    ada = Child.objects.get(name="Ada Alder")
    assert (ada.birth_year, ada.birth_month) == (2016, 3)


def test_all_or_nothing_stores_nothing_if_a_line_is_left_out(hall):
    text = b"name,birth,class\nAda Alder,2016-04,Minis\nBo Birk,,Minis\n"
    with pytest.raises(NotBroughtIn):
        bring_in(ROSTER, text, FileOptions(), Scope.everything(), NOW, all_or_nothing=True)
    assert not Child.objects.exists()
    bring_in(ROSTER, text, FileOptions(), Scope.everything(), NOW)
    assert Child.objects.count() == 1


def test_a_plan_other_than_the_one_shown_is_not_carried_out(hall):
    text = "name,birth,class\nAda Alder,2016-04,Minis\n"
    shown = plan(text).digest
    child("Ada Alder", 2016, 4, "Minis")
    with pytest.raises(PlanChanged):
        bring_in(ROSTER, text.encode(), FileOptions(), Scope.everything(), NOW, shown=shown)
    assert Child.objects.count() == 1


# Lines refused, as a file.


def test_the_refused_lines_can_be_mended_and_brought_in_again(hall):
    data = (FILES / "roster-semicolon-windows-1252.csv").read_bytes()
    reading = bring_in(ROSTER, data, FileOptions(), Scope.everything(), NOW)
    text = refused_file(reading.table, reading.plan.left_out())
    rows = list(csv.reader(io.StringIO(text), delimiter=";"))
    assert len(rows) == 1 + 15
    assert rows[0][:4] == ["refused line", "refused column", "refused because", "Child ID"]
    by_line = {row[0]: row for row in rows}
    assert by_line["59"][4] == "'=Gerd Zett"
    assert by_line["59"][-1] == ""
    assert by_line["47"][2].startswith("Uma Voss, with this birth, stands on line 46 too.")
    mended = text.replace("29/02/2015", "28/02/2015").replace("Nguy?n Th? Ánh", "Nguyễn Thị Ánh")
    planned = take(mended.encode("utf-8-sig"))
    assert [p.row.name for p in planned.new] == ["Nguyễn Thị Ánh", "Yara Zett"]
    assert "=Gerd Zett" in {row.cells[4] for row in read_table(mended.encode()).rows}


@pytest.mark.parametrize("text", ["=1+1", "+49 30", "-5", "@name", "＝1+1", "＋1", "－1", "＠a"])
def test_a_cell_that_could_run_as_a_formula_gets_an_apostrophe(text):
    assert safe_cell(text) == f"'{text}"
    assert safe_cell(f"a{text}") == f"a{text}"


# Names.


def test_a_name_is_kept_in_nfc_with_single_spaces_and_without_stray_marks():
    assert clean_name(" Zoe\u0308\u00a0 O’Brien\u200b ") == "Zoë O’Brien"
    assert clean_name("\u202eadA") == "adA"
    # The zero-width non-joiner is spelling in Persian (Unicode 15, section 9.2).
    assert clean_name("گل\u200cناز") == "گل\u200cناز"


def test_family_and_given_name_are_turned_only_where_one_comma_says_so():
    assert in_speaking_order("Núñez, Iñaki") == "Iñaki Núñez"
    assert in_speaking_order("Iñaki Núñez") == "Iñaki Núñez"
    assert in_speaking_order("Núñez, Iñaki, B") == "Núñez, Iñaki, B"
    assert in_speaking_order("Núñez,") == "Núñez,"


def test_special_letters_fold_as_unicode_says():
    # Full case folding: ß folds to ss (Unicode CaseFolding.txt, 00DF; F; 0073 0073).
    assert fold_name("Weiß") == fold_name("WEISS")
