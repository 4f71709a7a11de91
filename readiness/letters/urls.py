"""Addresses of letters: one child's, those of many, those that were printed, languages."""

from django.urls import include, path

from readiness.letters import views

urlpatterns = [
    path("children/<uuid:child>/letter", views.letter, name="letter"),
    path("children/<uuid:child>/letter/prepare", views.letter_prepare, name="letter-prepare"),
    path("children/<uuid:child>/letter.pdf", views.letter_pdf, name="letter-pdf"),
    path("", include("readiness.letters.rests_on.urls")),
    path("", include("readiness.letters.kept.urls")),
    path("", include("readiness.letters.many.urls")),
    path("", include("readiness.letters.languages.urls")),
]
