"""Addresses of the page of spotters, and of what is written down there."""

from django.urls import path

from readiness.spotters import views

urlpatterns = [
    path("spotters", views.spotters, name="spotters"),
    path("spotters/add", views.add, name="spotter-add"),
    path("spotters/youngest", views.youngest, name="spotter-youngest"),
    path("spotters/numbers", views.numbers, name="spotter-numbers"),
]
