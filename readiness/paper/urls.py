"""Addresses of the paper log import."""

from django.urls import path

from readiness.paper import views

urlpatterns = [
    path("paper", views.paper_import, name="paper-import"),
    path("paper/<uuid:draft>", views.paper_preview, name="paper-preview"),
    path("paper/<uuid:draft>/options", views.paper_options, name="paper-options"),
    path("paper/<uuid:draft>/confirm", views.paper_confirm, name="paper-confirm"),
    path("paper/<uuid:draft>/left-out", views.paper_refused, name="paper-refused"),
]
