"""Addresses of one child's page and of what is done there."""

from django.urls import path

from readiness.child import views

urlpatterns = [
    path("children/<uuid:child>", views.child, name="child"),
    path("children/<uuid:child>/step", views.step, name="step"),
    path("children/<uuid:child>/place", views.place, name="place"),
    path("children/<uuid:child>/sore", views.sore, name="sore"),
    path("children/<uuid:child>/growing", views.growing, name="growing"),
    path("children/<uuid:child>/told", views.told, name="told"),
    path("children/<uuid:child>/not-tonight", views.not_tonight, name="not-tonight"),
    path("children/<uuid:child>/elsewhere", views.elsewhere, name="elsewhere"),
    path("children/<uuid:child>/pause", views.pause, name="pause"),
    path("children/<uuid:child>/consent", views.consent, name="consent"),
    path("children/<uuid:child>/lift", views.lift, name="lift"),
]
