"""Addresses of what directors do about backups."""

from django.urls import path

from studio.backup import views

urlpatterns = [
    path("restored", views.restore_looked_through, name="restore-looked-through"),
    path("sorting", views.sorting, name="sorting"),
    path("sorting/children/<uuid:child>", views.child_known, name="child-known"),
    path("sorting/classes/<uuid:group>", views.class_known, name="class-known"),
]
