"""Address of the families who are still to be told."""

from django.urls import path

from readiness.untold import views

urlpatterns = [path("untold", views.untold, name="untold")]
