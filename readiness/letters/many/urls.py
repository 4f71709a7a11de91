"""Addresses of the letters of many."""

from django.urls import path

from readiness.letters.many import views

urlpatterns = [
    path("letters", views.letters, name="letters"),
    path("letters/studio", views.studio_letters, name="studio-letters"),
    path("letters/classes/<uuid:group>", views.class_letters, name="class-letters"),
    path("letters/runs/<uuid:run>", views.letter_run, name="letter-run"),
    path("letters/runs/<uuid:run>/on", views.letter_run_on, name="letter-run-on"),
    path("letters/runs/<uuid:run>.pdf", views.letter_run_pdf, name="letter-run-pdf"),
    path("letters/runs/<uuid:run>.zip", views.letter_run_zip, name="letter-run-zip"),
]
