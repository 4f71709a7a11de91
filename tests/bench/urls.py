"""The site's own addresses, and those of the bare views."""

from django.urls import include, path

from tests.bench import bare_views

urlpatterns = [
    path("bare/turn", bare_views.turn),
    path("bare/board", bare_views.board),
    path("", include("studio.urls")),
]
