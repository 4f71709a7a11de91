"""Addresses of everything that reads or adds to the record."""

from django.urls import path

from readiness import letter_views

urlpatterns = [
    path("children/<uuid:child>/letter", letter_views.letter, name="letter"),
    path("children/<uuid:child>/letter.pdf", letter_views.letter_pdf, name="letter-pdf"),
]
