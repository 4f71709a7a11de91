"""Addresses of the halls."""

from django.urls import path

from studio.halls import views

urlpatterns = [
    path("halls", views.halls, name="halls"),
    path("halls/add", views.hall_add, name="hall-add"),
    path("halls/confirm", views.hall_confirm, name="hall-confirm"),
]
