"""A roster undone as a whole, while nothing rests on it."""

import datetime

import pytest
import time_machine
from django.test import Client

from studio.imports.bring_in import FileOptions, bring_in
from studio.imports.undo import RestsOnIt
from studio.models import Attendance, BroughtIn, Child, SpottingConsent
from studio.people.consents import answer_on
from studio.roster.bring_in import ROSTER, Scope
from studio.roster.undo import undo, what_rests_on
from tests.support.cast import NOW, TODAY, Cast, give_consent, make_child

pytestmark = pytest.mark.django_db

TEXT = (
    "id,name,birth,class,guardian,consent\n"
    "7,Ada Alder,2016-05,Blue,R. Alder,yes\n"
    ",Mai Tran,2016-04,Red,T. Tran,no\n"
)
LATER = NOW + datetime.timedelta(hours=1)


def everything(cast: Cast) -> list[object]:
    """What the pages show of children, and what a family's answers mean."""
    children = Child.objects.exclude(name="").order_by("pk").prefetch_related("classes")
    fields = ("pk", "name", "search_key", "list_id", "guardian", "birth_month", "left_on")
    return [
        (
            [getattr(child, name) for name in fields],
            sorted(group.name for group in child.classes.all()),
            answer_on(child.spotting_consents.all(), TODAY),
        )
        for child in children
    ]


@pytest.fixture
def brought(cast: Cast) -> BroughtIn:
    scope = Scope.of(cast.petra, TODAY)
    leaves = [f"{cast.blue.uuid}:{cast.ilse.uuid}"]
    bring_in(ROSTER, TEXT.encode(), FileOptions(leaves=leaves), scope, NOW)
    return BroughtIn.objects.get()


def test_everything_is_as_it_was_before(cast):
    before = everything(cast)
    leaves = [f"{cast.blue.uuid}:{cast.ilse.uuid}"]
    bring_in(ROSTER, TEXT.encode(), FileOptions(leaves=leaves), Scope.of(cast.petra, TODAY), NOW)
    assert everything(cast) != before
    undo(BroughtIn.objects.get(), cast.petra, LATER)
    assert everything(cast) == before
    # And the same roster goes in again, as if it had never been here.
    bring_in(ROSTER, TEXT.encode(), FileOptions(), Scope.of(cast.petra, TODAY), LATER)
    assert Child.objects.filter(name="Ada Alder").count() == 1


def test_a_yes_that_came_with_it_is_to_be_asked_again(cast):
    ada = make_child("Ada Alder", cast.blue, born=(2016, 5), hands=False)
    text = "name,birth,class,consent\nAda Alder,2016-05,Blue,yes\n"
    bring_in(ROSTER, text.encode(), FileOptions(), Scope.of(cast.petra, TODAY), NOW)
    undo(BroughtIn.objects.get(), cast.petra, LATER)
    assert answer_on(ada.spotting_consents.all(), TODAY) == "not-asked"


def test_nothing_that_is_only_added_to_is_deleted(cast, brought):
    answers = SpottingConsent.objects.count()
    undo(brought, cast.petra, LATER)
    assert SpottingConsent.objects.count() == answers + 1
    assert Child.objects.filter(name="", guardian="", list_id="", classes=None).count() == 1


def turn(cast, log):
    log(Child.objects.get(name="Ada Alder"), "log-roll", "1", support=0)


def renamed(cast, log):
    Child.objects.filter(name="Mai Tran").update(guardian="Somebody else")


def answered(cast, log):
    give_consent(Child.objects.get(name="Ada Alder"))


def in_another_class(cast, log):
    cast.red.children.add(Child.objects.get(name="Ada Alder"))


def back_in_class(cast, log):
    cast.blue.children.add(cast.ilse)


def came(cast, log):
    meeting = cast.red.meetings.create(date=TODAY, starts_at=cast.red.starts_at)
    Attendance.objects.create(
        id=cast.mai.uuid, meeting=meeting, child=cast.mai, present=True, at=LATER, by=cast.ines,
        digest="",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("since", "who"),
    [
        (turn, "Ada Alder"),
        (renamed, "Mai Tran"),
        (answered, "Ada Alder"),
        (in_another_class, "Ada Alder"),
        (back_in_class, "Ilse Brand"),
        (came, "Mai Tran"),
    ],
)
def test_what_rests_on_it_is_named_and_nothing_is_undone(cast, log, brought, since, who):
    since(cast, log)
    now = everything(cast)
    assert what_rests_on(brought) == [f"Something was added or changed since: {who}."]
    with pytest.raises(RestsOnIt):
        undo(brought, cast.petra, LATER)
    assert everything(cast) == now


def page(cast, who: str) -> Client:
    client = Client()
    client.force_login(getattr(cast, who))
    return client


def test_it_is_undone_on_its_page_once(cast, brought):
    petra = page(cast, "petra")
    with time_machine.travel(LATER, tick=False):
        assert f"/roster/undo/{brought.uuid}" in petra.get("/roster/lately").content.decode()
        address = f"/roster/undo/{brought.uuid}"
        assert "1 child who came in with it goes again;" in petra.get(address).content.decode()
        for _tap in range(2):
            assert petra.post(f"{address}/now")["Location"] == "/roster/lately"
        assert "undone by Petra" in petra.get("/roster/lately").content.decode()
        assert "undone already" in petra.get(address).content.decode()
    assert not Child.objects.filter(name="Ada Alder").exists()


def test_the_page_says_what_rests_on_it(cast, log, brought):
    turn(cast, log)
    with time_machine.travel(LATER, tick=False):
        answer = page(cast, "petra").post(f"/roster/undo/{brought.uuid}/now")
    assert answer.status_code == 422
    assert "Something was added or changed since: Ada Alder." in answer.content.decode()


@pytest.mark.parametrize(("who", "status"), [("omar", 403), ("dora", 404), ("luis", 200)])
def test_only_directors_of_the_hall_undo_it(cast, brought, who, status):
    with time_machine.travel(LATER, tick=False):
        answer = page(cast, who).get(f"/roster/undo/{brought.uuid}")
    assert answer.status_code == status


def test_after_four_weeks_it_cannot_be_undone(cast, brought):
    with time_machine.travel(NOW + datetime.timedelta(days=29), tick=False):
        assert page(cast, "petra").get(f"/roster/undo/{brought.uuid}").status_code == 404


def test_the_list_asks_the_same_of_the_database_for_many(cast, brought, django_assert_num_queries):
    petra = page(cast, "petra")
    with time_machine.travel(LATER, tick=False):
        petra.get("/roster/lately")
        with django_assert_num_queries(5):
            petra.get("/roster/lately")
        for _each in range(10):
            BroughtIn.objects.create(by=cast.luis, at=NOW)
        with django_assert_num_queries(5):
            petra.get("/roster/lately")
