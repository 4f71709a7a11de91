"""Children and classes as lists show them: told apart where they share a name.

Shared: used by every room that lists children or classes.
"""

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from studio.models import Child, ClassGroup
from studio.people.class_lists import classes_of
from studio.people.names import fold, fold_name


def tell_apart(children: Iterable[Child]) -> dict[int, str]:
    """A name for each child that is told apart from the others' at a glance.

    The name used in class; where some share it, with as much of the name's last word as tells
    them apart; where that is not enough, the whole name, then the month of birth, then the
    studio's own id or a number. Each child's ``listed`` is that name from then on.
    """
    every = list(children)
    names = _told_apart(every, [_called, *_WITH_LAST, _full, _with_birth])
    for child in every:
        child.told_apart = names[child.pk]
    return names


def names_in_sight(children: Iterable[Child]) -> dict[int, str]:
    """For where everybody reads them: the name used in class; where some share it, with the first
    letters of the name's last word, and where that is not enough, a number. Never the whole name,
    nor a birth date or an id."""
    return _told_apart(list(children), [_called, *_WITH_START], with_ids=False)


def full_names(children: Iterable[Child]) -> dict[int, str]:
    """The whole name of each; where some share it, with the month of birth and what else it
    takes."""
    return _told_apart(list(children), [_full, _with_birth])


def full_name(child: Child) -> str:
    """The whole name, told apart from every other child's of the studio."""
    called_so = Child.objects.filter(name_key=child.name_key, merged_into=None)
    return full_names(called_so.order_by("pk"))[child.pk]


NameOf = Callable[[Child], str]


def _told_apart(
    children: Sequence[Child], longer: Sequence[NameOf], with_ids: bool = True
) -> dict[int, str]:
    """For each child the first of these names that nobody else has; else the last, with the
    studio's own id or a number."""
    names = {child.pk: longer[0](child) for child in children}
    folded = {key: fold(name) for key, name in names.items()}
    for name_of in longer[1:]:
        for child in _sharing(children, folded):
            names[child.pk] = name_of(child)
            folded[child.pk] = fold(names[child.pk])
    for number, child in enumerate(_sharing(children, folded), start=1):
        own_id = child.list_id if with_ids else ""
        names[child.pk] = f"{names[child.pk]} · {own_id or number}"
    return names


def _called(child: Child) -> str:
    return child.called


def _full(child: Child) -> str:
    return child.name


def _with_last(child: Child, letters: int) -> str:
    last = (child.name.split() or [""])[-1]
    if fold(last) == fold(child.called):
        return child.called
    return f"{child.called} {last[:letters]}{'.' if letters < len(last) else ''}"


def _with_start(child: Child, letters: int) -> str:
    """Never with the whole of the last word, where it has more than a letter."""
    last = (child.name.split() or [""])[-1]
    return _with_last(child, max(1, min(letters, len(last) - 1)))


def _with_birth(child: Child) -> str:
    if child.birth_year is None:
        return child.name
    born = child.born
    if child.birth_month is not None:
        born = date_format(datetime.date(child.birth_year, child.birth_month, 1), "M Y")
    return _("%(name)s, born %(month)s") % {"name": child.name, "month": born}


_WITH_LAST: list[NameOf] = [partial(_with_last, letters=letters) for letters in (1, 3, 120)]
_WITH_START: list[NameOf] = [partial(_with_start, letters=letters) for letters in (1, 3)]


def _sharing(children: Sequence[Child], folded: Mapping[int, str]) -> list[Child]:
    times = Counter(folded.values())
    return [child for child in children if times[folded[child.pk]] > 1]


def name_classes(groups: Iterable[ClassGroup]) -> None:
    """From then on ``shown`` of each has its hall, if another class of the studio has its name."""
    names = ClassGroup.objects.order_by("pk").values_list("name", flat=True)
    times = Counter(fold_name(name) for name in names)
    for group in groups:
        group.with_hall = times[fold_name(group.name)] > 1


def who(child: Child, day: datetime.date) -> str:
    """Full name, age and classes: on whatever decides about a child."""
    groups = sorted(classes_of([child])[child.pk], key=lambda each: (each.weekday, each.starts_at))
    name_classes(groups)
    age = child.age_on(day)
    years = _("age not known")
    if age is not None:
        years = ngettext("%(n)s year", "%(n)s years", age) % {"n": age}
    return ", ".join([child.name, years, *(group.shown for group in groups)])
