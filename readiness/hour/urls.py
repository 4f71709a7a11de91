"""Addresses of the evidence hour."""

from django.urls import path

from readiness.hour import views

urlpatterns = [
    path("evidence-hour", views.evidence_hour, name="evidence-hour"),
    path("evidence-hour/<uuid:meeting>", views.hour_sheet, name="hour-sheet"),
]
