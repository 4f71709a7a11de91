"""Addresses of the records that may be of one child."""

from django.urls import path

from readiness.merging import views

urlpatterns = [
    path("doubles", views.doubles, name="doubles"),
    path("children/<uuid:child>/same-as", views.same_as, name="same-as"),
    path("children/<uuid:child>/same-as/<uuid:other>", views.merge_two, name="merge"),
    path("children/<uuid:child>/same-as/<uuid:other>/two", views.two_children, name="two-children"),
    path("doubles/<uuid:pair>/again", views.ask_about_again, name="doubles-again"),
    path("merges/<uuid:merge>/undo", views.merge_undo, name="merge-undo"),
]
