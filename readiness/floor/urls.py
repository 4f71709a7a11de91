"""Addresses of the floor page, its shell and its calls."""

from django.urls import path

from readiness.floor import views

urlpatterns = [
    path("floor/", views.shell, name="floor-start"),
    path("floor/shell", views.shell, name="floor-shell"),
    path("floor/words", views.more, name="floor-words"),
    path("floor/sw.js", views.worker, name="floor-worker"),
    path("floor/manifest.webmanifest", views.manifest, name="floor-manifest"),
    path("floor/key", views.floor_key, name="floor-key"),
    path("floor/<uuid:meeting>", views.floor, name="floor"),
    path("floor/<uuid:meeting>/pack", views.floor_pack, name="floor-pack"),
    path("floor/<uuid:meeting>/search", views.floor_search, name="floor-search"),
    path("floor/<uuid:meeting>/visit", views.floor_visit, name="floor-visit"),
    path("floor/<uuid:meeting>/new-child", views.floor_new_child, name="floor-new-child"),
    path("floor/<uuid:meeting>/since", views.floor_since, name="floor-since"),
    path("floor/<uuid:meeting>/attempts", views.floor_attempts, name="floor-attempts"),
]
