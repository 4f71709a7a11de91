"""A reading as plain data, to be stored or sent, and read back."""

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from readiness.engine.gates import Gate, GateReading
from readiness.engine.ladder import Ladder
from readiness.engine.levels import SUPPORT_BY_CODE
from readiness.engine.reading import ChildReading, StageReading, StoredReading
from readiness.engine.replay.next_step import WayBackNow
from readiness.engine.replay.state import Cause, Opening


def as_json(reading: ChildReading, child: str, ladder_number: int) -> dict[str, object]:
    """The reading as plain data, the same for the same record whatever the order."""
    whole = [stage for stage in reading.stages if stage.stage.part_of is None]
    return {
        "child": child,
        "ladder": ladder_number,
        **_stored_as_json(reading, whole, reading.ways_back),
        "support": [
            {
                "drill": read.drill,
                "surface": read.surface,
                "allowed": read.allowed.support.code if read.allowed.support is not None else None,
                "causes": list(read.allowed.causes),
            }
            for read in reading.support
        ],
    }


def list_as_json(reading: StoredReading, stage: StageReading) -> dict[str, object]:
    """What a list says of one stage, in the same form: the stage, those that share a skill with
    it if it is on re-check, and the ways back of its skills."""
    skills = set(stage.stage.skills)
    shown = [
        other.stage.part_of or other.stage.code
        for other in reading.stages
        if other is stage or (stage.causes and skills.intersection(other.stage.skills))
    ]
    whole = [other for other in reading.stages if other.stage.code in shown]
    backs = [back for back in reading.ways_back if back.drill in skills]
    return _stored_as_json(reading, whole, backs)


def _stored_as_json(
    reading: StoredReading, whole: Sequence[StageReading], backs: Sequence[WayBackNow]
) -> dict[str, object]:
    return {
        "day": reading.day.isoformat(),
        "stages": [stage_as_json(stage, reading) for stage in whole],
        "paused_since": _iso(reading.paused_since),
        "ways_back": [_way_back_as_json(back) for back in backs],
        **({} if reading.head_step is None else {"head_step": reading.head_step}),
    }


def stage_as_json(stage: StageReading, reading: StoredReading) -> dict[str, object]:
    """One stage as plain data; a stage with skills of its own holds them under ``skills``."""
    is_whole = stage.stage.part_of is None
    data: dict[str, object] = {
        "stage": stage.stage.number if is_whole else stage.stage.code,
        "state": stage.state,
        "causes": list(dict.fromkeys(cause.code for cause in stage.causes)),
        "score": stage.score,
        "surface": stage.surface,
        "fallen": [
            {"code": cause.code, "day": cause.day.isoformat(), "asks": cause.asks.code}
            for cause in stage.causes
        ],
        "open_since": _iso(stage.opening.since) if stage.opening else None,
        "opened_by": stage.opening.how if stage.opening else None,
        "waits_for": list(stage.waits_for),
        "opens_tomorrow": stage.opens_tomorrow,
        "sent_back": stage.sent_back,
        "gates": [_gate_as_json(gate) for gate in stage.gates],
    }
    parts = [part for part in reading.stages if part.stage.part_of == stage.stage.code]
    if parts:
        data["skills"] = [stage_as_json(part, reading) for part in parts]
    return data


def _gate_as_json(reading: GateReading) -> dict[str, object]:
    return {
        "code": reading.gate.code,
        "kind": reading.gate.kind,
        "drill": reading.gate.drill,
        "met": reading.met,
        "progress": round(reading.progress, 6),
        "value": reading.value,
        "need": reading.need,
        "stale_on": _iso(reading.stale_on),
        "parts": dict(reading.parts),
        "days": [day.isoformat() for day in reading.days],
    }


def _way_back_as_json(back: WayBackNow) -> dict[str, object]:
    return {
        "drill": back.drill,
        "level": back.level.code,
        "goal": back.goal.code,
        "after": back.after.isoformat(),
        "clean": back.clean,
        "clean_need": back.clean_need,
        "ready": back.ready,
        "tapped": back.tapped,
        "director": back.director,
        "causes": list(back.causes),
    }


def from_json(data: Mapping[str, Any], ladder: Ladder) -> StoredReading:
    """The stages and ways back of a reading that ``as_json`` made under this ladder; progress
    has six decimals then."""
    stages = [
        _stage_from_json(part, ladder)
        for whole in data["stages"]
        for part in (whole, *whole.get("skills", ()))
    ]
    backs = tuple(_way_back_from_json(back) for back in data["ways_back"])
    paused = _day_from(data["paused_since"])
    day, step = datetime.date.fromisoformat(data["day"]), data.get("head_step")
    return StoredReading(day, tuple(stages), backs, paused, step)


def _stage_from_json(data: Mapping[str, Any], ladder: Ladder) -> StageReading:
    stage, since = ladder.stage[str(data["stage"])], _day_from(data["open_since"])
    return StageReading(
        stage=stage,
        state=data["state"],
        causes=tuple(
            Cause(
                cause["code"],
                datetime.date.fromisoformat(cause["day"]),
                (stage.code,),
                SUPPORT_BY_CODE[cause["asks"]],
            )
            for cause in data["fallen"]
        ),
        gates=tuple(
            _gate_from_json(gate, read)
            for gate, read in zip(stage.gates, data["gates"], strict=True)
        ),
        surface=data["surface"],
        opening=Opening(since, data["opened_by"]) if since else None,
        waits_for=tuple(data["waits_for"]),
        opens_tomorrow=data["opens_tomorrow"],
        sent_back=data["sent_back"],
    )


def _gate_from_json(gate: Gate, data: Mapping[str, Any]) -> GateReading:
    return GateReading(
        gate=gate,
        met=data["met"],
        progress=data["progress"],
        value=data["value"],
        need=data["need"],
        stale_on=_day_from(data["stale_on"]),
        parts=data["parts"],
        days=tuple(datetime.date.fromisoformat(day) for day in data["days"]),
    )


def _way_back_from_json(data: Mapping[str, Any]) -> WayBackNow:
    return WayBackNow(
        drill=data["drill"],
        level=SUPPORT_BY_CODE[data["level"]],
        goal=SUPPORT_BY_CODE[data["goal"]],
        after=datetime.date.fromisoformat(data["after"]),
        clean=data["clean"],
        clean_need=data["clean_need"],
        ready=data["ready"],
        tapped=data["tapped"],
        director=data["director"],
        causes=tuple(data["causes"]),
    )


def _day_from(text: str | None) -> datetime.date | None:
    return datetime.date.fromisoformat(text) if text else None


def _iso(day: datetime.date | None) -> str | None:
    return day.isoformat() if day else None
