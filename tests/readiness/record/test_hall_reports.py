"""What is said of the hall: stored once, told to whom it concerns, never changed."""

import datetime
import json

import pytest
from django.db import DatabaseError, transaction

from readiness.floor.pack import build_pack
from readiness.models import HallReport
from readiness.record.intake import take_lines
from studio.models import ClassGroup, Meeting
from tests.support.cast import NOW, time_ordered_id


def said(what, minute=0, **about):
    at = NOW - datetime.timedelta(minutes=30 - minute)
    return {"kind": "hall", "id": str(time_ordered_id(at)), "at": at.isoformat(), "what": what} | (
        about
    )


def send(cast, lines, by=None):
    answers = take_lines(cast.meeting, by or cast.omar, "tablet 3", NOW, lines, 3, NOW)
    return [(answer.answer, answer.code) for answer in answers]


def hall_in_pack(meeting, staff):
    reports = json.loads(build_pack(meeting, staff, NOW))["hall"]
    return [(each["what"], each["surface"], each["by"]) for each in reports]


def alerts(meeting):
    return Meeting.objects.get(pk=meeting.pk).alerts


def at_the_same_time(cast, location):
    group = ClassGroup.objects.create(
        name="Beside", location=location, weekday=2, starts_at=datetime.time(17)
    )
    return Meeting.objects.create(group=group, date=cast.meeting.date, starts_at=datetime.time(17))


def test_a_report_is_stored_once_with_whose_it_is_and_is_in_the_pack(cast):
    gone = said("spotter-gone")
    assert send(cast, [gone, gone], by=cast.tam) == [("kept", ""), ("had", "")]
    assert send(cast, [gone], by=cast.tam) == [("had", "")]
    report = HallReport.objects.get()
    assert (report.kind, report.by, report.meeting) == ("spotter-gone", cast.tam, cast.meeting)
    assert report.at == NOW - datetime.timedelta(minutes=30)
    assert hall_in_pack(cast.meeting, cast.omar) == [("spotter-gone", "", cast.tam.called)]


def test_what_no_list_has_is_refused_and_not_stored(cast):
    lines = [said("roof-gone"), said("mat-broken"), said("mat-broken", surface="moon")]
    assert send(cast, lines) == [
        ("refused", "unknown-reason"),
        ("refused", "unknown-surface"),
        ("refused", "unknown-surface"),
    ]
    assert HallReport.objects.count() == 0


def test_the_spotter_is_news_of_this_class_and_a_mat_of_every_class_in_the_hall(cast):
    beside = at_the_same_time(cast, cast.hall)
    elsewhere = at_the_same_time(cast, cast.other_hall)
    send(cast, [said("spotter-gone")])
    assert [alerts(each) for each in (cast.meeting, beside, elsewhere)] == [1, 0, 0]
    send(cast, [said("mats-looked-at", 1)])
    assert [alerts(each) for each in (cast.meeting, beside, elsewhere)] == [1, 0, 0]
    send(cast, [said("mat-broken", 2, surface="spring-floor")])
    assert [alerts(each) for each in (cast.meeting, beside, elsewhere)] == [2, 1, 0]
    broken = ("mat-broken", "spring-floor", cast.omar.called)
    assert hall_in_pack(beside, cast.petra) == [broken]
    assert hall_in_pack(elsewhere, cast.petra) == []
    kinds = [what for what, _, _ in hall_in_pack(cast.meeting, cast.omar)]
    assert kinds == ["spotter-gone", "mats-looked-at", "mat-broken"]


def test_a_class_held_in_another_hall_for_an_evening_hears_of_that_halls_mats(cast):
    guest = at_the_same_time(cast, cast.other_hall)
    Meeting.objects.filter(pk=guest.pk).update(location=cast.hall)
    send(cast, [said("mat-broken", surface="spring-floor")])
    assert alerts(guest) == 1


def test_a_report_is_neither_changed_nor_deleted(cast):
    send(cast, [said("mat-broken", surface="wedge")])
    with pytest.raises(DatabaseError), transaction.atomic():
        HallReport.objects.update(surface="hard-floor")
    with pytest.raises(DatabaseError), transaction.atomic():
        HallReport.objects.all().delete()
    assert HallReport.objects.get().surface == "wedge"
