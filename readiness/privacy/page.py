"""What the pages of privacy show, and the files that they give out."""

import datetime
import json
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.http import HttpResponse

from readiness.models import Erasure
from readiness.privacy.forms import PDF, SureForm
from readiness.privacy.sheet import record_sheet
from readiness.privacy.words import NOT_ANSWERED, asked_sentence, kept_sentence
from readiness.record.ladders import Ladders
from readiness.record.privacy.erasing import waiting_for, why_not_erased
from readiness.record.privacy.export import whole_record
from readiness.record.privacy.keeping import kept_for
from readiness.record.two_people.second_yes import not_before
from studio.models import Child, Staff, Studio
from studio.people.today import local_today


def record_page(
    child: Child, by: Staff, now: datetime.datetime, sure: SureForm | None = None
) -> dict[str, Any]:
    kept = kept_for(child, local_today([child], now)[child.pk])
    asked = waiting_for(child)
    why = why_not_erased(asked, by, now) if asked else ""
    return {
        "child": child,
        "kept": kept_sentence(kept) if kept else "",
        "asked": asked,
        "asked_sentence": asked_sentence(asked, not_before(asked)) if asked else "",
        "why_not": str(NOT_ANSWERED[why]) if why else "",
        "sure": sure or SureForm(),
    }


def waiting_list(children: Any) -> list[Erasure]:
    """What waits for an answer about these children, the longest first."""
    asked = Erasure.objects.filter(child__in=children, answered_at=None)
    return list(asked.select_related("child", "by").order_by("at", "pk"))


def file_answer(child: Child, kind: str, by: Staff, now: datetime.datetime) -> HttpResponse:
    """Named by the record's public id: no name stands in a list of downloads."""
    body, content_type = record_file(child, kind, by, now), f"application/{kind}"
    answer = HttpResponse(body, content_type=content_type)
    name = f"record-{str(child.uuid)[:8]}.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def record_file(child: Child, kind: str, by: Staff | None, now: datetime.datetime) -> bytes:
    """As JSON, whole; or as a PDF to be read. ``by``: None at the server."""
    whole = whole_record(child, by, now)
    if kind != PDF:
        text = json.dumps(whole, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1)
        return text.encode()
    today = local_today([child], now)[child.pk]
    studio = Studio.objects.first()
    return record_sheet(child, Ladders().named_on(today), studio.name if studio else "", today)
