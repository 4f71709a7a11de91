"""Addresses of the classes, their evenings and the holidays."""

from django.urls import path

from studio.classes import evening_views, views

EVENING = "classes/<uuid:group>/evenings/<str:day>"

urlpatterns = [
    path("classes", views.classes, name="classes"),
    path("classes/add", views.class_add, name="class-add"),
    path("classes/holidays", views.holiday_add, name="holiday-add"),
    path("classes/holidays/end", views.holiday_end, name="holiday-end"),
    path("classes/<uuid:group>/plan", views.class_plan, name="class-plan"),
    path("classes/<uuid:group>/change", views.class_change, name="class-change"),
    path("classes/<uuid:group>/move", views.class_move, name="class-move"),
    path(EVENING, evening_views.evening, name="evening"),
    path(f"{EVENING}/move", evening_views.evening_move, name="evening-move"),
    path(f"{EVENING}/cancel", evening_views.evening_cancel, name="evening-cancel"),
    path(f"{EVENING}/stand-in", evening_views.evening_stand_in, name="evening-stand-in"),
    path(f"{EVENING}/visit", evening_views.evening_visit, name="evening-visit"),
    path(f"{EVENING}/visit/end", evening_views.evening_visit_end, name="evening-visit-end"),
]
