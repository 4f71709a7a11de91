"""Addresses of the gates' pages. A gate's code may hold a slash."""

from django.urls import path

from readiness.gates import views

urlpatterns = [
    path("gates", views.gates, name="gates"),
    path("gates/versions", views.versions, name="gate-versions"),
    path("gates/save/<path:code>", views.save_gate, name="gate-save"),
    path("gates/<path:code>", views.gate, name="gate"),
]
