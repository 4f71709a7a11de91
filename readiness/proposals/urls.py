"""Addresses of a change of the ladder that waits."""

from django.urls import path

from readiness.proposals import views

urlpatterns = [
    path("gates/waiting", views.waiting_change, name="ladder-waiting"),
    path("gates/waiting/<uuid:proposal>/yes", views.say_yes, name="ladder-yes"),
    path("gates/waiting/<uuid:proposal>/take-back", views.take_it_back, name="ladder-take-back"),
]
