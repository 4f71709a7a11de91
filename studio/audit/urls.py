"""Address of the audit log."""

from django.urls import path

from studio.audit import views

urlpatterns = [path("audit", views.audit, name="audit")]
