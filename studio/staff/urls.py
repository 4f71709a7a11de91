"""Addresses of the staff."""

from django.urls import path

from studio.staff import views

urlpatterns = [
    path("staff", views.staff, name="staff"),
    path("staff/end", views.staff_end, name="staff-end"),
]
