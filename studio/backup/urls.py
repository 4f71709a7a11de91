"""Addresses of what directors do about backups."""

from django.urls import path

from studio.backup import views

urlpatterns = [
    path("restored", views.restore_looked_through, name="restore-looked-through"),
]
