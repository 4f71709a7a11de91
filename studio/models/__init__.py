"""The people and the places: staff, locations, classes, meetings, attendance, children.

Shared: used everywhere.
"""

from studio.models.audit import AuditEntry
from studio.models.classes import (
    DAYS_OF_WEEK,
    Attendance,
    ClassGroup,
    ClassListChange,
    ClassMove,
    Holiday,
    Meeting,
    MeetingVisit,
)
from studio.models.people import (
    AccountChange,
    Child,
    Contact,
    FamilyOnStaff,
    GuardianAnswer,
    HallPictures,
    Location,
    Merge,
    NotDouble,
    PictureConsent,
    SpottingConsent,
    Staff,
    StaffPaper,
    known_zone,
)
from studio.models.sign_in import OneTimeLink, Pin, SignInTry, Tablet
from studio.models.site import BroughtIn, FileWord, ImportDraft, Restore, SpentToken, Studio

__all__ = [
    "DAYS_OF_WEEK",
    "AccountChange",
    "Attendance",
    "AuditEntry",
    "BroughtIn",
    "Child",
    "ClassGroup",
    "ClassListChange",
    "ClassMove",
    "Contact",
    "FamilyOnStaff",
    "FileWord",
    "GuardianAnswer",
    "HallPictures",
    "Holiday",
    "ImportDraft",
    "Location",
    "Meeting",
    "MeetingVisit",
    "Merge",
    "NotDouble",
    "OneTimeLink",
    "PictureConsent",
    "Pin",
    "Restore",
    "SignInTry",
    "SpentToken",
    "SpottingConsent",
    "Staff",
    "StaffPaper",
    "Studio",
    "Tablet",
    "known_zone",
]
