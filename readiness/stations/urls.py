"""Addresses of the stations of an evening, and of what a hall has for them."""

from django.urls import path

from readiness.stations import views

urlpatterns = [
    path("halls/equipment", views.hall_equipment, name="hall-equipment"),
]
