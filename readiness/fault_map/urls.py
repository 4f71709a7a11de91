"""Addresses of the map of faults."""

from django.urls import path

from readiness.fault_map import views

urlpatterns = [
    path("fault-map", views.fault_map, name="fault-map"),
    path("fault-map/<slug:fault>", views.fault, name="fault"),
    path("fault-map/<slug:fault>/save", views.save_fault, name="fault-save"),
]
