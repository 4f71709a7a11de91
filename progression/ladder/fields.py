"""The tables of a ladder, and the fields that each of them has.

What one field may hold is in field_types.py; what the names mean to each other, in checks.py.
Shared: used by the gates' forms.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from progression.ladder.field_types import (
    ANGLES,
    BARS,
    CERTAINTY,
    CODE,
    COUNT,
    DAYS,
    GOES,
    GRADES,
    KEY,
    KEYS,
    LETTER,
    LETTER_IN,
    LIMITS,
    LOADS,
    NAME_IN,
    PICTURES,
    RANGES,
    SIGNED,
    SOME_KEYS,
    SOME_TABLES,
    SPANS,
    STAGE_NUMBER,
    STAGE_NUMBERS,
    SUPPORT,
    TABLE,
    TABLES,
    TEXT,
    TEXTS,
    TRUE,
    UNREAD,
    VALUE,
    YES_NO,
    Field,
    number,
    one_of,
    optional,
    whole,
)


@dataclass(frozen=True)
class LadderFault:
    """One thing wrong in a ladder: where, for example "drill handspring", and a plain sentence."""

    key: str
    message: str


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
    """One table of a ladder, its address, and the table around it."""

    kind: Kind
    where: str
    row: dict[str, Any]
    owner: "Table | None" = None

    @property
    def name(self) -> Any:
        """What the table calls itself; None if it does not say, or not in a usable way."""
        name = self.row.get(self.kind.named_by)
        return name if isinstance(name, str | int) else None


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
        "re_checks": optional(COUNT),
        "re_checks_within": optional(DAYS),
    },
    single=True,
)
FIRST_TURN = Kind("first_turn", {"misses": COUNT}, single=True)
TAP = Kind("tap", {**_CLEAN_RULE, "turns": COUNT, "held_within": DAYS}, single=True)
NEW_SURFACE = Kind("new_surface", {"clean": COUNT}, single=True)
STOP_SIGN = Kind("stop_sign", {"finishes": YES_NO}, single=True)
PAIN_RULE = Kind("pain_rule", {"again_days": DAYS, "ask": optional(YES_NO)}, single=True)
# The days that published guidance asks for; see readiness/engine/head_steps.py.
HEAD_KNOCK = Kind(
    "head_knock", {"clear_days": whole(14, 365), "full_return_day": whole(21, 365)}, single=True
)
GROWING = Kind("growing", {"weeks": whole(1, 52), "drill": KEY}, single=True)
LEAD_IN = Kind(
    "lead_in", {"from_age": whole(3, 17), "years": whole(1, 10), "stage": whole(2, 9)}, single=True
)
STRAND = Kind("strand", {"key": KEY, "name": TEXT}, "key")
SURFACE = Kind("surface", {"key": KEY, "name": TEXT, "name_in": NAME_IN}, "key")
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
    "reach": {
        **_GATE_HEAD,
        "or_drill": optional(KEY),
        "at_least": VALUE,
        "days": DAYS,
        "within": DAYS,
    },
    "clear": {**_GATE_HEAD, "clean": COUNT, "days": DAYS, "needs_turns": optional(TRUE)},
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
# A gate of an unknown kind gets one fault, for its kind, and none for its fields.
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
        "clean_each": optional(COUNT),
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
        "letter": optional(LETTER),
        "letter_in": LETTER_IN,
        "measure": one_of("clean", "seconds", "reps", "grade"),
        "strand": KEY,
        "stage": STAGE_NUMBER,
        "formerly": optional(KEY),
        "set_up": TEXT,
        "counts": TEXT,
        "cues": TEXTS,
        "pace": optional(TEXT),
        "equipment": KEYS,
        "at_once": COUNT,
        "turn_seconds": optional(whole(5, 300)),
        "held_seconds": optional(whole(5, 300)),
        "adult": one_of("room", "station", "hands"),
        "spotters": whole(0, 2),
        "first_days_spotters": optional(TABLE),
        "hands": optional(TEXT),
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
        "goes": optional(GOES),
        "after_head": optional(whole(3, 6)),
        "hands_leave": optional(one_of("tap")),
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
        "letter": optional(LETTER),
        "letter_in": LETTER_IN,
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
        "carries": optional(TRUE),
        "before_turn": optional(TRUE),
        "ends_backward": optional(TRUE),
        "asks_head": optional(TRUE),
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
REGION = Kind(
    "region",
    {
        "grade": whole(GRADES[0], GRADES[-1]),
        "over": LIMITS,
        "under": LIMITS,
        "within": SPANS,
        "sign": optional(TEXT),
    },
)
RUBRIC = Kind(
    "rubric",
    {
        "key": KEY,
        "name": TEXT,
        "view": TEXT,
        "picture": optional(one_of(*PICTURES)),
        "unseen": optional(TEXT),
        "regions": optional(SOME_TABLES),
        "pose": SOME_TABLES,
    },
    "key",
    {"regions": REGION, "pose": POSE},
)
PAIN = Kind(
    "pain", {"place": KEY, "name": TEXT, "name_in": NAME_IN, "bars": BARS, "pause": YES_NO}, "place"
)
UNLOGGED = Kind("unlogged", {"text": TEXT})
LADDER = Kind(
    "ladder",
    {
        "title": TEXT,
        "hands": optional(TEXT),
        "arithmetic": TABLE,
        "practice": TABLE,
        "way_back": TABLE,
        "first_turn": optional(TABLE),
        "tap": optional(TABLE),
        "new_surface": optional(TABLE),
        "stop_sign": optional(TABLE),
        "pain_rule": TABLE,
        "head_knock": optional(TABLE),
        "growing": optional(TABLE),
        "lead_in": optional(TABLE),
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
        "first_turn": FIRST_TURN,
        "tap": TAP,
        "new_surface": NEW_SURFACE,
        "stop_sign": STOP_SIGN,
        "pain_rule": PAIN_RULE,
        "head_knock": HEAD_KNOCK,
        "growing": GROWING,
        "lead_in": LEAD_IN,
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
    for name, rule in fields.items():
        if name in table.row:
            yield from _value_fault(table, name, rule)
        elif rule.required:
            message = _("The field “%(field)s” is missing.") % {"field": name}
            yield LadderFault(table.where, message)
    for name in sorted(table.row.keys() - fields.keys()):
        message = _("There is no field “%(field)s” here.") % {"field": name}
        yield LadderFault(table.where, message)


def _value_fault(table: Table, name: str, rule: Field) -> Iterator[LadderFault]:
    if not rule.accepts(table.row[name]):
        message = _("“%(field)s” must be %(wish)s.") % {"field": name, "wish": rule.describe()}
        yield LadderFault(table.where, message)
