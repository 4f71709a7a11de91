"""Addresses of the roster import, and of undoing one."""

from studio.imports.urls import import_urls
from studio.roster.bring_in import ROSTER

urlpatterns = import_urls(ROSTER)
