"""What a coach settled by hand, as it stands in the page's address: it is kept nowhere until the
plan is taken. What cannot be read, or speaks of nobody here, is left out.

rotations, minutes, from (the first rotation to plan, from 1), ground (1: nobody spots tonight),
split (a station that is at two places), lock, ban (who~station~rotation) and here (who~first~last,
the rotations that somebody is here for; first after last: for none). who: a child's public id, or
an adult's.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import TypeVar
from urllib.parse import urlencode

from django.http import QueryDict

from readiness.engine.stations.plan import Plan
from readiness.engine.stations.problem import At, Post
from readiness.stations.evening.gather import Roster, Settled

NUMBERS = {"rotations": (1, 20), "minutes": (1, 60), "from": (1, 20), "ground": (0, 1)}
LISTS = ("lock", "ban", "here", "split")
Found = TypeVar("Found")
Query = Mapping[str, list[str]]


def query_of(data: QueryDict) -> dict[str, list[str]]:
    """What is known of an address, each once."""
    kept = {name: list(dict.fromkeys(data.getlist(name))) for name in (*NUMBERS, *LISTS)}
    return {name: values for name, values in kept.items() if any(values)}


def address_of(query: Query) -> str:
    """With a mark that a new plan is asked for, also where nothing is settled."""
    return "?" + urlencode([("again", "1"), *pairs_of(query)])


def pairs_of(query: Query) -> list[tuple[str, str]]:
    return [(name, value) for name, values in query.items() for value in values if value]


def without(query: Query, name: str, value: str) -> dict[str, list[str]]:
    kept = {key: list(values) for key, values in query.items()}
    kept[name] = [each for each in kept.get(name, []) if each != value]
    return kept


def with_change(data: QueryDict) -> dict[str, list[str]]:
    """The query with what one of the page's small forms asks for: ``what`` says which."""
    query, what = query_of(data), data.get("what", "")
    get = data.get
    if what in ("lock", "ban"):
        query.setdefault(what, []).append(get("cell", ""))
    elif what == "split":
        query.setdefault(what, []).append(get("station", ""))
    elif what == "put":
        token = "~".join(get(name, "") for name in ("who", "station", "rotation"))
        query.setdefault("lock", []).append(token)
    elif what == "here":
        token = "~".join(get(name, "") for name in ("who", "first", "last"))
        others = [each for each in query.get("here", []) if not each.startswith(get("who", ""))]
        query["here"] = [*others, token]
    elif what == "swap":
        query.setdefault("lock", []).extend(_swapped(get("one", ""), get("other", "")))
    return query


def _swapped(one: str, other: str) -> list[str]:
    """Two locks; none if it is not the same rotation."""
    parts = [one.split("~"), other.split("~")]
    if any(len(each) != 3 for each in parts) or parts[0][2] != parts[1][2]:
        return []
    (first, there, rotation), (second, here, _) = parts
    return [f"{first}~{here}~{rotation}", f"{second}~{there}~{rotation}"]


def settled_by(query: Query, roster: Roster, taken: Plan | None) -> Settled:
    """``taken``: the plan whose first rotations are over."""
    numbers = {name: _number(query, name) for name in NUMBERS}
    rotations = numbers["rotations"] or roster.rotations
    start = min((numbers["from"] or 1) - 1, rotations - 1) if taken else 0
    here = dict(_read_all(query.get("here", []), lambda text: _presence(text, roster, rotations)))
    children, adults = roster.child_ids, roster.adult_ids
    every: list[At | Post] = [*taken.at, *taken.posts] if taken else []

    def settled(name: str) -> frozenset[At | Post]:
        read: Iterator[At | Post] = _read_all(query.get(name, []), place)
        return frozenset(each for each in read if start <= each.rotation < rotations)

    def place(text: str) -> At | Post | None:
        return place_of(text, roster)

    return Settled(
        rotations=rotations,
        minutes=numbers["minutes"],
        start=start,
        done=frozenset(each for each in every if each.rotation < start),
        locked=settled("lock"),
        banned=settled("ban"),
        children={children[who]: when for who, when in here.items() if who in children},
        adults={adults[who]: when for who, when in here.items() if who in adults},
        split=frozenset(query.get("split", [])),
        ground=bool(numbers["ground"]),
    )


def place_of(text: str, roster: Roster) -> At | Post | None:
    who, station, rotation = _three(text)
    if not rotation.isdecimal() or not station:
        return None
    at = int(rotation) - 1
    if who in roster.child_ids:
        return At(roster.child_ids[who], station, at)
    if who in roster.adult_ids:
        return Post(roster.adult_ids[who], station, at)
    return None


def _presence(text: str, roster: Roster, rotations: int) -> tuple[str, frozenset[int]] | None:
    who, first, last = _three(text)
    if not first.isdecimal() or not last.isdecimal():
        return None
    if who not in roster.child_ids and who not in roster.adult_ids:
        return None
    return who, frozenset(range(int(first) - 1, min(int(last), rotations)))


def _three(text: str) -> tuple[str, str, str]:
    parts = text.split("~")
    return (parts[0], parts[1], parts[2]) if len(parts) == 3 else ("", "", "")


def _read_all(texts: list[str], read: Callable[[str], Found | None]) -> Iterator[Found]:
    for text in texts:
        found = read(text)
        if found is not None:
            yield found


def _number(query: Query, name: str) -> int | None:
    text = next(iter(query.get(name, [])), "")
    least, most = NUMBERS[name]
    if not (text.isascii() and text.isdecimal()) or len(text) > 3:
        return None
    return min(max(int(text), least), most)
