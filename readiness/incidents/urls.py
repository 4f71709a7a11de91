"""Addresses of what happened: a month, one incident, and what is written down of it."""

from django.urls import path

from readiness.incidents import views

urlpatterns = [
    path("incidents", views.month, name="incidents"),
    path("children/<uuid:child>/incidents/<uuid:start>", views.incident, name="incident"),
    path(
        "children/<uuid:child>/incidents/<uuid:start>/account",
        views.account,
        name="incident-account",
    ),
    path(
        "children/<uuid:child>/incidents/<uuid:start>/addition",
        views.addition,
        name="incident-addition",
    ),
]
