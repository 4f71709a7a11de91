"""Address of a child's home sheet."""

from django.urls import path

from readiness.home_sheet import views

urlpatterns = [path("children/<uuid:child>/home-sheet", views.home_sheet, name="home-sheet")]
