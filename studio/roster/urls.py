"""Addresses of the roster import, and of undoing one."""

from django.urls import path

from studio.imports.urls import import_urls
from studio.roster import views
from studio.roster.bring_in import ROSTER

urlpatterns = [
    *import_urls(ROSTER),
    path("roster/lately", views.roster_lately, name="roster-lately"),
    path("roster/undo/<uuid:roster>", views.roster_undo, name="roster-undo"),
    path("roster/undo/<uuid:roster>/now", views.roster_undone, name="roster-undone"),
]
