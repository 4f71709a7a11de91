"""Every table with a child in it is read by all records of that child.

A new key to Child fails here until it is said how a merged record's rows are found again.
"""

import datetime
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.db.models import ForeignKey, ManyToManyField

from progression.models import Drill, LadderVersion, Surface
from readiness.child.history import fault_rows, notes_of, recent_turns
from readiness.floor.pack import build_pack
from readiness.hour.candidates import planned
from readiness.letters.kept.keeping import kept_letters
from readiness.letters.letter import letter_facts
from readiness.letters.many.preparing import drafts_of
from readiness.letters.many.runs import begin, progress_of
from readiness.models import (
    Decision,
    Elsewhere,
    Fell,
    Growing,
    HeadKnock,
    HourChild,
    IncidentAccount,
    LetterDraft,
    LetterRun,
    Look,
    NoHands,
    Note,
    NotTonight,
    Pain,
    PainGone,
    Pause,
    PauseLift,
    Placing,
    PrintedLetter,
    Show,
    ShowEntry,
    ShowNumber,
    StationPlace,
    StationPlan,
    Told,
)
from readiness.notes.keeping import notes_on
from readiness.record.show.places import places_of
from readiness.record.snapshots import last_review
from readiness.record.standings import Reading, read
from readiness.record.told.incidents import Incident, incidents_of
from readiness.record.told.on_the_page import elsewhere_now
from readiness.review.looks import since_last_look
from readiness.stations.taken import taken_of
from studio.models import (
    Attendance,
    Child,
    ClassGroup,
    ClassListChange,
    Contact,
    MeetingVisit,
    PictureConsent,
)
from studio.people.children import family_of
from studio.people.class_lists import belonged, classes_of
from studio.people.consents import NewAnswer, answers_of, consents_of, store_answers
from studio.people.family import is_family, say_family
from studio.people.meetings import meeting_on
from studio.people.merging import merge
from tests.support.cast import (
    NOW,
    TODAY,
    Cast,
    Logged,
    give_consent,
    make_child,
    make_class,
    time_ordered_id,
)

pytestmark = pytest.mark.django_db

YESTERDAY = TODAY - datetime.timedelta(days=1)
Put = Callable[[Cast, Child], Any]
See = Callable[[Cast, Reading], Any]


def said(cast: Cast, child: Child, **more: Any) -> dict[str, Any]:
    """What every report has."""
    return {
        "id": uuid.uuid4(), "child": child, "meeting": cast.meeting, "day": YESTERDAY,
        "at": NOW - datetime.timedelta(days=1), "by": cast.omar, "received_at": NOW,
        "digest": "", **more,
    }  # fmt: skip


def decided(cast: Cast, child: Child, **more: Any) -> dict[str, Any]:
    about = {"child": child, "by": cast.petra, "at": NOW - datetime.timedelta(days=1)}
    return about | {"day": YESTERDAY, "reason": "seen"} | more


def put_decision(cast: Cast, child: Child) -> None:
    about = decided(cast, child, stage="4", reading={}, digest="", as_director=True, reason="")
    about |= {"ladder": LadderVersion.objects.get(), "surface": Surface.objects.first()}
    # A signature is not merged into a record that has none: tests/readiness/merging.
    Decision.objects.create(kind="recommend", **(about | {"by": cast.omar}))


def put_placing(cast: Cast, child: Child) -> None:
    about = {"ladder": LadderVersion.objects.get(), "surface": Surface.objects.first()}
    Placing.objects.create(stage=3, **decided(cast, child), **about)


def put_show_entry(cast: Cast, child: Child) -> None:
    about = {"name": "Lanterns", "by": cast.petra, "at": NOW}
    floor = Surface.objects.get(key="bare-stage")
    show = Show.objects.create(location=cast.hall, on=TODAY, surface=floor, shoes="-", **about)
    drill = Drill.objects.get(key="walkover-in-dance")
    number = ShowNumber.objects.create(show=show, group=cast.red, drill=drill, easy="-", **about)
    made = {"number": number, "child": child, "by": cast.omar, "at": NOW, "day": TODAY}
    ShowEntry.objects.create(kind="beside", **made)


def in_show(_cast: Cast, reading: Reading) -> bool:
    return bool(places_of(ShowNumber.objects.get(), [reading])[0].placed)


def put_attendance(cast: Cast, child: Child) -> None:
    Attendance.objects.create(
        id=time_ordered_id(NOW, 9), meeting=cast.meeting, child=child, present=False, at=NOW,
        by=cast.omar, digest="",
    )  # fmt: skip


def put_list_change(cast: Cast, child: Child) -> None:
    """Out of the class since today, and in it yesterday."""
    cast.red.children.remove(child)
    ClassListChange.objects.create(group=cast.red, child=child, day=TODAY, joins=False)


def put_visit(cast: Cast, child: Child) -> None:
    green = make_class("Green", cast.hall)
    about = {"makes_up": False, "by": cast.petra}
    MeetingVisit.objects.create(meeting=meeting_on(green, TODAY), child=child, **about)


def put_hour(cast: Cast, child: Child) -> None:
    HourChild.objects.create(
        meeting=cast.meeting, child=child, drill=Drill.objects.first(),
        surface=Surface.objects.first(), support=1, first=cast.omar, second=cast.luis,
        by=cast.petra, at=NOW,
    )  # fmt: skip


def put_station(cast: Cast, child: Child) -> None:
    about = {"rotations": 1, "minutes": 8, "start": 0, "by": cast.omar, "at": NOW}
    plan = StationPlan.objects.create(meeting=cast.meeting, **about)
    drill = Drill.objects.first()
    StationPlace.objects.create(
        plan=plan, rotation=0, station=drill.key, drill=drill, spotters=0, child=child
    )


def at_a_station(cast: Cast, reading: Reading) -> bool:
    taken = taken_of(cast.meeting)
    return taken is not None and reading.child.pk in {each.child for each in taken.plan.at}


def printed(cast: Cast, child: Child) -> None:
    PrintedLetter.objects.create(child=child, day=YESTERDAY, file=b"%PDF", by=cast.omar, at=NOW)


def in_run(cast: Cast, reading: Reading) -> list[Child]:
    """Of what was to be printed together, whose letter is left out."""
    run = LetterRun.objects.first()
    left_out = progress_of(run, cast.petra, NOW).left_out if run else ()
    return [child for _name, child, _why in left_out if child == reading.child]


def put_in_run(cast: Cast, child: Child) -> None:
    begin([child], cast.petra, NOW).rows.update(left_out="Held back")


def visits_green(cast: Cast, reading: Reading) -> bool:
    green = ClassGroup.objects.get(name="Green")
    return reading.child in Child.objects.filter(belonged(green.pk, TODAY))


def notes(_cast: Cast, reading: Reading) -> list[str]:
    return [note.text for note in notes_of(reading, confidential=True)]


def events(*kinds: str) -> See:
    return lambda _cast, reading: [e.kind for e in reading.record.events if e.kind in kinds]


def happened(_cast: Cast, reading: Reading) -> list[Incident]:
    return incidents_of(Child.objects.filter(pk=reading.child.pk), YESTERDAY, YESTERDAY)


def told_in_pack(cast: Cast, reading: Reading) -> bool:
    return f'"child":"{reading.child.uuid}","what":"fall"' in build_pack(
        cast.meeting, cast.omar, NOW
    )


def absent_in_pack(cast: Cast, reading: Reading) -> bool:
    return '"present":false' in build_pack(cast.meeting, cast.omar, NOW)


def was_in_red(cast: Cast, reading: Reading) -> bool:
    return reading.child in Child.objects.filter(belonged(cast.red.pk, YESTERDAY))


def logged(cast: Cast, child: Child) -> None:
    Logged(cast)(child, "back-walkover", "0", faults=("half-hearted",))


# By key to a child: how a row gets there, and where all records' rows are seen.
SEEN: dict[str, tuple[Put, See]] = {
    "progression.Attempt.child": (logged, lambda _c, r: recent_turns(r)),
    "readiness.DayTally.child": (logged, lambda _c, r: r.record.tallies),
    "readiness.FaultTally.child": (logged, lambda _c, r: fault_rows(r)),
    "readiness.Decision.child": (put_decision, lambda _c, r: last_review(r.child, "4")),
    "readiness.Placing.child": (put_placing, lambda _c, r: letter_facts(r.child, NOW).placed),
    "readiness.Pause.child": (
        lambda cast, child: Pause.objects.create(**decided(cast, child)),
        lambda _c, r: r.read.state.paused_since,
    ),
    "readiness.PauseLift.child": (
        lambda cast, child: PauseLift.objects.create(**decided(cast, child)),
        events("lift"),
    ),
    "readiness.Pain.child": (
        lambda cast, child: Pain.objects.create(**said(cast, child, place="wrist")),
        lambda _c, r: r.read.state.pains,
    ),
    "readiness.PainGone.child": (
        lambda cast, child: PainGone.objects.create(**said(cast, child, place="wrist")),
        events("pain-gone"),
    ),
    "readiness.Growing.child": (
        lambda cast, child: Growing.objects.create(**said(cast, child)),
        lambda _c, r: r.read.state.growing_since,
    ),
    "readiness.NoHands.child": (
        lambda cast, child: NoHands.objects.create(**said(cast, child, day=TODAY, at=NOW)),
        lambda _c, r: r.read.state.no_hands,
    ),
    # What comes after a knock is found by it.
    "readiness.HeadKnock.child": (
        lambda cast, child: HeadKnock.objects.create(**said(cast, child, on=YESTERDAY)),
        events("head-knock"),
    ),
    "readiness.Told.child": (
        lambda cast, child: Told.objects.create(
            **said(cast, child, about="fall", whom="guardian-here")
        ),
        told_in_pack,
    ),
    "readiness.Fell.child": (
        lambda cast, child: Fell.objects.create(**said(cast, child)),
        happened,
    ),
    "readiness.IncidentAccount.child": (
        lambda cast, child: IncidentAccount.objects.create(
            child=child, start=uuid.uuid4(), kind="fall", day=YESTERDAY, by=cast.omar, at=NOW
        ),
        happened,
    ),
    "readiness.NotTonight.child": (
        lambda cast, child: NotTonight.objects.create(**said(cast, child)),
        notes,
    ),
    "readiness.Elsewhere.child": (
        lambda cast, child: Elsewhere.objects.create(**said(cast, child, kind="private")),
        lambda _c, r: elsewhere_now(r.child),
    ),
    "readiness.Note.child": (
        lambda cast, child: Note.objects.create(
            id=uuid.uuid4(),
            child=child,
            meeting=cast.meeting,
            text="tired",
            by=cast.omar,
            day=TODAY,
            received_at=NOW,
        ),
        lambda _c, r: notes_on(r.record.keys, TODAY),
    ),
    "readiness.ShowEntry.child": (put_show_entry, in_show),
    "readiness.Look.child": (
        lambda cast, child: Look.objects.create(staff=cast.petra, child=child, at=NOW),
        lambda cast, r: "No turn" in since_last_look([r.child], cast.petra)[r.child.pk],
    ),
    "readiness.HourChild.child": (put_hour, lambda _c, r: planned([r.child], TODAY)),
    "readiness.StationPlace.child": (put_station, at_a_station),
    "readiness.PrintedLetter.child": (printed, lambda _c, r: kept_letters([r.child])),
    "readiness.LetterDraft.child": (
        lambda cast, child: LetterDraft.objects.create(child=child, by=cast.omar, at=NOW),
        lambda _c, r: drafts_of([r.child]),
    ),
    "readiness.LetterInRun.child": (put_in_run, in_run),
    "studio.Attendance.child": (put_attendance, absent_in_pack),
    "studio.SpottingConsent.child": (
        lambda _cast, child: give_consent(child, yes=False),
        lambda _c, r: [each for each in consents_of([r.child])[r.child.pk] if not each.yes],
    ),
    "studio.PictureConsent.child": (
        lambda cast, child: store_answers(
            PictureConsent, [NewAnswer(child, "", yes=True)], "Omar", TODAY, cast.omar, NOW
        ),
        lambda _c, r: answers_of(PictureConsent, [r.child])[r.child.pk],
    ),
    "studio.ClassGroup.children": (
        lambda _cast, _child: None,
        lambda cast, r: cast.red in classes_of([r.child])[r.child.pk],
    ),
    "studio.ClassListChange.child": (put_list_change, was_in_red),
    "studio.Contact.child": (
        lambda _cast, child: Contact.objects.create(child=child, name="Bo"),
        lambda _c, r: family_of(r.child),
    ),
    "studio.FamilyOnStaff.child": (
        lambda cast, child: say_family(child, cast.luis, cast.petra, NOW),
        lambda cast, r: is_family(cast.luis, r.child),
    ),
    "studio.MeetingVisit.child": (put_visit, visits_green),
}
# What is said of a record and not of the child.
OF_A_RECORD = {
    "readiness.Standing.child": "worked out; that of the record that stands for the child is read",
    "readiness.Erasure.child": "of the record that stands for the child; done of all of them",
    "studio.Merge.loser": "the merge itself",
    "studio.NotDouble.one": "two children whatever stands for them; see studio/people/doubles.py",
    "studio.NotDouble.other": "the same",
    "studio.Merge.survivor": "the merge itself",
    "studio.Child.merged_into": "what the merges come to",
}


def keys_to_a_child() -> set[str]:
    return {
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models()
        for field in (*model._meta.fields, *model._meta.many_to_many)
        if isinstance(field, ForeignKey | ManyToManyField) and field.related_model is Child
    }


def test_every_key_to_a_child_is_known_here() -> None:
    assert keys_to_a_child() == {*SEEN, *OF_A_RECORD}


@pytest.mark.parametrize("key", SEEN)
def test_the_rows_of_a_merged_record_are_seen_with_the_childs(cast: Cast, key: str) -> None:
    put, see = SEEN[key]
    other = make_child("Mai T.", cast.red, hands=False)
    put(cast, other)
    assert not see(cast, read(Child.objects.get(pk=cast.mai.pk), TODAY)), "seen before"
    merge(other, cast.mai, cast.petra, NOW)
    assert see(cast, read(Child.objects.get(pk=cast.mai.pk), TODAY))
