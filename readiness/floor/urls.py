"""Addresses of the floor page, its shell and its calls."""

from django.urls import path

from readiness.floor import views

urlpatterns = [
    path("floor/", views.shell, name="floor-start"),
    path("floor/shell", views.shell, name="floor-shell"),
    path("floor/sw.js", views.worker, name="floor-worker"),
    path("floor/manifest.webmanifest", views.manifest, name="floor-manifest"),
    path("floor/key", views.floor_key, name="floor-key"),
    path("floor/<uuid:meeting>", views.floor, name="floor"),
    path("floor/<uuid:meeting>/pack", views.floor_pack, name="floor-pack"),
    path("floor/<uuid:meeting>/attempts", views.floor_attempts, name="floor-attempts"),
]
