"""Near doubles in a roster: asked about with both shown, never joined and never made twice."""

import datetime

import pytest

from studio.imports.bring_in import FileOptions, bring_in
from studio.models import Child
from studio.people.alike import Who, alike
from studio.people.class_lists import join, leave
from studio.people.merging import merge
from studio.roster.bring_in import ROSTER, Scope, read_roster
from tests.support.cast import NOW, TODAY, Cast, make_child

pytestmark = pytest.mark.django_db

ADA = Who("Ada Alder", 2016, 4, "R. Alder")


@pytest.mark.parametrize(
    "other",
    [
        Who("Áda Alder", 2016, 4, ""),
        Who("Alder Ada", 2016, 4, ""),
        Who("Ada Alder", 2016, 7, ""),
        Who("Ada Alder", 2015, 4, ""),
        Who("Ada Alder", 2016, None, ""),
        Who("Ada Maria Alder", 2016, 4, ""),
        Who("Ada Alder-Birk", 2016, 4, ""),
        Who("Adda Alder", 2016, 4, ""),
        Who("Ada Alder", 2011, 1, "r. alder"),
        Who("Adalind Birk", 2016, 9, "R. Alder"),
        Who("Adalind Birk", 2016, 9, "Alder, R."),
    ],
)
def test_what_may_be_one_child_is_alike(other):
    assert alike(ADA, other)
    assert alike(other, ADA)


@pytest.mark.parametrize(
    "other",
    [
        # A twin, a brother or sister, and somebody else of the name.
        Who("Bo Alder", 2016, 4, "R. Alder"),
        Who("Bo Alder", 2014, 1, "R. Alder"),
        Who("Ada Alder", 2012, 4, "T. Alder"),
        Who("Adda Alder", 2016, 9, ""),
        Who("Ada Birk", 2016, 4, ""),
    ],
)
def test_what_is_another_child_is_not(other):
    assert not alike(ADA, other)
    assert not alike(other, ADA)


def test_a_part_of_the_name_is_too_little_where_no_birth_is_known():
    one, other = Who("Ada Alder", None, None, ""), Who("Ada Maria Alder", None, None, "")
    assert not alike(one, other)
    assert alike(one, Who("Alder Ada", None, None, ""))


def plan(text: str, **options: object):
    reading = read_roster(text.encode(), FileOptions(**options), Scope.everything(), TODAY)
    assert reading.plan is not None, reading.parsed.fault
    return reading.plan


def take(text: str, **options: object):
    return bring_in(ROSTER, text.encode(), FileOptions(**options), Scope.everything(), NOW).plan


@pytest.fixture
def ines(cast: Cast) -> Child:
    return make_child("Inés Sol", cast.blue, born=(2014, 5))


@pytest.mark.parametrize("line", ["Ines Sol,2014-05", "Sol Inés,2014-05", "Inés Sol,2014-06"])
def test_a_near_double_is_asked_about_with_both_shown_and_nothing_is_stored(cast, ines, line):
    text = f"name,birth,class\n{line},Blue\n"
    before = Child.objects.count()
    (question,) = take(text).questions
    assert Child.objects.count() == before
    assert [side.title for side in question.sides] == ["Line 2", "Here already"]
    facts = dict(question.rows)
    assert facts["Name"][1][0] == "Inés Sol"
    assert [value for value, _words in question.options] == [
        str(ines.uuid),
        f"{ines.uuid}:file",
        "new",
    ]


@pytest.mark.parametrize(
    ("answer", "name", "children"),
    [("{}", "Inés Sol", 0), ("{}:file", "Ines Sol", 0), ("new", "Inés Sol", 1)],
)
def test_the_answer_says_who_it_is_and_which_name_is_right(cast, ines, answer, name, children):
    text = "name,birth,class,guardian\nInes Sol,2014-05,Blue,M. Sol\n"
    before = Child.objects.count()
    take(text, choices={2: answer.format(ines.uuid)})
    ines.refresh_from_db()
    assert (ines.name, Child.objects.count() - before) == (name, children)
    assert bool(ines.guardian) == (children == 0)


def test_two_alike_lines_of_a_file_are_asked_about(cast):
    text = "name,birth,class\nZoë Kern,2015-02,Blue\nBo Birk,2015-02,Blue\nZoe Kern,2015-02,Red\n"
    planned = plan(text)
    assert [question.line for question in planned.questions] == [4]
    assert len(planned.new) == 2
    (zoe, _bo) = take(text, choices={4: "line:2"}).new
    assert zoe.lines == (2, 4)
    assert Child.objects.filter(name="Zoë Kern").count() == 1
    # The same again: the line with the other spelling is asked about, the others are known.
    again = plan(text)
    assert [question.line for question in again.questions] == [4]
    assert (len(again.new), len(again.same)) == (0, 2)


def test_a_line_with_an_id_and_one_without_are_not_made_two_children(cast):
    text = "id,name,birth,class\n7,Bo Birk,2015-02,Blue\n,Bo Birk,2015-02,Red\n"
    planned = plan(text)
    assert (len(planned.new), [q.line for q in planned.questions]) == (1, [3])


def test_one_id_on_two_lines_names_both_and_both_can_go_in(cast):
    text = "id,name,birth,class\n7,Bo Birk,2015-02,Blue\n7,Cleo Dahl,2013-01,Blue\n"
    (question,) = plan(text).questions
    assert question.sentence == (
        "The id 7 stands on lines 2 and 3: for Bo Birk, and for Cleo Dahl. Are they one child?"
    )
    take(text, choices={3: "new"})
    ids = Child.objects.filter(name__in=["Bo Birk", "Cleo Dahl"]).order_by("name")
    assert [child.list_id for child in ids] == ["7", ""]


def test_a_child_who_left_the_last_class_is_not_made_twice(cast, ines):
    leave(ines, cast.blue, TODAY)
    text = b"name,birth,class\nIn\xc3\xa9s Sol,2014-05,Red\n"
    reading = read_roster(text, FileOptions(), Scope.of(cast.petra, TODAY), TODAY)
    assert [planned.child for planned in reading.plan.changed] == [ines]


# Words and classes.


def test_an_unknown_class_is_asked_once_and_does_not_hide_other_questions(cast, ines):
    text = "name,birth,class\nInes Sol,2014-05,Minis\nBo Birk,2015-02,MINIS\n"
    reading = read_roster(text.encode(), FileOptions(), Scope.everything(), TODAY)
    (word,) = reading.words
    assert (word.what, word.word, word.lines) == ("class", "minis", (2, 3))
    assert [question.line for question in reading.plan.questions] == [2]
    assert reading.plan.new == []
    take(text, choices={2: str(ines.uuid)}, words={"class": {"minis": "Red"}})
    assert Child.objects.get(name="Bo Birk").classes.get() == cast.red
    # It is known from then on.
    reading = read_roster(text.encode(), FileOptions(), Scope.everything(), TODAY)
    assert [known.answer for known in reading.words] == ["Red"]


@pytest.mark.parametrize(("word", "yes"), [("JA", True), ("Sí", True), ("nee", False)])
def test_yes_and_no_are_known_in_any_case_and_accents(cast, word, yes):
    take(f"NÁME,Bírth,CLASS,Consent\nBo Birk,2015-02,bLUE,{word}\n")
    assert Child.objects.get(name="Bo Birk").spotting_consents.get().yes is yes


# Who is not in the file.


def test_who_is_in_a_class_but_not_in_the_file_is_offered_and_leaves_only_if_said(cast):
    text = "name,birth,class\nMai Tran,2016-04,Blue\n"
    (leaving,) = take(text).leaving
    assert (leaving.child, leaving.group, leaving.chosen) == (cast.ilse, cast.blue, False)
    assert cast.ilse.classes.get() == cast.blue
    take(text, leaves=[leaving.key])
    assert not cast.ilse.classes.exists()
    # A class that the file does not name loses nobody.
    assert cast.rosa.classes.get() == cast.red


def test_who_moved_to_another_class_is_offered_to_leave_the_old_one(cast):
    join(cast.rosa, cast.blue, datetime.date(2026, 1, 1))
    text = (
        "name,birth,class\nRosa Vidal,2016-04,Red\nMai Tran,2016-04,Blue\nIlse Brand,2015-09,Blue\n"
    )
    assert [(one.child, one.group) for one in plan(text).leaving] == [(cast.rosa, cast.blue)]


def test_nobody_can_be_made_to_leave_who_was_not_offered(cast):
    text = "name,birth,class\nMai Tran,2016-04,Blue\n"
    take(text, leaves=[f"{cast.red.uuid}:{cast.rosa.uuid}", "nonsense"])
    assert cast.rosa.classes.get() == cast.red


def test_a_child_with_two_merged_records_is_known_by_either_name(cast, ines):
    other = make_child("Ines Sole", cast.blue, born=(2014, 5))
    merge(other, ines, cast.petra, NOW)
    text = "name,birth,class\nInés Sol,2014-05,Blue\n"
    assert [planned.child for planned in plan(text).same] == [ines]
    (question,) = plan("name,birth,class\nInes Sola,2014-05,Blue\n").questions
    assert question.options[0][0] == str(ines.uuid)


def test_a_year_without_a_month_is_taken_and_said_to_lack_the_month(cast):
    text = "name,birth,class\nBo Birk,2015,Blue\n"
    (planned,) = take(text).new
    assert planned.note == "month of birth missing"
    child = Child.objects.get(name="Bo Birk")
    assert (child.birth_year, child.birth_month) == (2015, None)
    assert [planned.child for planned in plan(text).same] == [child]
    # With the month, later, it is asked about: somebody else may be called so.
    with_month = "name,birth,class\nBo Birk,2015-03,Blue\n"
    (question,) = plan(with_month).questions
    take(with_month, choices={2: question.options[1][0]})
    child.refresh_from_db()
    assert child.birth_month == 3


def test_a_year_takes_no_month_away(cast):
    (question,) = plan("name,birth,class\nMai Tran,2016,Blue\n").questions
    take("name,birth,class\nMai Tran,2016,Blue\n", choices={2: question.options[1][0]})
    cast.mai.refresh_from_db()
    assert cast.mai.birth_month == 4
