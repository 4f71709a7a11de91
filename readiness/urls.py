"""Addresses of everything that reads or adds to the record, room by room."""

from django.urls import include, path

urlpatterns = [
    path("", include("readiness.floor.urls")),
    path("", include("readiness.review.urls")),
    path("", include("readiness.notes.urls")),
    path("", include("readiness.untold.urls")),
    path("", include("readiness.confirming.urls")),
    path("", include("readiness.desk.urls")),
    path("", include("readiness.child.urls")),
    path("", include("readiness.causes.urls")),
    path("", include("readiness.head.urls")),
    path("", include("readiness.incidents.urls")),
    path("", include("readiness.door_note.urls")),
    path("", include("readiness.show.urls")),
    path("", include("readiness.spotters.urls")),
    path("", include("readiness.hour.urls")),
    path("", include("readiness.september.urls")),
    path("", include("readiness.programme.urls")),
    path("", include("readiness.term.urls")),
    path("", include("readiness.placing.urls")),
    path("", include("readiness.evidence.urls")),
    path("", include("readiness.letters.urls")),
    path("", include("readiness.home_sheet.urls")),
    path("", include("readiness.proposals.urls")),
    path("", include("readiness.gates.urls")),
    path("", include("readiness.drill_card.urls")),
    path("", include("readiness.fault_map.urls")),
    path("", include("readiness.outbox.urls")),
    path("", include("readiness.paper.urls")),
    path("", include("readiness.merging.urls")),
]
