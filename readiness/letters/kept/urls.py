"""Addresses of the letters about a child that were printed."""

from django.urls import path

from readiness.letters.kept import views

urlpatterns = [
    path("children/<uuid:child>/letters", views.kept_letters, name="kept-letters"),
    path("children/<uuid:child>/letters/<uuid:letter>.pdf", views.kept_letter, name="kept-letter"),
    path(
        "children/<uuid:child>/letters/<uuid:letter>/given",
        views.letter_given,
        name="letter-given",
    ),
]
