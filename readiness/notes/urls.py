"""Addresses of the notes: a tablet's call, and the list of ready ones."""

from django.urls import path

from readiness.notes import views

urlpatterns = [
    path("floor/<uuid:meeting>/notes", views.floor_notes, name="floor-notes"),
    path("notes", views.ready_notes, name="ready-notes"),
]
