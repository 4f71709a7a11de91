"""Addresses of the drills' cards."""

from django.urls import path

from readiness.drill_card import views

urlpatterns = [
    path("drills", views.drills, name="drills"),
    path("drills/<slug:drill>", views.drill, name="drill"),
    path("station-cards", views.station_card_list, name="station-cards"),
    path("station-cards/print", views.station_card_sheets, name="station-cards-print"),
]
