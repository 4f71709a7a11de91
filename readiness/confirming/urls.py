"""Addresses of the turns that wait for somebody's word."""

from django.urls import path

from readiness.confirming import views

urlpatterns = [
    path("confirm", views.own_turns, name="own-turns"),
    path("review/late", views.late_turns, name="late-turns"),
]
