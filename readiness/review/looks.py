"""When a director last looked at a child's evidence, and what has come in since."""

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence

from django.db.models import Max
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from progression.models import Attempt
from readiness.models import Look
from studio.models import Child, Staff
from studio.people.records import records_of, root_of

# A sentence by child.
Since = Mapping[int, str]


def note_look(staff: Staff, child: Child, now: datetime.datetime) -> None:
    Look.objects.update_or_create(staff=staff, child=child, defaults={"at": now})


def since_last_look(children: Sequence[Child], staff: Staff) -> dict[int, str]:
    """Of each child: what has come in since this person's last look. Two queries at most."""
    records = list(records_of([child.pk for child in children]))
    looks = dict(
        Look.objects.filter(staff=staff, child__in=records)
        .values_list(root_of("child"))
        .annotate(Max("at"))
    )
    turns, missed = _came_since(records, looks)
    return {
        child.pk: _sentence(looks.get(child.pk), turns[child.pk], missed[child.pk])
        for child in children
    }


def _came_since(
    records: Sequence[int], looks: Mapping[int, datetime.datetime]
) -> tuple[Counter[int], Counter[int]]:
    """Turns, and those not clean, by child."""
    turns, missed = Counter[int](), Counter[int]()
    if not looks:
        return turns, missed
    came = Attempt.objects.filter(child__in=records, received_at__gt=min(looks.values()))
    for child, received_at, clean in came.unstruck().values_list(
        root_of("child"), "received_at", "clean"
    ):
        if child in looks and received_at > looks[child]:
            turns[child] += 1
            missed[child] += clean is False
    return turns, missed


def _sentence(look: datetime.datetime | None, turns: int, missed: int) -> str:
    if look is None:
        return _("You have not looked at the evidence yet.")
    values = {"day": date_format(localtime(look), "j M"), "n": turns, "missed": missed}
    if not turns:
        return _("No turn has come in since you looked on %(day)s.") % values
    if missed:
        form = ngettext(
            "Since you looked on %(day)s: %(n)s turn, %(missed)s not clean.",
            "Since you looked on %(day)s: %(n)s turns, %(missed)s not clean.",
            turns,
        )
    else:
        form = ngettext(
            "Since you looked on %(day)s: %(n)s turn.",
            "Since you looked on %(day)s: %(n)s turns.",
            turns,
        )
    return form % values
