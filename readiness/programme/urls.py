"""Address of the programme."""

from django.urls import path

from readiness.programme import views

urlpatterns = [path("programme", views.programme, name="programme")]
