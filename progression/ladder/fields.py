"""The shape of a ladder: which tables it has, which fields each has, and what a field may hold.

What the names in it mean to each other is looked at in ladder_checks.
"""

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

SUPPORTS = ("hands-on", "light-touch", "standing-by", "unspotted")
STAGES = range(1, 10)
GRADES = range(0, 4)


@dataclass(frozen=True)
class LadderFault:
    """One thing wrong in a ladder: where, for example "drill handspring", and a plain sentence."""

    key: str
    message: str


@dataclass(frozen=True)
class Field:
    """What one field may hold; `says` completes the sentence "this must be ..."."""

    holds: Callable[[Any], bool]
    says: str | Promise
    limits: Mapping[str, float | str] = field(default_factory=dict)
    needed: bool = True

    def wish(self) -> str:
        return str(self.says) % self.limits


@dataclass(frozen=True, eq=False)
class Kind:
    """One kind of table: its fields, the field it is named by, and the tables inside it."""

    word: str
    fields: Mapping[str, Field]
    named_by: str = ""
    parts: Mapping[str, "Kind"] = field(default_factory=dict)
    single: bool = False


@dataclass(frozen=True, eq=False)
class Table:
    """One table of a ladder, where it stands, and the table it stands in."""

    kind: Kind
    where: str
    row: dict[str, Any]
    owner: "Table | None" = None

    @property
    def name(self) -> Any:
        """What the table calls itself; None if it does not say, or not in a usable way."""
        name = self.row.get(self.kind.named_by)
        return name if isinstance(name, str | int) else None


# Kinds of field


def is_whole(value: Any) -> bool:
    """True for 3, not for 3.0 and not for true, which Python counts as 1."""
    return isinstance(value, int) and not isinstance(value, bool)


def is_number(value: Any) -> bool:
    return is_whole(value) or (isinstance(value, float) and math.isfinite(value))


def is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())


def is_list_of(holds: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, list) and all(holds(item) for item in value)


def is_span(value: Any) -> bool:
    return is_list_of(is_number)(value) and len(value) == 2 and value[0] <= value[1]


def is_table_of(holds: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, dict) and all(holds(item) for item in value.values())


def _matches(pattern: str) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, str) and re.fullmatch(pattern, value) is not None


def _at_least_one(holds: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: holds(value) and len(value) > 0


def whole(low: int, high: int) -> Field:
    return Field(
        lambda value: is_whole(value) and low <= value <= high,
        gettext_lazy("a whole number from %(low)s to %(high)s"),
        {"low": low, "high": high},
    )


def number(low: float, high: float) -> Field:
    return Field(
        lambda value: is_number(value) and low <= value <= high,
        gettext_lazy("a number from %(low)s to %(high)s"),
        {"low": low, "high": high},
    )


def one_of(*words: str) -> Field:
    return Field(
        lambda value: isinstance(value, str) and value in words,
        gettext_lazy("one of: %(words)s"),
        {"words": ", ".join(words)},
    )


def optional(kind: Field) -> Field:
    return replace(kind, needed=False)


TEXT = Field(is_text, gettext_lazy("a text"))
TEXTS = Field(is_list_of(is_text), gettext_lazy("a list of texts"))
KEY = Field(_matches(r"[a-z0-9-]+"), gettext_lazy("a key of small letters, digits and hyphens"))
KEYS = Field(is_list_of(KEY.holds), gettext_lazy("a list of keys"))
SOME_KEYS = Field(_at_least_one(KEYS.holds), gettext_lazy("a list of keys, at least one"))
CODE = Field(
    _matches(r"[a-z0-9./-]+"),
    gettext_lazy("a code of small letters, digits, hyphens, dots and strokes"),
)
YES_NO = Field(lambda value: isinstance(value, bool), gettext_lazy("true or false"))
TRUE = Field(lambda value: value is True, gettext_lazy("true, or left out"))
# Ceilings no studio needs to pass; they keep every sum of days a date, every value in its column.
DAYS = whole(1, 3650)
COUNT = whole(1, 1000)
VALUE = whole(1, 3600)
STAGE_NUMBER = whole(STAGES[0], STAGES[-1])
STAGE_NUMBERS = Field(is_list_of(STAGE_NUMBER.holds), gettext_lazy("a list of stage numbers"))
SUPPORT = one_of(*SUPPORTS)
SIGNED = one_of("signed")
LOADS = Field(
    is_list_of(one_of("hands", "back", "legs").holds),
    gettext_lazy("a list of: hands, back, legs"),
)
CERTAINTY = Field(
    lambda value: is_number(value) and 0.5 <= value < 1,
    gettext_lazy("a number of at least 0.5 and less than 1"),
)
ANGLES = Field(_at_least_one(is_table_of(is_number)), gettext_lazy("a table of angles in degrees"))
RANGES = Field(
    is_table_of(_at_least_one(is_list_of(is_span))),
    gettext_lazy("a table of lists of pairs, low and high"),
)
TABLE = Field(lambda value: isinstance(value, dict), gettext_lazy("a table"))
TABLES = Field(is_list_of(lambda value: isinstance(value, dict)), gettext_lazy("a list of tables"))
SOME_TABLES = Field(_at_least_one(TABLES.holds), gettext_lazy("a list of tables, at least one"))
UNREAD = Field(lambda value: True, "", needed=False)


# Kinds of table

ARITHMETIC = Kind(
    "arithmetic",
    {
        "memory_days": DAYS,
        "lately_days": DAYS,
        "memory_time": DAYS,
        "day_correlation": number(0, 1),
    },
    single=True,
)
_CLEAN_RULE = {
    "rate": number(0.5, 0.95),
    "certainty": CERTAINTY,
    "days": DAYS,
    "clean": COUNT,
    "within": DAYS,
    "fresh": DAYS,
}
PRACTICE = Kind("practice", _CLEAN_RULE, single=True)
WAY_BACK = Kind(
    "way_back",
    {
        "clean": COUNT,
        "lately": number(0, 1),
        "away_days": DAYS,
        "away_review_days": DAYS,
        "stops": COUNT,
        "stops_within": DAYS,
    },
    single=True,
)
PAIN_RULE = Kind("pain_rule", {"again_days": DAYS}, single=True)
STRAND = Kind("strand", {"key": KEY, "name": TEXT}, "key")
SURFACE = Kind("surface", {"key": KEY, "name": TEXT}, "key")
EQUIPMENT = Kind("equipment", {"key": KEY, "name": TEXT}, "key")

_GATE_HEAD = {
    "code": CODE,
    "kind": one_of("clean", "reach", "clear", "count", "seen-by-two", "first-turn"),
    "drill": KEY,
}
GATE_FIELDS: Mapping[str, Mapping[str, Field]] = {
    "clean": {
        **_GATE_HEAD,
        "support": optional(SUPPORT),
        "surface": optional(SIGNED),
        **_CLEAN_RULE,
        "graded": YES_NO,
    },
    "reach": {**_GATE_HEAD, "at_least": VALUE, "days": DAYS, "within": DAYS},
    "clear": {**_GATE_HEAD, "clean": COUNT, "days": DAYS},
    "count": {**_GATE_HEAD, "clean": COUNT, "within": DAYS},
    "seen-by-two": {
        **_GATE_HEAD,
        "support": SUPPORT,
        "surface": optional(SIGNED),
        "within": DAYS,
    },
    "first-turn": {
        **_GATE_HEAD,
        "support": SUPPORT,
        "surface": optional(SIGNED),
        "within": DAYS,
    },
}
# Of a gate whose kind is not known only the kind is said to be wrong, not each of its fields.
_GATE_OF_NO_KIND = {
    **{name: UNREAD for fields in GATE_FIELDS.values() for name in fields},
    **_GATE_HEAD,
}
GATE = Kind("gate", _GATE_OF_NO_KIND, "code")

ALLOW = Kind(
    "allow",
    {
        "stage": STAGE_NUMBER,
        "support": SUPPORT,
        "steady": optional(SUPPORT),
        "after_days": optional(DAYS),
        "tap": optional(TRUE),
        "release": optional(TRUE),
        "surface": optional(SIGNED),
        "first_turn": optional(SUPPORT),
    },
)
ANSWER = Kind("answer", {"shape": TEXT, "where": TEXT})
FIRST_DAYS = Kind("first_days_spotters", {"spotters": whole(1, 2), "days": DAYS}, single=True)
DRILL = Kind(
    "drill",
    {
        "key": KEY,
        "name": TEXT,
        "measure": one_of("clean", "seconds", "reps", "grade"),
        "strand": KEY,
        "stage": STAGE_NUMBER,
        "set_up": TEXT,
        "counts": TEXT,
        "cues": TEXTS,
        "equipment": KEYS,
        "at_once": COUNT,
        "adult": one_of("room", "station", "hands"),
        "spotters": whole(0, 2),
        "first_days_spotters": optional(TABLE),
        "landing": whole(0, 2),
        "static": YES_NO,
        "hand_heavy": YES_NO,
        "support_logged": YES_NO,
        "most": VALUE,
        "per_set": optional(COUNT),
        "sets_note": optional(TEXT),
        "rubric": optional(KEY),
        "skill": optional(YES_NO),
        "loads": LOADS,
        "answers": optional(TABLES),
        "needs": optional(TABLES),
        "allow": optional(SOME_TABLES),
    },
    "key",
    {"first_days_spotters": FIRST_DAYS, "answers": ANSWER, "needs": GATE, "allow": ALLOW},
)
RELEASE = Kind("release", {"code": CODE, "drill": KEY, "gate": SOME_TABLES}, "code", {"gate": GATE})
STAGE = Kind(
    "stage",
    {
        "number": STAGE_NUMBER,
        "key": KEY,
        "name": TEXT,
        "needs": STAGE_NUMBERS,
        "exception_for": STAGE_NUMBERS,
        "sign_off": YES_NO,
        "skills": KEYS,
        "gate": optional(TABLES),
        "release": optional(TABLES),
    },
    "number",
    {"gate": GATE, "release": RELEASE},
)
MEND = Kind("mend", {"drill": KEY, "note": optional(TEXT)})
FAULT = Kind(
    "fault",
    {
        "key": KEY,
        "sees": TEXT,
        "leads_to": TEXT,
        "root": KEY,
        "stop": one_of("yes", "no", "second", "unheld"),
        "belongs": SOME_KEYS,
        "mend": SOME_TABLES,
    },
    "key",
    {"mend": MEND},
)
POSE = Kind(
    "pose",
    {
        "pose": KEY,
        "grade": whole(GRADES[0], GRADES[-1]),
        "words": TEXT,
        "also": optional(TEXT),
        "angles": ANGLES,
        "ranges": optional(RANGES),
    },
    "pose",
)
RUBRIC = Kind(
    "rubric", {"key": KEY, "name": TEXT, "view": TEXT, "pose": SOME_TABLES}, "key", {"pose": POSE}
)
PAIN = Kind("pain", {"place": KEY, "name": TEXT, "bars": LOADS, "pause": YES_NO}, "place")
UNLOGGED = Kind("unlogged", {"text": TEXT})
LADDER = Kind(
    "ladder",
    {
        "title": TEXT,
        "arithmetic": TABLE,
        "practice": TABLE,
        "way_back": TABLE,
        "pain_rule": TABLE,
        "strand": SOME_TABLES,
        "surface": SOME_TABLES,
        "equipment": TABLES,
        "drill": SOME_TABLES,
        "stage": SOME_TABLES,
        "fault": TABLES,
        "rubric": TABLES,
        "pain": TABLES,
        "unlogged": TABLES,
    },
    parts={
        "arithmetic": ARITHMETIC,
        "practice": PRACTICE,
        "way_back": WAY_BACK,
        "pain_rule": PAIN_RULE,
        "strand": STRAND,
        "surface": SURFACE,
        "equipment": EQUIPMENT,
        "drill": DRILL,
        "stage": STAGE,
        "fault": FAULT,
        "rubric": RUBRIC,
        "pain": PAIN,
        "unlogged": UNLOGGED,
    },
)


# Walking a ladder


def tables(content: dict[str, Any]) -> Iterator[Table]:
    """Every table of a ladder, right or wrong, each before the tables inside it."""
    return _walk(Table(LADDER, "ladder", content))


def _walk(table: Table) -> Iterator[Table]:
    yield table
    for name, kind in table.kind.parts.items():
        for place, row in enumerate(_rows(table.row.get(name)), start=1):
            yield from _walk(Table(kind, _where(kind, row, place, table), row, table))


def _rows(value: Any) -> list[dict[str, Any]]:
    items = value if isinstance(value, list) else [value]
    return [item for item in items if isinstance(item, dict)]


def _where(kind: Kind, row: dict[str, Any], place: int, owner: Table) -> str:
    """The address of a table: by its own name if that is enough, else within the one around it."""
    name = Table(kind, "", row).name
    address = kind.word if kind.single else f"{kind.word} {place if name is None else name}"
    alone = owner.kind is LADDER or (name is not None and kind is not POSE)
    return address if alone else f"{owner.where}, {address}"


def fields_of(table: Table) -> Mapping[str, Field]:
    """The fields a table may have; those of a gate depend on its kind."""
    if table.kind is not GATE:
        return table.kind.fields
    return GATE_FIELDS.get(str(table.row.get("kind")), table.kind.fields)


def shape_faults(table: Table) -> Iterator[LadderFault]:
    """Fields of one table that are missing, not known, or of the wrong kind."""
    fields = fields_of(table)
    for name, wanted in fields.items():
        if name in table.row:
            yield from _value_fault(table, name, wanted)
        elif wanted.needed:
            message = _("The field “%(field)s” is missing.") % {"field": name}
            yield LadderFault(table.where, message)
    for name in sorted(table.row.keys() - fields.keys()):
        message = _("There is no field “%(field)s” here.") % {"field": name}
        yield LadderFault(table.where, message)


def _value_fault(table: Table, name: str, wanted: Field) -> Iterator[LadderFault]:
    if not wanted.holds(table.row[name]):
        message = _("“%(field)s” must be %(wish)s.") % {"field": name, "wish": wanted.wish()}
        yield LadderFault(table.where, message)
