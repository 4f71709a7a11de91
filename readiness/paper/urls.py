"""Addresses of the paper log import, of undoing one, and of the sheet that is typed from."""

from django.urls import path

from readiness.paper import views
from readiness.paper.bring_in import PAPER_LOG
from studio.imports.urls import import_urls

urlpatterns = [
    *import_urls(PAPER_LOG),
    path("classes/<uuid:group>/sheet", views.class_sheet, name="class-sheet"),
]
