"""Addresses of how people grade."""

from django.urls import path

from readiness.eyes import views

urlpatterns = [
    path("eyes", views.eyes, name="eyes"),
    path("eyes/agreement", views.agreement, name="eyes-agreement"),
    path("eyes/<uuid:twelve>", views.twelve, name="eyes-twelve"),
    path("floor/<uuid:meeting>/second", views.second, name="second-grade"),
]
