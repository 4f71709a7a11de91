"""The classes, their lists, their evenings, and who was there."""

import uuid

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from studio.models.people import Child, Location, Staff

DAYS_OF_WEEK = [
    (0, _("Monday")),
    (1, _("Tuesday")),
    (2, _("Wednesday")),
    (3, _("Thursday")),
    (4, _("Friday")),
    (5, _("Saturday")),
    (6, _("Sunday")),
]


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


class ClassMove(models.Model):
    """From a day on a class meets elsewhere or at another time. ``done``: the class's own row says
    so already; see studio/classes/changing.py."""

    group = models.ForeignKey(ClassGroup, on_delete=models.CASCADE, related_name="moves")
    from_day = models.DateField()
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="+")
    weekday = models.PositiveSmallIntegerField(choices=DAYS_OF_WEEK)
    starts_at = models.TimeField()
    minutes = models.PositiveSmallIntegerField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    done = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["group", "from_day"], name="one_move_a_day"),
            models.CheckConstraint(condition=Q(weekday__lte=6), name="move_weekday_known"),
        ]


class Holiday(models.Model):
    """Days on which no class meets in a hall, the first and the last included."""

    location = models.ForeignKey(Location, on_delete=models.CASCADE, related_name="holidays")
    name = models.CharField(max_length=80)
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(first_day__lte=models.F("last_day")),
                name="holiday_ends_after_it_begins",
            ),
        ]
        indexes = [models.Index(fields=["location", "last_day"], name="holidays_of_hall")]

    def __str__(self) -> str:
        return self.name


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
    cancelled = models.BooleanField(default=False)
    # Where it is held if that is not the class's own hall.
    location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    # Counts what the other tablets of the class must hear at once.
    alerts = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["group", "date", "starts_at"], name="meeting_once"),
        ]
        indexes = [models.Index(fields=["date"])]

    def __str__(self) -> str:
        return f"{self.group} {self.date}"

    @property
    def hall(self) -> Location:
        """Where it is held: whose day it is, and whose emergency card."""
        return self.location or self.group.location


class Attendance(models.Model):
    """One statement that a child is, or is not, at a meeting. The latest one counts."""

    id = models.UUIDField(primary_key=True)
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="attendance")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="attendance")
    present = models.BooleanField()
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64)


class MeetingVisit(models.Model):
    """A child of another class at one meeting: as a visitor, or to make up for one it missed.
    ``why``: as it was said on the floor; empty where the desk wrote it."""

    class Why(models.TextChoices):
        MAKE_UP = "make-up", _("makes up")
        TRIAL = "trial", _("a trial")
        SIBLING = "sibling", _("with a brother or sister")

    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="visits")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="visits")
    makes_up = models.BooleanField()
    why = models.CharField(max_length=10, choices=Why.choices, blank=True, default="")
    by = models.ForeignKey(Staff, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["meeting", "child"], name="visit_once")]
