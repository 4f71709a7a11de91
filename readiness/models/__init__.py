"""What the record means: tallies, standings, and what people decide, tell and write down.

Shared: used everywhere.
"""

from readiness.models.decisions import Decision, Pause, PauseLift, Placing
from readiness.models.door_notes import DoorNote
from readiness.models.evening import ClassOver, HallReport, Note, ReadyNote
from readiness.models.eyes import AttemptAngles, SecondGrade, Twelve, TwelveAnswers
from readiness.models.head_knocks import AfterKnock, Clearance, HeadKnock, StepGiven, Symptom
from readiness.models.incidents import IncidentAccount, IncidentAddition
from readiness.models.languages import LetterLanguageRead
from readiness.models.letters import (
    LetterDraft,
    LetterGiven,
    LetterInRun,
    LetterRun,
    PrintedLetter,
)
from readiness.models.planning import ClassAim, HourChild
from readiness.models.privacy import Erasure
from readiness.models.reports import (
    AskedFor,
    Elsewhere,
    Fell,
    Growing,
    NoHands,
    NotTonight,
    Pain,
    PainGone,
    Report,
    Told,
)
from readiness.models.shows import RunThrough, Show, ShowEntry, ShowNumber, Wings
from readiness.models.spotters import RoomNumbers, SpotterTraining, YoungestSpotter
from readiness.models.standings import DayTally, FaultTally, Look, Standing
from readiness.models.stations import (
    HallEquipment,
    RotationBegun,
    StationPlace,
    StationPlan,
    WallScreen,
)

__all__ = [
    "AfterKnock",
    "AskedFor",
    "AttemptAngles",
    "ClassAim",
    "ClassOver",
    "Clearance",
    "DayTally",
    "Decision",
    "DoorNote",
    "Elsewhere",
    "Erasure",
    "FaultTally",
    "Fell",
    "Growing",
    "HallEquipment",
    "HallReport",
    "HeadKnock",
    "HourChild",
    "IncidentAccount",
    "IncidentAddition",
    "LetterDraft",
    "LetterGiven",
    "LetterInRun",
    "LetterLanguageRead",
    "LetterRun",
    "Look",
    "NoHands",
    "NotTonight",
    "Note",
    "Pain",
    "PainGone",
    "Pause",
    "PauseLift",
    "Placing",
    "PrintedLetter",
    "ReadyNote",
    "Report",
    "RoomNumbers",
    "RotationBegun",
    "RunThrough",
    "SecondGrade",
    "Show",
    "ShowEntry",
    "ShowNumber",
    "SpotterTraining",
    "Standing",
    "StationPlace",
    "StationPlan",
    "StepGiven",
    "Symptom",
    "Told",
    "Twelve",
    "TwelveAnswers",
    "WallScreen",
    "Wings",
    "YoungestSpotter",
]
