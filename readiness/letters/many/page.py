"""What the pages of many letters show: the classes, and one class."""

import datetime
from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import Count

from readiness.letters.letter import language_not_met
from readiness.letters.many.forms import RowForm
from readiness.letters.many.preparing import Broken, Prepared, prepare, prepared
from readiness.models import LetterDraft
from studio import access
from studio.models import Child, ClassGroup, Staff
from studio.people.class_lists import in_class
from studio.people.family import children_of_family
from studio.people.today import site_today
from studio.people.told_apart import name_classes, tell_apart

# So many earlier runs are listed.
MOST_RUNS = 5


def children_with_letters(
    staff: Staff, now: datetime.datetime, group: ClassGroup | None = None
) -> list[Child]:
    """Of a class, or of all that this member of staff sees: who is here, and known."""
    today = site_today(now)
    visible = access.visible_children(staff, today).exclude(left_on__lte=today)
    if group is not None:
        visible = visible.filter(pk__in=in_class(group.pk))
    children = list(visible.exclude(birth_year=None).order_by("search_key", "pk"))
    tell_apart(children)
    return children


def classes_with_letters(staff: Staff) -> list[tuple[ClassGroup, int, int]]:
    """Each class, with how many children, and how many letters are prepared."""
    groups = access.visible_classes(staff).select_related("location")
    rows = list(
        groups.annotate(n=Count("children", distinct=True)).order_by(
            "location__name", "weekday", "starts_at", "pk"
        )
    )
    name_classes(rows)
    members = ClassGroup.children.through.objects.filter(
        classgroup__in=[group.pk for group in rows],
        child__in=LetterDraft.objects.values("child"),
    )
    drafts = dict(
        members.order_by("classgroup").values_list("classgroup").annotate(n=Count("child"))
    )
    return [(group, group.n, drafts.get(group.pk, 0)) for group in rows]


class ClassLetters:
    """The letters of a class side by side with what somebody adds to each."""

    def __init__(
        self, staff: Staff, group: ClassGroup, now: datetime.datetime, data: Any = None
    ) -> None:
        self.staff, self.group, self.now = staff, group, now
        name_classes([group])
        letters = prepared(children_with_letters(staff, now, group), staff, now)
        director, family = access.may_read_letters(staff), children_of_family(staff)
        self.broken = [each for each in letters if isinstance(each, Broken)]
        self.forms = [
            RowForm(each, director and each.child.pk not in family, data)
            for each in letters
            if isinstance(each, Prepared)
        ]

    def is_valid(self) -> bool:
        valid = [form.is_valid() for form in self.forms]
        return all(valid)

    @transaction.atomic
    def keep(self) -> int:
        """How many letters were changed."""
        changed = [form for form in self.forms if form.prepares()]
        for form in changed:
            prepare(form.each, form.said(), self.staff, self.now, reads=form.is_read())
        return len(changed)

    def chosen(self) -> Sequence[Child]:
        return [form.each.child for form in self.forms if form.cleaned_data["chosen"]]

    def context(self) -> dict[str, Any]:
        rows = [(form, form.each, language_not_met(form.each.child)) for form in self.forms]
        left_out = [each.child for each in self.broken]
        left_out += [form.each.child for form in self.forms if form.each.is_left_out]
        return {"group": self.group, "rows": rows, "broken": self.broken, "left_out": left_out}
