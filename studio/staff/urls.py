"""Addresses of the staff."""

from django.urls import path

from studio.staff import views

urlpatterns = [
    path("staff", views.staff, name="staff"),
    path("staff/end", views.staff_end, name="staff-end"),
    path("staff/invite", views.staff_invite, name="staff-invite"),
    path("staff/<uuid:member>", views.staff_member, name="staff-member"),
    path("staff/<uuid:member>/change", views.staff_change, name="staff-change"),
    path("staff/<uuid:member>/papers", views.staff_papers, name="staff-papers"),
    path("staff/<uuid:member>/link", views.staff_link, name="staff-link"),
    path("staff/<uuid:member>/pin", views.staff_pin, name="staff-pin"),
    path("staff/<uuid:member>/back", views.staff_back, name="staff-back"),
]
