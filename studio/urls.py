"""Every address of the site."""

from django.urls import include, path

urlpatterns = [
    path("", include("studio.sign_in.urls")),
    path("", include("studio.tonight.urls")),
    path("", include("studio.classes.urls")),
    path("", include("studio.halls.urls")),
    path("", include("studio.staff.urls")),
    path("", include("studio.roster.urls")),
    path("", include("studio.tablets.urls")),
    path("", include("studio.consents.urls")),
    path("", include("studio.pictures.urls")),
    path("", include("studio.backup.urls")),
    path("", include("studio.children.urls")),
    path("", include("studio.health.urls")),
    path("", include("studio.audit.urls")),
    path("", include("studio.signed_in.urls")),
    path("", include("readiness.urls")),
]

handler400 = "studio.error_views.bad_request"
handler403 = "studio.error_views.refused"
handler404 = "studio.error_views.not_found"
handler500 = "studio.error_views.broken"
