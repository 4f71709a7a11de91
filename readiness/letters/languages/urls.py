"""Addresses of the languages of letters."""

from django.urls import path

from readiness.letters.languages import views

urlpatterns = [
    path("letters/languages", views.languages, name="letter-languages"),
    path("letters/languages/read", views.language_read, name="letter-language-read"),
]
