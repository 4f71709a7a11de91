"""Addresses of the September sheet."""

from django.urls import path

from readiness.september import views

urlpatterns = [
    path("september", views.september, name="september"),
    path("september/<uuid:child>", views.september_sign, name="september-sign"),
]
