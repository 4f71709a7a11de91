"""Addresses of causes."""

from django.urls import path

from readiness.causes import views

urlpatterns = [
    path("causes", views.causes, name="causes"),
    path("classes/<uuid:group>/causes", views.class_causes, name="class-causes"),
]
