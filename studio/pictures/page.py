"""What the page of a family's answer to pictures shows."""

import datetime
import uuid

from django.shortcuts import get_object_or_404

from studio import access
from studio.models import Child, PictureConsent, Staff
from studio.people.consent_words import answer_word
from studio.people.consents import answer_on, answers_in_force, answers_of
from studio.people.records import roots_of
from studio.people.today import site_today
from studio.pictures.words import pictures_mean, points_for_families


def visible_child(staff: Staff, child: uuid.UUID, now: datetime.datetime) -> Child:
    """404 for whom this member of staff may not see. The id of a merged record leads to the one
    that stands for it."""
    visible = access.visible_children(staff, site_today(now))
    found: Child = get_object_or_404(visible, pk__in=roots_of(Child.objects.filter(uuid=child)))
    return found


def answers_now(child: Child, today: datetime.date) -> dict[str, object]:
    answers = answers_of(PictureConsent, [child])[child.pk]
    answer = answer_on(answers, today)
    return {
        "answer": answer_word(answer),
        "means": pictures_mean(child.called, answer),
        "answers": answers_in_force(answers, today),
        "points": points_for_families(),
    }
