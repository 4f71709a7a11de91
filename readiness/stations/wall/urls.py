"""Addresses of the stations on a screen in the hall."""

from django.urls import path

from readiness.stations.wall import views

urlpatterns = [
    path("stations/<uuid:meeting>/wall", views.stations_wall, name="stations-wall"),
    path("halls/wall", views.hall_wall, name="hall-wall"),
]
