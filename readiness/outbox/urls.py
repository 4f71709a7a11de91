"""Address of the file from a tablet's outbox."""

from django.urls import path

from readiness.outbox import views

urlpatterns = [path("outbox-file", views.outbox_file, name="outbox-file")]
