"""Address for a monitor."""

from django.urls import path

from studio.health import views

urlpatterns = [path("health", views.health_page, name="health")]
