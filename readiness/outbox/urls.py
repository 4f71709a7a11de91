"""Addresses of the file from a tablet's outbox, and of the lines that were refused."""

from django.urls import path

from readiness.outbox import views

urlpatterns = [
    path("outbox-file", views.outbox_file, name="outbox-file"),
    path("refused-lines", views.refused_lines, name="refused-lines"),
    path("refused-lines/<uuid:line>", views.refused_line, name="refused-line"),
    path("refused-lines/<uuid:line>/log", views.refused_line_log, name="refused-line-log"),
    path("refused-lines/<uuid:line>/strike", views.refused_line_strike, name="refused-line-strike"),
]
