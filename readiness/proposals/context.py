"""The change that waits, for every page that shows it. Nothing is asked unless a page does."""

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from readiness.proposals.words import waiting_sentence
from readiness.record.two_people.second_yes import not_before
from readiness.record.two_people.waiting import waiting


def ladder_waiting(request: HttpRequest) -> dict[str, object]:
    return {"ladder_waiting": SimpleLazyObject(_sentence)}


def _sentence() -> str:
    proposal = waiting()
    return waiting_sentence(proposal, not_before(proposal)) if proposal else ""
