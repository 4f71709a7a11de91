"""Addresses of the page about a head knock, and of what is written down there."""

from django.urls import path

from readiness.head import views

urlpatterns = [
    path("children/<uuid:child>/head", views.head, name="head"),
    path("children/<uuid:child>/head/knock", views.knock, name="head-knock"),
    path("children/<uuid:child>/head/symptom", views.symptom, name="head-symptom"),
    path("children/<uuid:child>/head/clearance", views.clearance, name="head-clearance"),
    path("children/<uuid:child>/head/step", views.step, name="head-step"),
]
