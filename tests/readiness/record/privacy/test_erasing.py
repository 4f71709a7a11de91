"""A child is erased by two: nobody is left, the counts are; unless what happened keeps it."""

import datetime
from collections import Counter

import pytest
from django.apps import apps
from django.core.management import call_command

from progression.models import Attempt
from readiness.models import Erasure, IncidentAccount, PrintedLetter
from readiness.record.privacy.erasing import ask, erase, is_erased, take_back
from readiness.record.privacy.keeping import kept_for
from readiness.record.privacy.parts import PARTS
from readiness.record.two_people.second_yes import NotAnswered
from studio.models import AccountChange, Child, FamilyOnStaff, Staff
from studio.people.family import say_family
from studio.people.records import all_records
from tests.support.cast import NOW, TODAY
from tests.support.child_rows.whole_child import WORD, fill

pytestmark = pytest.mark.django_db
DAY = datetime.timedelta(days=1)


@pytest.fixture
def no_incident_is_kept(settings):
    """The child is an adult, and no claim may be made any more."""
    settings.ADULT_AT, settings.INCIDENT_CLAIM_YEARS = 0, 0


def everything():
    """Every value of every table, but for who works here and whom they know."""
    for model in apps.get_models(include_auto_created=True):
        if model not in (Staff, AccountChange):
            for row in model._default_manager.values_list():
                for value in row:
                    kept = bytes(value) if isinstance(value, memoryview) else value
                    yield f"{model.__name__}: {kept!r}"


def refused(code, act, *about):
    with pytest.raises(NotAnswered) as refusal:
        act(*about)
    assert refusal.value.code == code


def test_nothing_is_left_of_who_it_was_and_the_counts_are(cast, log, no_incident_is_kept):
    child = fill(cast, log)
    now = NOW + DAY
    assert any(WORD in value for value in everything())
    keys = list(all_records([child.pk]).values_list("pk", flat=True))
    records = Child.objects.filter(pk__in=keys).values("pk")
    before = Counter({p.model: p.rows(records).count() for p in PARTS if not p.goes})
    turns = list(Attempt.objects.order_by("pk").values())
    letters = list(PrintedLetter.objects.values_list("digest", "day"))

    asked = ask(child, cast.petra, NOW)
    erase(asked.uuid, child, cast.luis, now)

    assert [value for value in everything() if WORD in value] == []
    gone = Counter({p.model: p.rows(records).count() for p in PARTS if p.goes})
    assert sum(gone.values()) == 0
    after = Counter({p.model: p.rows(records).count() for p in PARTS if not p.goes})
    # Out of both classes; asked and done.
    assert after - before == {Erasure: 1, apps.get_model("studio.ClassListChange"): 2}
    assert before - after == {}
    assert list(Attempt.objects.order_by("pk").values()) == turns
    assert list(PrintedLetter.objects.values_list("digest", "day")) == letters
    assert set(PrintedLetter.objects.values_list("file", "own")) == {(None, None)}
    assert set(FamilyOnStaff.objects.values_list("staff", flat=True)) == {None}
    for record in Child.objects.filter(pk__in=keys):
        assert record.name == record.called == f"Erased ({str(record.uuid)[:4]})"
        assert (record.born, record.left_on) == ("", TODAY + DAY)
    assert is_erased(child)
    call_command("rebuild_standings", check=True)


def test_whoever_asks_does_not_say_yes(cast, log):
    asked = ask(cast.mai, cast.petra, NOW)
    refused("second", erase, asked.uuid, cast.mai, cast.petra, NOW + 30 * DAY)
    refused("may-not", erase, asked.uuid, cast.mai, cast.omar, NOW)
    refused("may-not", ask, cast.ilse, cast.omar, NOW)
    refused("unknown", erase, asked.uuid, cast.ilse, cast.luis, NOW)
    assert Child.objects.get(pk=cast.mai.pk).name == "Mai Tran"
    erase(asked.uuid, cast.mai, cast.luis, NOW)
    refused("answered", erase, asked.uuid, cast.mai, cast.luis, NOW)
    refused("answered", ask, cast.mai, cast.petra, NOW)


def test_a_director_who_is_the_only_one_waits_a_week(cast):
    Staff.objects.filter(pk__in=[cast.luis.pk, cast.dora.pk]).update(role="coach")
    asked = ask(cast.mai, cast.petra, NOW)
    refused("wait", erase, asked.uuid, cast.mai, cast.petra, NOW + 7 * DAY - DAY / 24)
    erase(asked.uuid, cast.mai, cast.petra, NOW + 7 * DAY)
    assert is_erased(cast.mai)


def test_an_account_that_the_asker_made_is_no_second_person(cast):
    asked = ask(cast.mai, cast.petra, NOW)
    AccountChange.objects.create(staff=cast.luis, what="pass", by=cast.petra, at=NOW + DAY)
    refused("new-account", erase, asked.uuid, cast.mai, cast.luis, NOW + DAY)


def test_what_is_taken_back_can_be_asked_again_and_is_asked_once_at_a_time(cast):
    asked = ask(cast.mai, cast.petra, NOW)
    refused("answered", ask, cast.mai, cast.luis, NOW)
    take_back(asked.uuid, cast.mai, cast.petra, NOW)
    refused("answered", erase, asked.uuid, cast.mai, cast.luis, NOW)
    assert not is_erased(cast.mai)
    assert ask(cast.mai, cast.luis, NOW).answered_at is None


def test_family_of_the_child_says_no_yes(cast):
    say_family(cast.mai, cast.luis, cast.petra, NOW)
    asked = ask(cast.mai, cast.petra, NOW)
    refused("family", erase, asked.uuid, cast.mai, cast.luis, NOW)


def happened(cast, child, day=TODAY):
    IncidentAccount.objects.create(
        child=child, start=cast.mai.uuid, kind="fall", day=day, by=cast.omar, at=NOW
    )


def test_what_happened_keeps_the_record_until_the_time_for_claims_is_over(cast, settings):
    """Mai was born in April 2016: an adult from the end of April 2034 on."""
    happened(cast, cast.mai)
    asked = ask(cast.mai, cast.petra, NOW)
    refused("kept", erase, asked.uuid, cast.mai, cast.luis, NOW)
    kept = kept_for(cast.mai, TODAY)
    assert (kept.until, kept.code, kept.incidents) == (None, "no-rule", 1)

    settings.INCIDENT_CLAIM_YEARS = 3
    assert kept_for(cast.mai, TODAY).until == datetime.date(2037, 4, 30)
    assert kept_for(cast.mai, datetime.date(2037, 4, 30))
    assert kept_for(cast.mai, datetime.date(2037, 5, 1)) is None
    refused("kept", erase, asked.uuid, cast.mai, cast.luis, NOW)
    Child.objects.filter(pk=cast.mai.pk).update(birth_month=None)
    # The year alone: as late as it may be.
    assert kept_for(Child.objects.get(pk=cast.mai.pk), TODAY).until == datetime.date(2037, 12, 31)
    Child.objects.filter(pk=cast.mai.pk).update(birth_year=None)
    assert kept_for(Child.objects.get(pk=cast.mai.pk), TODAY).code == "no-birth"


def test_of_an_adult_it_keeps_the_record_from_the_day_on_which_it_happened(cast, settings):
    settings.INCIDENT_CLAIM_YEARS, settings.ADULT_AT = 3, 5
    happened(cast, cast.mai, datetime.date(2024, 2, 29))
    assert kept_for(cast.mai, TODAY).until == datetime.date(2027, 2, 28)
