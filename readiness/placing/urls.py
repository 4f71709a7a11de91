"""Address of the newcomers' list."""

from django.urls import path

from readiness.placing import views

urlpatterns = [path("newcomers", views.newcomers, name="newcomers")]
