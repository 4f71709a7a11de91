"""Addresses of the roster import."""

from django.urls import path

from studio.roster import views

urlpatterns = [
    path("roster", views.roster_import, name="roster-import"),
    path("roster/<uuid:draft>", views.roster_preview, name="roster-preview"),
    path("roster/<uuid:draft>/options", views.roster_options, name="roster-options"),
    path("roster/<uuid:draft>/confirm", views.roster_confirm, name="roster-confirm"),
    path("roster/<uuid:draft>/left-out", views.roster_refused, name="roster-refused"),
]
