"""Who may see and do what. The only place where that is decided.

Rows are always fetched from one of the ``visible_*`` querysets, so that another class's id
answers "not found"; the ``may_*`` functions decide what a visible object may be used for, and
a refusal is PermissionDenied.
Shared: used by every page.
"""

import datetime
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX
from django.core.exceptions import PermissionDenied
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import HttpRequest, HttpResponse

from studio.models import (
    AuditEntry,
    BroughtIn,
    Child,
    ClassGroup,
    FamilyOnStaff,
    Holiday,
    ImportDraft,
    Location,
    Meeting,
    Merge,
    NotDouble,
    Staff,
    Tablet,
)
from studio.people.family import family_on_staff, is_family
from studio.people.records import all_records, root_of

# For this many days after a meeting its stand-in still sees it and its children, so that turns
# logged late can be looked at.
STAND_IN_DAYS = 28

View = Callable[..., HttpResponse]


def may_sign_in(staff: Staff, today: datetime.date) -> bool:
    """An active account that has not left; a guest reviewer's only on its one day."""
    left = staff.left_on is not None and staff.left_on <= today
    return staff.is_active and not left and staff.guest_on in (None, today)


def may_sign_in_rows(today: datetime.date) -> Q:
    """The same as ``may_sign_in``, in a query of staff."""
    here = Q(left_on=None) | Q(left_on__gt=today)
    return Q(is_active=True) & here & (Q(guest_on=None) | Q(guest_on=today))


def acts_as(staff: Staff) -> str:
    """The role whose rights count now: a director who came by PIN has a coach's."""
    if staff.coach_rights_only and staff.role == Staff.Role.DIRECTOR:
        return Staff.Role.COACH
    return staff.role


def may_grade(staff: Staff) -> bool:
    """Coaches and directors grade; assistants log."""
    return acts_as(staff) in (Staff.Role.COACH, Staff.Role.DIRECTOR)


def may_grade_hours_rows(today: datetime.date) -> Q:
    """Who may grade an evidence hour, in a query of staff: coaches and directors, no guests."""
    roles = [Staff.Role.COACH, Staff.Role.DIRECTOR]
    return may_sign_in_rows(today) & Q(role__in=roles, guest_on=None)


def may_grade_hours(staff: Staff) -> bool:
    """See one's own sheet of an evidence hour, and write on it: coaches and directors."""
    return may_grade(staff) and not is_guest(staff)


def may_compare_grades(staff: Staff) -> bool:
    """Grade drawn figures, and give a second grade of a turn: coaches and directors, no guests."""
    return may_grade(staff) and not is_guest(staff)


def may_plan(staff: Staff) -> bool:
    """Plan evidence hours, the end of a term and September, see the programme: directors."""
    return may_direct(staff)


def may_see_records(staff: Staff) -> bool:
    """Children's pages, evidence and letters: coaches and directors."""
    return may_grade(staff)


def is_guest(staff: Staff) -> bool:
    """Of one day: looks, grades and signs, and does nothing else."""
    return staff.guest_on is not None


def may_recommend(staff: Staff) -> bool:
    """Recommend for a signature, and give a step of less support: coaches and directors."""
    return may_grade(staff) and not is_guest(staff)


def may_recommend_for(staff: Staff, child: Child) -> bool:
    """Recommend for this child, also in a show: not for one's own family."""
    return may_recommend(staff) and not is_family(staff, child)


def may_pause(staff: Staff) -> bool:
    """Coaches and directors, a guest and the child's family too: nobody who sees a danger is held
    up."""
    return may_grade(staff)


def may_tell_of_head(staff: Staff) -> bool:
    """Write down a knock on the head, or a symptom after one: whoever may pause."""
    return may_pause(staff)


def may_give_head_steps(staff: Staff) -> bool:
    """Give a step of the way back after a head knock, and write down a clearance: directors."""
    return may_direct(staff)


def may_write_letters(staff: Staff) -> bool:
    """Letters to families leave the studio: coaches and directors."""
    return may_grade(staff) and not is_guest(staff)


def may_read_letters(staff: Staff) -> bool:
    """Read first what must wait for a director's read, and print for all classes: directors."""
    return may_direct(staff)


def may_read_letters_about(staff: Staff, child: Child) -> bool:
    """Not of one's own family: it prints like any other once another director has read it."""
    return may_read_letters(staff) and not is_family(staff, child)


def may_mark_language_read(staff: Staff) -> bool:
    """Write down that somebody at home in a language has read its letters: directors."""
    return may_direct(staff)


def may_report(staff: Staff) -> bool:
    """Write down on a child's page what was told: coaches, directors. On the floor all who log."""
    return may_grade(staff) and not is_guest(staff)


def may_decide(staff: Staff) -> bool:
    """Sign and send back: directors, a guest for a day among them."""
    return acts_as(staff) == Staff.Role.DIRECTOR


def may_decide_on(staff: Staff, child: Child) -> bool:
    """Sign, send back, close and except for this child: not for one's own family."""
    return may_decide(staff) and not is_family(staff, child)


def may_direct(staff: Staff) -> bool:
    """Place, except, lift a pause, give the way back's last step: directors who are no guests."""
    return may_decide(staff) and not is_guest(staff)


def may_direct_for(staff: Staff, child: Child) -> bool:
    """Place this child, lift its pause: not for one's own family."""
    return may_direct(staff) and not is_family(staff, child)


def may_keep_desk(staff: Staff) -> bool:
    """See the jobs of the front desk: directors."""
    return may_direct(staff)


def may_import(staff: Staff) -> bool:
    """Bring in rosters and paper logs: directors."""
    return may_direct(staff)


def may_keep_children(staff: Staff) -> bool:
    """The desk: add and change children, their classes, leaving, coming back: directors."""
    return may_direct(staff)


def may_export(staff: Staff) -> bool:
    """Have the whole record of a child as a file: directors."""
    return may_direct(staff)


def may_erase(staff: Staff) -> bool:
    """Ask that a child be erased, take that back, or say yes to it: directors."""
    return may_direct(staff)


def may_erase_for(staff: Staff, child: Child) -> bool:
    """Say yes to it: not of one's own family, whose record others may need."""
    return may_erase(staff) and not is_family(staff, child)


def may_read_audit(staff: Staff) -> bool:
    """Read who did what: directors."""
    return may_direct(staff)


def visible_audit(staff: Staff, today: datetime.date) -> QuerySet[AuditEntry]:
    """What one's colleagues did, and what was done about them or the children one sees."""
    theirs = Q(by__in=visible_colleagues(staff).values("pk"))
    theirs |= Q(about__in=visible_colleagues(staff).values("uuid"))
    theirs |= Q(about__in=visible_children(staff, today).values("uuid"))
    return AuditEntry.objects.filter(theirs)


def family_they_may_end(staff: Staff, child: Child) -> QuerySet[FamilyOnStaff]:
    """Whose being family of a child they may end: everybody's but their own."""
    return family_on_staff(child).exclude(staff=staff)


def may_add_unnamed(staff: Staff) -> bool:
    """Put somebody who came and is in no list into one's class: coaches and directors."""
    return may_grade(staff) and not is_guest(staff)


def may_change_consent(staff: Staff) -> bool:
    """Write down a guardian's word about hands: a coach too, since a no must count at once."""
    return may_grade(staff) and not is_guest(staff)


def may_answer_for_all(staff: Staff) -> bool:
    """Write down the answers of a whole list of enrolment forms: directors."""
    return may_direct(staff)


def may_change_gates(staff: Staff) -> bool:
    """See what the gates let through, try other values and save them; change the map of faults:
    directors."""
    return may_direct(staff)


def may_hear_of_untold(staff: Staff) -> bool:
    """Be told at once of a head or a neck of which no family was told: directors."""
    return may_direct(staff)


def may_write_notes(staff: Staff) -> bool:
    """Note what was seen at a class: whoever is at it, but for a guest for a day."""
    return not is_guest(staff)


def may_keep_notes(staff: Staff) -> bool:
    """Change the list of ready notes: directors."""
    return may_direct(staff)


def may_see_logs(staff: Staff) -> bool:
    """Whose log looks too good, among one's colleagues: directors."""
    return may_direct(staff)


def may_confirm_own(staff: Staff) -> bool:
    """Say of turns that came in under one's name that one saw them: coaches and directors."""
    return may_grade(staff)


def may_confirm_late(staff: Staff) -> bool:
    """Let late turns count as graded, of others and brought in by others: directors, no guest."""
    return may_direct(staff)


def may_keep_tablets(staff: Staff) -> bool:
    """Enrol shared tablets, withdraw and unlock them: directors."""
    return may_direct(staff)


def may_merge(staff: Staff) -> bool:
    """Say that two records are of one child, and take that back: directors."""
    return may_direct(staff)


def may_keep_classes(staff: Staff) -> bool:
    """Add, change and move classes and their evenings, holidays, visitors: directors."""
    return may_direct(staff)


def may_send_substitute(staff: Staff) -> bool:
    """Say who stands in on an evening of one's own classes: coaches and directors."""
    return may_grade(staff) and not is_guest(staff)


def may_confirm_halls(staff: Staff) -> bool:
    """Enter and confirm a hall's address and emergency number: directors."""
    return may_direct(staff)


def may_keep_equipment(staff: Staff) -> bool:
    """Say how many of each thing a hall has: directors."""
    return may_direct(staff)


def may_plan_stations(staff: Staff) -> bool:
    """See and take the plan of an evening's stations: coaches and directors."""
    return may_grade(staff) and not is_guest(staff)


def may_answer_for_record(staff: Staff) -> bool:
    """Be told of backups, and say that a restored record was looked through: directors."""
    return may_direct(staff)


def may_end_access(staff: Staff) -> bool:
    """See the staff of one's halls, invite, change accounts, end somebody's access: directors."""
    return may_direct(staff)


def whose_access_they_may_end(staff: Staff) -> QuerySet[Staff]:
    """And whose account they may change. Not another director's, once she has chosen a password:
    what two must do would be left to one."""
    mine = Q(pk=staff.pk) | ~Q(role=Staff.Role.DIRECTOR) | Q(guest_on__isnull=False)
    invited = Q(password__startswith=UNUSABLE_PASSWORD_PREFIX)
    return visible_colleagues(staff).filter(mine | invited)


def whose_sign_ins_they_see(staff: Staff) -> QuerySet[Staff]:
    """One's own; directors see those of their halls too."""
    return visible_colleagues(staff) if may_direct(staff) else Staff.objects.filter(pk=staff.pk)


def whose_sign_ins_they_end(staff: Staff) -> QuerySet[Staff]:
    """The same, but of another director's: whom no one director keeps out."""
    seen, mine = whose_sign_ins_they_see(staff), Q(pk=staff.pk)
    return seen.filter(mine | Q(pk__in=whose_access_they_may_end(staff).values("pk")))


def may_set_pin(staff: Staff) -> bool:
    """Set one's own PIN: after a sign-in with the password, not by the PIN itself."""
    return not staff.coach_rights_only and not is_guest(staff)


def visible_locations(staff: Staff) -> QuerySet[Location]:
    return Location.objects.filter(staff=staff)


def visible_holidays(staff: Staff) -> QuerySet[Holiday]:
    return Holiday.objects.filter(location__in=visible_locations(staff))


def visible_classes(staff: Staff) -> QuerySet[ClassGroup]:
    """A director's locations' classes; for everybody else the classes they teach."""
    if may_decide(staff):
        return ClassGroup.objects.filter(location__in=visible_locations(staff))
    return ClassGroup.objects.filter(staff=staff)


def visible_meetings(staff: Staff, today: datetime.date) -> QuerySet[Meeting]:
    """Meetings of one's own classes, those one stood in for lately, and those that were held in a
    director's hall lately."""
    return meetings_since(staff, stood_in_since(today))


def meetings_since(staff: Staff, since: datetime.date) -> QuerySet[Meeting]:
    """The same for those who know the first day that is lately."""
    mine = Q(group__in=visible_classes(staff))
    if may_decide(staff):
        # A class of another hall that is held in theirs.
        mine |= Q(location__in=visible_locations(staff), date__gte=since)
    # A subquery for the meetings in question: one's own are more every year.
    stands_in = Meeting.staff.through.objects.filter(meeting=OuterRef("pk"), staff=staff)
    return Meeting.objects.filter(mine | Exists(stands_in) & Q(date__gte=since))


def sees_meeting_rows(
    staff: int, since: datetime.date, which: Q, *, coach_rights_only: bool = False
) -> Q:
    """The same in a query of staff, whose role is only known there: whether this one of them sees
    such a meeting."""
    sees = Q()
    for role in Staff.Role:
        one = Staff(pk=staff, role=role)
        one.coach_rights_only = coach_rights_only
        sees |= Q(Exists(meetings_since(one, since).filter(which)), role=role)
    return sees


def visible_children(staff: Staff, today: datetime.date) -> QuerySet[Child]:
    """Children of one's own classes and of the meetings one stood in for lately."""
    return children_since(staff, stood_in_since(today))


def stood_in_since(today: datetime.date) -> datetime.date:
    """The first day that is lately."""
    return today - datetime.timedelta(days=STAND_IN_DAYS)


def children_since(staff: Staff, since: datetime.date) -> QuerySet[Child]:
    """The same for those who know the first day that is lately."""
    stood_in = ClassGroup.objects.filter(
        pk__in=Meeting.objects.filter(staff=staff, date__gte=since).values("group")
    )
    groups = ClassGroup.objects.filter(
        Q(pk__in=visible_classes(staff).values("pk")) | Q(pk__in=stood_in.values("pk"))
    )
    members = Child.classes.through.objects.filter(classgroup__in=groups)
    return Child.objects.filter(pk__in=members.values(root=root_of("child")))


def children_in_lists(staff: Staff, today: datetime.date) -> QuerySet[Child]:
    """Whom a list may speak of: the children one sees, and who left one's classes for none."""
    left = Child.objects.filter(
        merged_into=None, classes=None, list_changes__group__in=visible_classes(staff)
    )
    seen = visible_children(staff, today)
    return Child.objects.filter(Q(pk__in=seen.values("pk")) | Q(pk__in=left.values("pk")))


def children_of_hall(meeting: Meeting, today: datetime.date) -> QuerySet[Child]:
    """Whom a class may let in for an evening: the children of its hall who have not left."""
    groups = ClassGroup.objects.filter(location=meeting.group.location_id)
    members = Child.classes.through.objects.filter(classgroup__in=groups)
    here = Child.objects.exclude(left_on__lte=today)
    return here.filter(pk__in=members.values(root=root_of("child")))


def unknown_children(staff: Staff, today: datetime.date) -> QuerySet[Child]:
    """Those of one's own who came back without a name after a restore."""
    return visible_children(staff, today).filter(birth_year=None)


def visible_merges(staff: Staff, today: datetime.date) -> QuerySet[Merge]:
    """The merges in force of children whom this person sees."""
    theirs = all_records(visible_children(staff, today))
    return Merge.objects.filter(undone_at=None, survivor__in=theirs)


def visible_not_doubles(staff: Staff, today: datetime.date) -> QuerySet[NotDouble]:
    """What is said of two children whom this person sees, that they are two."""
    theirs = all_records(visible_children(staff, today))
    return NotDouble.objects.filter(ended_at=None, one__in=theirs, other__in=theirs)


def unsorted_classes(staff: Staff) -> QuerySet[ClassGroup]:
    return visible_classes(staff).filter(to_be_sorted=True)


def visible_colleagues(staff: Staff) -> QuerySet[Staff]:
    """Oneself, and the staff of one's own locations."""
    shared = Staff.objects.filter(locations__in=visible_locations(staff)).values("pk")
    return Staff.objects.filter(Q(pk=staff.pk) | Q(pk__in=shared))


def deciders(child: Child, today: datetime.date) -> QuerySet[Staff]:
    """Who may sign for this child today: the directors of its locations, its family excepted."""
    halls = Location.objects.filter(classes__children__in=child.records)
    return Staff.objects.filter(
        may_sign_in_rows(today),
        role=Staff.Role.DIRECTOR,
        pk__in=Staff.locations.through.objects.filter(location__in=halls).values("staff"),
    ).exclude(pk__in=family_on_staff(child).values("staff"))


def visible_tablets(staff: Staff) -> QuerySet[Tablet]:
    """The enrolled tablets of one's own locations."""
    return Tablet.objects.filter(location__in=visible_locations(staff), withdrawn_at=None)


def trusted_tablets(today: datetime.date) -> QuerySet[Tablet]:
    """Enrolled, not withdrawn, and by somebody who has not left."""
    here = Q(enrolled_by__left_on=None) | Q(enrolled_by__left_on__gt=today)
    return Tablet.objects.filter(here, withdrawn_at=None)


def may_change_over(tablet: Tablet, today: datetime.date) -> QuerySet[Staff]:
    """Who may sign in by PIN on a tablet: those of its location who can sign in and have one."""
    return Staff.objects.filter(
        may_sign_in_rows(today),
        locations=tablet.location_id,
        pin__isnull=False,
    )


def visible_drafts(staff: Staff) -> QuerySet[ImportDraft]:
    """Only one's own uploads."""
    return ImportDraft.objects.filter(owner=staff)


def visible_brought_in(
    staff: Staff, kind: ImportDraft.Kind, since: datetime.datetime
) -> QuerySet[BroughtIn]:
    """What one and one's colleagues brought in since then, the last first."""
    mine = BroughtIn.objects.filter(kind=kind, by__in=visible_colleagues(staff).values("pk"))
    return mine.filter(at__gte=since).select_related("by").order_by("-at", "-pk")


def only(allowed: Callable[[Staff], bool]) -> Callable[[View], View]:
    """Refuse a view, with 403, to staff for whom ``allowed`` is false."""

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not allowed(staff_of(request)):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return guarded

    return decorate


def staff_of(request: HttpRequest) -> Staff:
    """The signed-in member of staff; PermissionDenied if there is none."""
    if not isinstance(request.user, Staff):
        raise PermissionDenied
    return request.user
