"""Addresses of the answers from the enrolment forms."""

from django.urls import path

from studio.consents import views

urlpatterns = [
    path("consents", views.consents, name="consents"),
    path("consents/slips", views.consent_slips, name="consent-slips"),
]
