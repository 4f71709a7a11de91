"""Addresses of the roster import."""

from studio.imports.urls import import_urls
from studio.roster.bring_in import ROSTER

urlpatterns = import_urls(ROSTER)
