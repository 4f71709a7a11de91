"""Addresses of the gates' pages. A gate's code may hold a slash."""

from django.urls import path

from readiness import gates_views

urlpatterns = [
    path("gates", gates_views.gates, name="gates"),
    path("gates/versions", gates_views.versions, name="gate-versions"),
    path("gates/save/<path:code>", gates_views.save_gate, name="gate-save"),
    path("gates/<path:code>", gates_views.gate, name="gate"),
]
