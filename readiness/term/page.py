"""What the page of a term's end shows."""

import datetime
from typing import Any

from django.db import transaction

from readiness.models import ClassAim
from readiness.programme.facts import pupils
from readiness.record.ladders import Ladders
from readiness.term.forms import AimForm, KeepForm
from readiness.term.plan import Member, plan_term
from studio import access
from studio.models import Staff
from studio.people.today import site_today
from studio.people.told_apart import name_classes, tell_apart


class TermEnd:
    """The classes with their aims, as this director may set them, and the plan that follows."""

    def __init__(self, staff: Staff, now: datetime.datetime, data: Any = None) -> None:
        self.staff, self.now, self.today = staff, now, site_today(now)
        self.named = Ladders().named_on(self.today)
        classes = access.visible_classes(staff).select_related("location")
        self.groups = list(classes.order_by("location__name", "weekday", "starts_at", "pk"))
        name_classes(self.groups)
        rows = ClassAim.objects.filter(group__in=self.groups).select_related("group")
        self.aims = {aim.group_id: aim for aim in rows.order_by("pk")}
        stages = [(code, f"{code} {name}") for code, name in self._stages()]
        self.keep_form = KeepForm(data)
        self.forms = [
            AimForm(group, self.aims.get(group.pk), stages, data) for group in self.groups
        ]

    def _stages(self) -> list[tuple[str, str]]:
        return [(code, name) for code, name in self.named.stage_names.items() if "/" not in code]

    def is_valid(self) -> bool:
        valid = [form.is_valid() for form in (self.keep_form, *self.forms)]
        return all(valid)

    @transaction.atomic
    def keep(self) -> None:
        for form in self.forms:
            form.keep()

    def context(self) -> dict[str, Any]:
        visible = access.visible_children(self.staff, self.today).exclude(left_on__lte=self.today)
        children = list(visible.order_by("search_key", "pk"))
        tell_apart(children)
        members = [
            Member(each.child, each.classes, int(each.highest or 1))
            for each in pupils(children, self.now)
        ]
        plan = plan_term(members, list(self.aims.values()))
        names = dict(self._stages())
        now = {
            group.pk: sum(group in member.classes for member in members) for group in self.groups
        }
        return {
            "keep_form": self.keep_form,
            "rows": [
                (form, now[form.group.pk], self._after(form, plan.after)) for form in self.forms
            ],
            "moves": [(move, names[str(move.member.stage)]) for move in plan.moves],
            "planned": bool(self.aims),
        }

    def _after(self, form: AimForm, after: Any) -> tuple[int, int] | None:
        """How many children the class would have, and how many places are left then."""
        aim = self.aims.get(form.group.pk)
        return (after[form.group.pk], aim.places - after[form.group.pk]) if aim else None
