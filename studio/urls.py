"""Every address of the site."""

from django.urls import include, path

from studio import views

urlpatterns = [
    path("sign-in", views.sign_in, name="sign-in"),
    path("sign-out", views.sign_out, name="sign-out"),
    path("", views.tonight, name="tonight"),
    path("classes/<uuid:group>/meet", views.open_meeting, name="open-meeting"),
    path("", include("studio.roster.urls")),
    path("", include("studio.tablets.urls")),
    path("", include("readiness.urls")),
]

handler400 = "studio.error_views.bad_request"
handler403 = "studio.error_views.refused"
handler404 = "studio.error_views.not_found"
handler500 = "studio.error_views.broken"
