"""Addresses of the stations of an evening, and of what a hall has for them."""

from django.urls import path

from readiness.stations import views

urlpatterns = [
    path("stations/<uuid:meeting>", views.stations, name="stations"),
    path("stations/<uuid:meeting>/done", views.stations_done, name="stations-done"),
    path("stations/<uuid:meeting>/take", views.stations_take, name="stations-take"),
    path("halls/equipment", views.hall_equipment, name="hall-equipment"),
]
