"""Addresses of the children as the desk keeps them."""

from django.urls import path

from studio.children import season_views, views

urlpatterns = [
    path("children", views.children, name="children"),
    path("children/add", views.child_add, name="child-add"),
    path("children/<uuid:child>/facts", views.child_facts, name="child-facts"),
    path("children/<uuid:child>/join", views.child_join, name="child-join"),
    path("children/<uuid:child>/leave-class", views.child_leave, name="child-leave-class"),
    path("children/<uuid:child>/family", views.child_family, name="child-family"),
    path("children/<uuid:child>/family/end", views.child_family_end, name="child-family-end"),
    path("children/<uuid:child>/leave", views.child_gone, name="child-leave"),
    path("children/<uuid:child>/back", views.child_back, name="child-back"),
    path("classes/<uuid:group>/newcomer", views.newcomer, name="newcomer"),
    path("season", season_views.season, name="season"),
    path("season/<uuid:group>", season_views.season_sheet, name="season-sheet"),
    path("season/<uuid:group>/slips", season_views.season_slips, name="season-slips"),
]
