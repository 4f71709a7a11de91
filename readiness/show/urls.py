"""Addresses of the show list, and of what is decided there."""

from django.urls import path

from readiness.show import views

CHILD = "shows/numbers/<uuid:number>/<uuid:child>"
urlpatterns = [
    path("shows", views.shows, name="shows"),
    path("shows/add", views.add, name="show-add"),
    path("shows/<uuid:show>", views.show_list, name="show"),
    path("shows/<uuid:show>/number", views.add_number, name="show-number"),
    path("shows/numbers/<uuid:number>/wings", views.wings, name="show-wings"),
    path("shows/numbers/<uuid:number>/run-through", views.run_through, name="show-run-through"),
    path(CHILD, views.child_in_show, name="show-child"),
    path(f"{CHILD}/recommend", views.recommend, name="show-recommend"),
    path(f"{CHILD}/sign", views.sign, name="show-sign"),
    path(f"{CHILD}/put", views.put, name="show-put"),
    path(f"{CHILD}/today", views.today, name="show-today"),
]
