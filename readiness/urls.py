"""Addresses of everything that reads or adds to the record."""

from django.urls import include, path

from readiness import floor_views, letter_views

urlpatterns = [
    path("floor/<uuid:meeting>", floor_views.floor, name="floor"),
    path("floor/<uuid:meeting>/pack", floor_views.floor_pack, name="floor-pack"),
    path("floor/<uuid:meeting>/attempts", floor_views.floor_attempts, name="floor-attempts"),
    path("children/<uuid:child>/letter", letter_views.letter, name="letter"),
    path("children/<uuid:child>/letter.pdf", letter_views.letter_pdf, name="letter-pdf"),
    path("", include("readiness.paper_urls")),
]
