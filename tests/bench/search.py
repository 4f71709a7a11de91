"""The list of a thousand children, looked through by a part of a name, through the page's view.

Each search is asked for in turns, as a director at the desk does; nothing is kept in the process.
Its limit is a time and no ratio: so long a person waits for each word.
"""

import gc
import itertools

import time_machine
from django.test import Client

from studio.models import Child, Staff
from tests.bench.counting import counted
from tests.bench.kept import copy_of
from tests.bench.measure import Limit, Options, Result, ms, spread
from tests.bench.record import NOW, Shape

SHAPE = Shape(children=1000, days=2, a_day=10, every=4)
FULL = Shape(children=1000, days=20, a_day=10, every=4)
ROUNDS = 30
MOST_MS = 100

GIVEN = ["Đorđe", "Dora", "Łucja", "Øystein", "Inés", "Zoë", "Anne-Marie", "O’Neill", "Ánh", "Bo"]
FAMILY = ["Øst", "Łuk", "Weiß", "Nguyễn", "Şahin", "d'Or", "Smit", "Đặng", "Li", "Brandão"]

SEARCHES = {
    "everybody": "",
    "a part that a hundred have": "luc",
    "two words with accents": "đor nguy",
    "one child": "ines brandao 7",
    "nobody": "xyzzy",
}


def run(options: Options) -> Result:
    shape = FULL if options.full else SHAPE
    with copy_of("board", shape) as copy, copy.used(), time_machine.travel(NOW):
        _name_them()
        client = Client()
        client.force_login(Staff.objects.get(role=Staff.Role.DIRECTOR))

        def look(words: str) -> None:
            answer = client.get("/children", {"q": words})
            assert answer.status_code == 200, answer.content

        look("")
        with counted() as everybody:
            look("")
        gc.collect()
        gc.freeze()
        times: dict[str, list[float]] = {name: [] for name in SEARCHES}
        for _ in range(ROUNDS):
            for name, words in SEARCHES.items():
                times[name].append(ms(lambda words=words: look(words)))
    spreads = [spread(name, values) for name, values in times.items()]
    limits = [Limit(f"{each.name}, in milliseconds", each.median, MOST_MS) for each in spreads]
    about = {"record": shape.told(), "queries": everybody.queries}
    return Result("search", about, spreads, limits)


def _name_them() -> None:
    """Ten children of each name, told apart by a number."""
    names = itertools.product(range(10), GIVEN, FAMILY)
    for child, (number, given, family) in zip(Child.objects.order_by("pk"), names, strict=True):
        child.name = f"{given} {family} {number}"
        child.save()
