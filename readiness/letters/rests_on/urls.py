"""Addresses of what a letter's sentences rest on."""

from django.urls import path

from readiness.letters.rests_on import views

urlpatterns = [
    path(
        "children/<uuid:child>/letter/rests-on/<slug:sentence>",
        views.letter_rests_on,
        name="letter-rests-on",
    ),
]
