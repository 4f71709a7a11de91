"""Addresses of the paper log import, and of undoing one."""

from readiness.paper.bring_in import PAPER_LOG
from studio.imports.urls import import_urls

urlpatterns = import_urls(PAPER_LOG)
