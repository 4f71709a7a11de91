"""Addresses of tonight's classes."""

from django.urls import path

from studio.tonight import views

urlpatterns = [
    path("", views.tonight, name="tonight"),
    path("classes/<uuid:group>/meet", views.open_meeting, name="open-meeting"),
]
