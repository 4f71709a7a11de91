"""A paper log undone as a whole: its turns are struck, none is deleted."""

import datetime

import pytest
import time_machine

from progression.models import Attempt, Confirmation, LadderVersion, Strike
from readiness.models import DayTally, Decision
from readiness.paper.bring_in import PAPER_LOG, LogScope
from readiness.paper.undo import undo, what_rests_on
from readiness.record.rebuild import rebuild
from readiness.record.standings import fresh_standings, read
from studio.imports.bring_in import FileOptions, bring_in
from studio.imports.undo import RestsOnIt
from studio.models import BroughtIn, Child
from studio.people.merging import merge
from tests.support.cast import NOW, TODAY, Cast, make_child
from tests.support.pages import signed_in, text_of

pytestmark = pytest.mark.django_db

TEXT = (
    "date,child,drill,surface,value\n"
    "2026-02-03,Mai Tran,log-roll,wedge,clean\n"
    "2026-02-03,Mai Tran,log-roll,wedge,clean\n"
    "2026-02-04,Ilse Brand,log-roll,wedge,not clean\n"
)
LATER = NOW + datetime.timedelta(hours=1)


def bring(cast: Cast, text: str = TEXT, at: datetime.datetime = NOW) -> BroughtIn:
    scope = LogScope.of(cast.petra, TODAY)
    bring_in(PAPER_LOG, text.encode(), FileOptions(seen=True), scope, at)
    return BroughtIn.objects.latest("pk")


def standings(cast: Cast) -> list[object]:
    children = Child.objects.order_by("pk")
    fresh_standings(list(children), LATER)
    return [read(child, TODAY).data for child in children]


def test_the_children_stand_where_they_did_and_the_turns_stay_in_the_log(cast, log):
    log(cast.mai, "log-roll", "1")
    before = standings(cast)
    brought = bring(cast)
    assert standings(cast) != before
    undo(brought, cast.luis, LATER)
    assert standings(cast) == before
    assert Attempt.objects.filter(source="paper").count() == 3
    assert set(Strike.objects.values_list("code", "by")) == {("log-undone", cast.luis.pk)}
    assert list(rebuild(Child.objects.order_by("pk"), check=True)) == []
    # Twice is once.
    undo(brought, cast.petra, LATER)
    assert Strike.objects.count() == 3


def test_the_same_lines_come_in_again_and_only_once(cast):
    undo(bring(cast), cast.petra, LATER)
    again = LATER + datetime.timedelta(hours=1)
    bring(cast, TEXT.replace("not clean", "clean"), again)
    bring(cast, TEXT.replace("not clean", "clean"), again)
    turns = dict(DayTally.objects.values_list("child", "turns"))
    assert turns == {cast.mai.pk: 2, cast.ilse.pk: 1}
    undo(BroughtIn.objects.get(undone_at=None), cast.petra, again)
    bring(cast, at=again + datetime.timedelta(hours=1))
    assert Strike.objects.count() == 6
    assert Attempt.objects.filter(source="paper").count() == 9


def test_a_turn_that_somebody_has_struck_already_stays_struck(cast):
    brought = bring(cast)
    turn = Attempt.objects.filter(child=cast.mai).earliest("pk")
    Strike.objects.create(
        id=turn.pk, attempt_id=turn.pk, code="other", by=cast.omar, at=NOW, received_at=NOW,
        digest="x",
    )  # fmt: skip
    undo(brought, cast.petra, LATER)
    assert Strike.objects.count() == 3
    assert Strike.objects.get(attempt_id=turn.pk).by == cast.omar


def test_of_two_records_merged_since_both_lose_what_came_in(cast):
    other = make_child("Mai T.", cast.blue)
    brought = bring(cast, TEXT + "2026-02-05,Mai T.,log-roll,wedge,clean\n")
    merge(cast.mai, other, cast.petra, NOW)
    undo(brought, cast.petra, LATER)
    assert not read(Child.objects.get(pk=other.pk), TODAY).turns
    assert list(rebuild(Child.objects.order_by("pk"), check=True)) == []


def confirm(cast: Cast) -> None:
    turn = Attempt.objects.filter(child=cast.mai).earliest("pk")
    Confirmation.objects.create(attempt=turn, by=cast.omar, at=LATER, completes=True)


def decide(cast: Cast) -> None:
    Decision.objects.create(
        child=cast.mai, kind="recommend", stage="4", by=cast.omar, as_director=False, at=LATER,
        day=TODAY, ladder=LadderVersion.objects.get(), reading={}, digest="",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("since", "said"),
    [
        (confirm, "Omar has confirmed turns of it."),
        (decide, "Mai Tran: recommended on 2026-03-04."),
    ],
)
def test_what_rests_on_it_is_named_and_nothing_is_undone(cast, since, said):
    brought = bring(cast)
    since(cast)
    (reason,) = what_rests_on(brought)
    assert said in reason
    with pytest.raises(RestsOnIt):
        undo(brought, cast.petra, LATER)
    assert not Strike.objects.exists()
    with time_machine.travel(LATER, tick=False):
        page = signed_in(cast.petra).post(f"/paper/undo/{brought.uuid}/now")
    assert page.status_code == 422
    assert said in text_of(page)


def test_it_is_undone_on_its_page_and_told_plainly(cast):
    brought = bring(cast)
    with time_machine.travel(LATER, tick=False):
        petra = signed_in(cast.petra)
        assert "Paper logs brought in" in petra.get("/paper").text
        assert f"/paper/undo/{brought.uuid}" in petra.get("/paper/lately").text
        assert "3 turns that came in with it will be struck" in text_of(
            petra.get(f"/paper/undo/{brought.uuid}")
        )
        assert petra.post(f"/paper/undo/{brought.uuid}/now")["Location"] == "/paper/lately"
        told = text_of(petra.get("/paper/lately"))
        assert "its turns stay in the log and are struck" in told
        assert "undone by Petra on 2026-03-04" in told
        assert "This paper log is undone already." in petra.get(f"/paper/undo/{brought.uuid}").text
        # A roster's page knows nothing of it.
        assert petra.get(f"/roster/undo/{brought.uuid}").status_code == 404
