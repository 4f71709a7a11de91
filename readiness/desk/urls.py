"""Address of the front desk."""

from django.urls import path

from readiness.desk import views

urlpatterns = [path("desk", views.desk, name="desk")]
