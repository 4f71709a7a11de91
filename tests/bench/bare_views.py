"""The floor under two of the measured calls: bare views behind the same middleware."""

import datetime
import json
import uuid
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_POST

from progression.models import Attempt
from readiness.models import Standing
from readiness.record.list_facts import ListFacts

# What the page of all children was rendered with, put here by the benchmark.
ready: dict[str, Any] = {}


@require_POST
def turn(request: HttpRequest) -> HttpResponse:
    """One turn put into the log as it comes, and nothing else."""
    told = json.loads(request.body)
    at = datetime.datetime.fromisoformat(told["done_at"])
    values = {name: value for name, value in told.items() if name not in ("id", "done_at")}
    with transaction.atomic():
        Attempt.objects.create(
            id=uuid.UUID(told["id"]), done_at=at, device_time=at, received_at=at,
            day=at.date(), **values,
        )  # fmt: skip
    return JsonResponse({"id": told["id"], "answer": "kept"})


@require_GET
def board(request: HttpRequest) -> HttpResponse:
    """The columns that lists show, of five hundred, and a page whose context is ready."""
    rows = list(Standing.objects.values_list("child_id", "read_on", *ListFacts._fields))
    assert len(rows) == ready["all"]
    return render(request, "readiness/review/everyone.html", ready)
