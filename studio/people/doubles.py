"""Children who may stand in the record twice. They are listed and never joined by the program."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from django.utils.translation import gettext as _

from studio.models import Child
from studio.people.names import fold


@dataclass(frozen=True)
class Double:
    """Two children who may be one, and what speaks for it."""

    one: Child
    other: Child
    why: tuple[str, ...]


def likely_doubles(children: Sequence[Child]) -> list[Double]:
    """By name: accents and the order of the words aside the same one, or a part of it.

    Two who were born in different years are none, unless they have the same guardian.
    """
    alike: dict[tuple[object, ...], list[Child]] = defaultdict(list)
    for child in children:
        words = fold(child.name).split()
        alike["names", tuple(sorted(words))].append(child)
        for word in words[:1]:
            if child.guardian:
                alike["guardian", fold(child.guardian), word].append(child)
            if child.birth_year:
                alike["birth", child.born, word].append(child)
    pairs = {pair: None for some in alike.values() for pair in combinations(some, 2)}
    found = [Double(one, other, tuple(why_alike(one, other))) for one, other in pairs]
    return sorted((each for each in found if each.why), key=lambda each: each.one.search_key)


def why_alike(one: Child, other: Child) -> list[str]:
    """What speaks for it that two are one child; nothing where too little does."""
    words, others = set(fold(one.name).split()), set(fold(other.name).split())
    guardian = bool(one.guardian) and fold(one.guardian) == fold(other.guardian)
    known = one.birth_year is not None and other.birth_year is not None
    birth = known and one.born == other.born
    if known and one.birth_year != other.birth_year and not guardian:
        return []
    if words != others and not (words < others or others < words or guardian):
        return []
    if words != others and not (birth or guardian):
        return []
    return [
        *_name_words(one, other, words == others),
        *_birth_words(known, birth),
        *_same(guardian),
    ]


def _name_words(one: Child, other: Child, same: bool) -> Iterable[str]:
    if one.name_key == other.name_key:
        yield _("the same name")
    elif not same:
        yield _("a part of the name")
    elif fold(one.name) == fold(other.name):
        yield _("the same name but for accents")
    else:
        yield _("the same names the other way round")


def _birth_words(known: bool, same: bool) -> Iterable[str]:
    if same:
        yield _("born in the same month")
    elif known:
        yield _("another month of birth")


def _same(guardian: bool) -> Iterable[str]:
    if guardian:
        yield _("the same guardian")


def doubles_of(child: Child, children: Iterable[Child]) -> list[Double]:
    """The same for one child."""
    others = [other for other in children if other != child]
    found = [Double(child, other, tuple(why_alike(child, other))) for other in others]
    return [each for each in found if each.why]
