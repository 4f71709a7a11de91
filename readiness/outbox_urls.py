"""Address of the file from a tablet's outbox."""

from django.urls import path

from readiness import outbox_views

urlpatterns = [path("outbox-file", outbox_views.outbox_file, name="outbox-file")]
