"""Addresses of the floor page, its shell and its calls."""

from django.urls import path

from readiness.floor import shell_views, views

urlpatterns = [
    path("floor/", shell_views.shell, name="floor-start"),
    path("floor/shell", shell_views.shell, name="floor-shell"),
    path("floor/sw.js", shell_views.worker, name="floor-worker"),
    path("floor/manifest.webmanifest", shell_views.manifest, name="floor-manifest"),
    path("floor/<uuid:meeting>", views.floor, name="floor"),
    path("floor/<uuid:meeting>/pack", views.floor_pack, name="floor-pack"),
    path("floor/<uuid:meeting>/attempts", views.floor_attempts, name="floor-attempts"),
]
