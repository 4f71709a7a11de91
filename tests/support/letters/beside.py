"""Judges what stands beside a letter's sentences by the raw record: the words of the map, what has
grown, the answer on the slip."""

import re
from statistics import median

from readiness.letters.beside.page import Beside
from tests.support.letters.record import TERM, RawRecord
from tests.support.letters.table import PLACE, Table


def claims_beside(record: RawRecord, table: Table, beside: Beside) -> list[tuple[str, bool]]:
    """Each claim, and whether the record carries it."""
    stops = [(f"{stop.name}: {stop.word}", stop.name, stop.word) for stop in beside.stops]
    claims = [(text, _stands_there(record, table, name, word)) for text, name, word in stops]
    claims += [(each.said, _has_grown(record, table, each.said)) for each in beside.grown]
    if beside.slip:
        answer = beside.slip.on_record
        claims.append((answer, answer == table.rows["answer"][record.answer()]))
    return claims


def _stands_there(record: RawRecord, table: Table, name: str, word: str) -> bool:
    stage = table.keys["stage"].get(name)
    (said,) = [key for key, text in table.rows["map"].items() if text == word] or [""]
    if stage is None or not said:
        return False
    is_open = stage in record.open_codes()
    return {
        "later": not is_open,
        "looks": not is_open and record.waits_for_review(),
        "works": is_open and not record.paused_since(),
        "hands": is_open and record.watched_again(),
        "rests": is_open,
    }[said]


def _has_grown(record: RawRecord, table: Table, said: str) -> bool:
    """Medians of the longest holds of two days, at either end of the term."""
    read = _read(table, said)
    if read is None or record.paused_since() or record.hurt_on():
        return False
    drill, then, month, now = read
    days = [day for day in record.turns.days(drill) if day > record.today - TERM]
    held = {day: [row.value for row in record.turns.at(drill, day) if row.value] for day in days}
    days = [day for day in days if held[day]]
    first, last = (
        round(median(float(max(held[day])) for day in ends)) for ends in (days[:2], days[-2:])
    )
    return (then, month, now) == (first, days[0].month, last) and first < last


def _read(table: Table, said: str) -> tuple[str, int, int, int] | None:
    months = table.rows["months"]
    pieces = {
        "drill": "|".join(map(re.escape, table.keys["drill"])),
        "then": r"\d+",
        "month": "|".join(map(re.escape, months)),
        "now": r"\d+",
    }
    for row in table.rows["grown"]["said"]:
        pattern = PLACE.sub(lambda place: f"(?P<{place[1]}>{pieces[place[1]]})", row)
        match = re.fullmatch(pattern, said)
        if match:
            drill = table.keys["drill"][match["drill"]]
            month = months.index(match["month"]) + 1
            return drill, int(match["then"]), month, int(match["now"])
    return None
