"""Addresses of a child's letter, and of the languages of letters."""

from django.urls import include, path

from readiness.letters import views

urlpatterns = [
    path("children/<uuid:child>/letter", views.letter, name="letter"),
    path("children/<uuid:child>/letter.pdf", views.letter_pdf, name="letter-pdf"),
    path("", include("readiness.letters.languages.urls")),
]
