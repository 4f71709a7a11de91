"""Addresses of door notes: those of tonight, one note, giving it, and one that was given."""

from django.urls import path

from readiness.door_note import views

CHILD = "children/<uuid:child>/door-notes"
urlpatterns = [
    path(CHILD, views.door_notes, name="door-notes"),
    path(f"{CHILD}/given/<uuid:note>", views.door_note_given, name="door-note-given"),
    path(f"{CHILD}/<slug:kind>/<uuid:start>", views.door_note, name="door-note"),
    path(f"{CHILD}/<slug:kind>/<uuid:start>/give", views.door_note_give, name="door-note-give"),
]
