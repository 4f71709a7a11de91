"""The halls, the staff, and the children with their families' answers."""

import datetime
import uuid
import zoneinfo
from typing import Any

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from studio.db.erasable import ErasableChar
from studio.people.names import fold


def known_zone(value: str) -> None:
    """Refuse a time zone name that is not in the IANA database."""
    if value not in zoneinfo.available_timezones():
        raise ValidationError(_("There is no time zone called “%(name)s”."), params={"name": value})


class Location(models.Model):
    """A hall. Its time zone decides what "today" is for everything that happens in it."""

    name = models.CharField(max_length=120, unique=True)
    address = models.CharField(max_length=250, blank=True)
    # No number is ever assumed; see studio/halls/emergency.py.
    emergency_number = models.CharField(max_length=20, blank=True)
    # The rest of the emergency card: which door an ambulance is led to, where the first-aid kit and
    # the defibrillator are, who phones, and who meets the ambulance.
    door = models.CharField(max_length=250, blank=True)
    first_aid_kit = models.CharField(max_length=250, blank=True)
    defibrillator = models.CharField(max_length=250, blank=True)
    who_phones = models.CharField(max_length=250, blank=True)
    who_meets = models.CharField(max_length=250, blank=True)
    # Where families ask; printed on what they are given.
    phone = models.CharField(max_length=40, blank=True)
    # Where and when they can ask in person; each letter closes with it.
    questions = models.CharField(max_length=120, blank=True)
    zone = models.CharField(max_length=60, default="UTC", validators=[known_zone])
    # When somebody said that number and address are right, and who: nobody's name where a command
    # was told.
    confirmed_on = models.DateField(null=True, blank=True)
    confirmed_by = models.ForeignKey(
        "Staff", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    def __str__(self) -> str:
        return self.name

    def day_of(self, moment: datetime.datetime) -> datetime.date:
        """The local date of an aware moment."""
        return moment.astimezone(zoneinfo.ZoneInfo(self.zone)).date()

    def end_of(self, day: datetime.date) -> datetime.datetime:
        """The local midnight with which a day ends."""
        after = day + datetime.timedelta(days=1)
        return datetime.datetime.combine(after, datetime.time(), zoneinfo.ZoneInfo(self.zone))


class Staff(AbstractUser):
    """Somebody who signs in. ``role`` decides what they may do; see studio/access.py."""

    class Role(models.TextChoices):
        ASSISTANT = "assistant", _("assistant")
        COACH = "coach", _("coach")
        DIRECTOR = "director", _("director")

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.ASSISTANT)
    locations = models.ManyToManyField(Location, blank=True, related_name="staff")
    # A guest reviewer's account works on this one day only.
    guest_on = models.DateField(null=True, blank=True)
    # The first day without access; see studio/staff/leaving.py.
    left_on = models.DateField(null=True, blank=True)

    # No column: the middleware sets it, for one request, on staff who signed in by PIN on a
    # shared tablet. It leaves a coach's rights at most; studio/access.py reads it.
    coach_rights_only = False

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=["assistant", "coach", "director"]), name="staff_role_known"
            ),
        ]

    def __str__(self) -> str:
        return self.called

    @property
    def called(self) -> str:
        """The name shown to others."""
        return self.get_full_name() or self.username


class AccountChange(models.Model):
    """What was done to an account, by whom and when. Only ever added to; see studio/staff/."""

    class What(models.TextChoices):
        MADE = "made", _("made")
        ROLE = "role", _("given another role")
        OTHER = "other", _("changed")
        PASSWORD = "pass", _("given a new password")
        PIN = "pin", _("PIN taken away")
        LEFT = "left", _("access ended")
        BACK = "back", _("let in again")

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="account_changes")
    what = models.CharField(max_length=5, choices=What.choices)
    # Nobody: at the server.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return self.what


class SearchKey(models.CharField):
    """A child's name and name used, folded, made whenever it is stored: lists are in its order and
    search in it. Both databases compare it byte by byte."""

    def pre_save(self, model_instance: models.Model, add: bool) -> str:
        names = (getattr(model_instance, name) for name in ("name", "name_used"))
        # No name has a line's end in it, and it comes before every letter.
        key = "\n".join(map(fold, names))[: self.max_length]
        setattr(model_instance, self.attname, key)
        return key

    def db_parameters(self, connection: BaseDatabaseWrapper) -> Any:
        bytewise = "C" if connection.vendor == "postgresql" else "BINARY"
        return super().db_parameters(connection) | {"collation": bytewise}


class StaffPaper(models.Model):
    """A paper of somebody's that runs out: the last day on which it is good."""

    class Kind(models.TextChoices):
        FIRST_AID = "first-aid", _("first aid")
        CHECK = "check", _("background check")
        SPOTTING = "spotting", _("spotting course")

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="papers")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    good_until = models.DateField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["staff", "kind"], name="staff_paper_once")]

    def __str__(self) -> str:
        return self.kind


class Child(models.Model):
    """A child, with no more about them than the job needs."""

    class Leg(models.TextChoices):
        LEFT = "left", _("left")
        RIGHT = "right", _("right")

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    # The studio's own id from its lists, if it has one: text, so 007 is not 7.
    list_id = models.CharField(max_length=60, blank=True)
    name = models.CharField(max_length=120)
    name_used = models.CharField(max_length=60, blank=True)
    # Name in NFC, case and spaces folded: what the roster import compares.
    name_key = models.CharField(max_length=120, editable=False, db_index=True)
    # What lists are in the order of, and search in; name it in update_fields beside a name.
    search_key = SearchKey(max_length=250, editable=False, default="")
    # Empty only for somebody whom the desk has yet to say who it is: added on an evening, or back
    # with a tablet's lines after a restore. The month alone is empty where only the year was said.
    birth_year = models.PositiveSmallIntegerField(null=True, blank=True)
    birth_month = models.PositiveSmallIntegerField(null=True, blank=True)
    guardian = models.CharField(max_length=120, blank=True)
    letter_language = models.CharField(max_length=10, default="en")
    # One line that everybody who coaches the child reads, such as "no weight on the left wrist".
    caution = models.CharField(max_length=120, blank=True)
    # The leg that kicks over first, in a walkover.
    kick_leg = models.CharField(max_length=5, choices=Leg.choices, blank=True)
    # From this day hands-on spotting needs a guardian's yes: the day of the upgrade for children
    # who were here before it, None (from the first day) for all others.
    consent_asked_from = models.DateField(null=True, blank=True)
    left_on = models.DateField(null=True, blank=True)
    # The record that stands for this one since both were found to be of one child: what the rows
    # of Merge come to, at the end of the chain. See studio/people/merging.py.
    merged_into = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        editable=False,
        on_delete=models.PROTECT,
        related_name="merged",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["list_id"], condition=~Q(list_id=""), name="list_id_once"
            ),
            models.CheckConstraint(
                condition=Q(birth_month__gte=1, birth_month__lte=12), name="birth_month_known"
            ),
            models.CheckConstraint(
                condition=Q(birth_month=None) | Q(birth_year__isnull=False),
                name="birth_month_with_year",
            ),
        ]
        indexes = [models.Index(fields=["search_key", "id"], name="child_search_key")]

    # No column: set by studio/people/told_apart.py for the children of one list.
    told_apart = ""

    def __str__(self) -> str:
        return self.called

    @property
    def called(self) -> str:
        """The name used in class."""
        return self.name_used or self.name

    @property
    def listed(self) -> str:
        """The name in a list of children, told apart from the others there."""
        return self.told_apart or self.called

    @property
    def root(self) -> int:
        """The key of the record that stands for this one: its own, unless it was merged."""
        return self.merged_into_id or self.pk

    @property
    def records(self) -> "models.QuerySet[Child, Any]":
        """The keys of all records of this child, for ``child__in``."""
        of_child = Q(pk=self.root) | Q(merged_into=self.root)
        return Child.objects.filter(of_child).values("pk")

    @property
    def is_known(self) -> bool:
        """False for a child of whom the desk has yet to say who it is: nothing is signed for it
        and no letter is written until then."""
        return self.birth_year is not None

    @property
    def born(self) -> str:
        """Year and month, such as 2016-04, or the year alone; "" if nobody has said it."""
        if self.birth_year is None:
            return ""
        month = "" if self.birth_month is None else f"-{self.birth_month:02d}"
        return f"{self.birth_year}{month}"

    def age_on(self, day: datetime.date) -> int | None:
        """Whole years on a day, from year and month of birth, the fewest where only the year is
        known; None if that is not either."""
        if self.birth_year is None:
            return None
        return day.year - self.birth_year - (day.month < (self.birth_month or 12))


class Contact(models.Model):
    """Somebody of a child's family: whom to call, who may collect, who must not be told."""

    class Household(models.IntegerChoices):
        FIRST = 1, _("first household")
        SECOND = 2, _("second household")

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="contacts")
    name = models.CharField(max_length=120)
    # Mother, neighbour …, in the family's words.
    relation = models.CharField(max_length=40, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    household = models.PositiveSmallIntegerField(choices=Household.choices, default=Household.FIRST)
    to_call = models.BooleanField(default=False)
    may_collect = models.BooleanField(default=False)
    not_told = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(not_told=False) | Q(to_call=False, may_collect=False),
                name="contact_not_told_is_not_called",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Merge(models.Model):
    """Two records were found to be of one child: until ``undone_at`` what stands under ``loser`` is
    read as the survivor's. Nothing is moved; see studio/people/merging.py."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    loser = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="merges")
    survivor = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(loser=F("survivor")), name="merged_with_another"),
            models.UniqueConstraint(
                fields=["loser"], condition=Q(undone_at=None), name="merged_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.loser} into {self.survivor}"


class NotDouble(models.Model):
    """Somebody has looked at two who are alike: they are two children, until ``ended_at``. The one
    with the smaller key is ``one``. See studio/people/doubles.py."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    one = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    other = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(one__lt=F("other")), name="two_in_order"),
            models.UniqueConstraint(
                fields=["one", "other"], condition=Q(ended_at=None), name="said_to_be_two_once"
            ),
        ]


class FamilyOnStaff(models.Model):
    """Somebody of the staff is family of a child, until ``ended_at``. Only ever added to; see
    studio/people/family.py."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    # Nobody: erased, with whatever else said who the child is.
    staff = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["staff", "child"], condition=Q(ended_at=None), name="family_once"
            ),
        ]


class GuardianAnswer(models.Model):
    """One guardian's yes or no, as it was written down. Only ever added to.

    What the answers of a child mean together is said in studio/people/consents.py.
    """

    # Which of the family answered, in the family's words.
    guardian = ErasableChar(max_length=120, blank=True)
    yes = models.BooleanField()
    # It counts from this local day until the season is over in which it is asked again.
    day = models.DateField()
    asked_again_on = models.DateField()
    # Who saw the form, or was told at the desk, and when.
    seen_by = ErasableChar(max_length=120, blank=True)
    seen_on = models.DateField()
    # Nobody: brought in by a command at the server, or known from before answers were kept.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    # No column: the records for which it counts, where the child has several; set by
    # studio/people/consents.py.
    counts_for: frozenset[int] = frozenset()
    child_id: int

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return "yes" if self.yes else "no"


class SpottingConsent(GuardianAnswer):
    """An answer to hands-on spotting."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="spotting_consents")


class PictureConsent(GuardianAnswer):
    """An answer to pictures from the side, off which angles are read. No picture is kept."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="picture_consents")


class HallPictures(models.Model):
    """A director turned pictures from the side on in a hall, or off. Only ever added to; the latest
    counts, and without any it is off."""

    hall = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="pictures")
    is_on = models.BooleanField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
