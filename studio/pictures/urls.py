"""Addresses of pictures from the side."""

from django.urls import path

from studio.pictures import views

urlpatterns = [
    path("halls/pictures", views.hall_pictures, name="hall-pictures"),
    path("children/<uuid:child>/pictures", views.child_pictures, name="child-pictures"),
]
