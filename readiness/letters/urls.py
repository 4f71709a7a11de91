"""Addresses of a child's letter."""

from django.urls import path

from readiness.letters import views

urlpatterns = [
    path("children/<uuid:child>/letter", views.letter, name="letter"),
    path("children/<uuid:child>/letter.pdf", views.letter_pdf, name="letter-pdf"),
]
