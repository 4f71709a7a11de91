"""The people and the places: staff, locations, classes, meetings, attendance, children.

Shared: used everywhere.
"""

import datetime
import uuid
import zoneinfo

from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

DAYS_OF_WEEK = [
    (0, _("Monday")),
    (1, _("Tuesday")),
    (2, _("Wednesday")),
    (3, _("Thursday")),
    (4, _("Friday")),
    (5, _("Saturday")),
    (6, _("Sunday")),
]


class Studio(models.Model):
    """The one row that names the studio.

    ``log`` names this copy of the log: a tablet that meets another value knows that the
    server was restored from a backup and sends its acknowledged lines again.
    """

    only = models.BooleanField(default=True, unique=True, editable=False)
    name = models.CharField(max_length=120)
    log = models.UUIDField(default=uuid.uuid4)
    # When the last good backup was made; see studio/backup/.
    backed_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(only=True), name="one_studio"),
        ]

    def __str__(self) -> str:
        return self.name


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
        LEFT = "left", _("access ended")
        BACK = "back", _("let in again")

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="account_changes")
    what = models.CharField(max_length=5, choices=What.choices)
    # Nobody: at the server.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return self.what


class Child(models.Model):
    """A child, with no more about them than the job needs."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    # The studio's own id from its lists, if it has one: text, so 007 is not 7.
    list_id = models.CharField(max_length=60, blank=True)
    name = models.CharField(max_length=120)
    name_used = models.CharField(max_length=60, blank=True)
    # Name in NFC, case and spaces folded: what the roster import compares.
    name_key = models.CharField(max_length=120, editable=False, db_index=True)
    # Empty only where a child came back with a tablet's lines after a restore, until the desk says
    # who it is.
    birth_year = models.PositiveSmallIntegerField(null=True, blank=True)
    birth_month = models.PositiveSmallIntegerField(null=True, blank=True)
    guardian = models.CharField(max_length=120, blank=True)
    letter_language = models.CharField(max_length=10, default="en")
    # From this day hands-on spotting needs a guardian's yes: the day of the upgrade for children
    # who were here before it, None (from the first day) for all others.
    consent_asked_from = models.DateField(null=True, blank=True)
    left_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["list_id"], condition=~Q(list_id=""), name="list_id_once"
            ),
            models.CheckConstraint(
                condition=Q(birth_month__gte=1, birth_month__lte=12), name="birth_month_known"
            ),
            models.CheckConstraint(
                condition=Q(birth_year=None, birth_month=None)
                | Q(birth_year__isnull=False, birth_month__isnull=False),
                name="birth_whole_or_none",
            ),
        ]

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
    def is_known(self) -> bool:
        """False for a child who came back without a name after a restore: nothing is signed for
        it and no letter is written, until the desk says who it is."""
        return self.birth_year is not None

    @property
    def born(self) -> str:
        """Year and month, such as 2016-04; "" if nobody has said it."""
        if self.birth_year is None or self.birth_month is None:
            return ""
        return f"{self.birth_year}-{self.birth_month:02d}"

    def age_on(self, day: datetime.date) -> int | None:
        """Whole years on a day, from year and month of birth; None if that is not known."""
        if self.birth_year is None or self.birth_month is None:
            return None
        return day.year - self.birth_year - (day.month < self.birth_month)


class SpottingConsent(models.Model):
    """One guardian's answer to hands-on spotting, as it was written down. Only ever added to.

    What the answers of a child mean together is said in studio/people/consents.py.
    """

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="spotting_consents")
    # Which of the family answered, in the family's words.
    guardian = models.CharField(max_length=120, blank=True)
    yes = models.BooleanField()
    # It counts from this local day until the season is over in which it is asked again.
    day = models.DateField()
    asked_again_on = models.DateField()
    # Who saw the form, or was told at the desk, and when.
    seen_by = models.CharField(max_length=120, blank=True)
    seen_on = models.DateField()
    # Nobody: brought in by a command at the server, or known from before answers were kept.
    by = models.ForeignKey(Staff, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return "yes" if self.yes else "no"


class ClassGroup(models.Model):
    """A class: a weekly group of children with its staff."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=80)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="classes")
    weekday = models.PositiveSmallIntegerField(choices=DAYS_OF_WEEK)
    starts_at = models.TimeField()
    minutes = models.PositiveSmallIntegerField(default=60)
    staff = models.ManyToManyField(Staff, blank=True, related_name="classes")
    children = models.ManyToManyField(Child, blank=True, related_name="classes")
    # It came back with a tablet's lines after a restore; the desk names it and says where it meets.
    to_be_sorted = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["location", "name"], name="class_name_once"),
            models.CheckConstraint(condition=Q(weekday__lte=6), name="weekday_known"),
        ]

    # No column: set by studio/people/told_apart.py where another class has this name.
    with_hall = False

    def __str__(self) -> str:
        return self.shown

    @property
    def shown(self) -> str:
        """The name, with the hall where another class has the same one."""
        return f"{self.name} ({self.location.name})" if self.with_hall else self.name


class ClassListChange(models.Model):
    """A child came into a class, or left it: who belonged on an earlier day is read from these.

    Written by studio/people/class_lists.py; without any, a child has always been where they are.
    """

    group = models.ForeignKey(ClassGroup, on_delete=models.PROTECT, related_name="list_changes")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="list_changes")
    # Of a child who came: the first day; of one who left: the first day without the class.
    day = models.DateField()
    joins = models.BooleanField()

    class Meta:
        indexes = [models.Index(fields=["group", "day"], name="class_list_changes")]


class Meeting(models.Model):
    """One date of a class. ``staff`` are those who stand in for it; the class's own are there
    without being named."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    group = models.ForeignKey(ClassGroup, on_delete=models.PROTECT, related_name="meetings")
    date = models.DateField()
    starts_at = models.TimeField()
    # What the id was made of; a move leaves them as they are. None: the id was drawn.
    planned_date = models.DateField(null=True, blank=True)
    planned_start = models.TimeField(null=True, blank=True)
    staff = models.ManyToManyField(Staff, blank=True, related_name="meetings")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["group", "date", "starts_at"], name="meeting_once"),
        ]
        indexes = [models.Index(fields=["date"])]

    def __str__(self) -> str:
        return f"{self.group} {self.date}"


class Attendance(models.Model):
    """One statement that a child is, or is not, at a meeting. The latest one counts."""

    id = models.UUIDField(primary_key=True)
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="attendance")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="attendance")
    present = models.BooleanField()
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64)


class ImportDraft(models.Model):
    """An uploaded file that waits between the preview and the confirmation."""

    class Kind(models.TextChoices):
        ROSTER = "roster", _("roster")
        ATTEMPTS = "attempts", _("paper log")

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    owner = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="import_drafts")
    name = models.CharField(max_length=200)
    data = models.BinaryField()
    options = models.JSONField(default=dict)
    created_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    result = models.JSONField(null=True, blank=True)


class SpentToken(models.Model):
    """A form token that has been used: each job runs once. See studio/idempotency.py."""

    token = models.UUIDField(primary_key=True)
    job = models.CharField(max_length=40)
    # The address that its form was sent to; empty for tokens used before this was kept.
    target = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    # Where the first request ended up, so that the second can be sent there too.
    went_to = models.CharField(max_length=300)


class Tablet(models.Model):
    """A shared tablet, on which staff of its location may change over by PIN.

    The browser holds a random secret in a cookie; here is only its digest. A withdrawn
    tablet's cookie is worth nothing.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="tablets")
    secret_digest = models.CharField(max_length=64, unique=True)
    enrolled_by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["location", "name"],
                condition=Q(withdrawn_at=None),
                name="tablet_name_once",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Pin(models.Model):
    """A member of staff's own PIN for shared tablets, as a hash; see studio/sign_in/pins.py."""

    staff = models.OneToOneField(Staff, on_delete=models.CASCADE, related_name="pin")
    hash = models.CharField(max_length=128)
    set_at = models.DateTimeField()


class SignInTry(models.Model):
    """A try at a PIN (on a tablet) or a password (without one); see studio/sign_in/throttle.py.

    ``counts``: it makes the next one wait. A try counts from before it is checked
    until the same person gets it right there or a director unlocks the tablet.
    """

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="+")
    tablet = models.ForeignKey(
        Tablet, on_delete=models.CASCADE, null=True, blank=True, related_name="tries"
    )
    # The known browser that a password was typed in, empty if it was none.
    browser = models.CharField(max_length=16, blank=True)
    at = models.DateTimeField()
    counts = models.BooleanField(default=True)

    class Meta:
        indexes = [
            models.Index(
                fields=["tablet", "staff"], condition=Q(counts=True), name="tries_that_count"
            ),
        ]


class Restore(models.Model):
    """The record was put back as it was at ``made_at``. What was ended after that is open again,
    until a director has looked through it."""

    made_at = models.DateTimeField()
    at = models.DateTimeField()
    looked_at = models.DateTimeField(null=True, blank=True)
    looked_by = models.ForeignKey(
        Staff, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
