"""Addresses of shared tablets and PINs."""

from django.urls import path

from studio.tablets import views

urlpatterns = [
    path("tablets", views.tablets, name="tablets"),
    path("tablets/enrol", views.tablet_enrol, name="tablet-enrol"),
    path("tablets/<uuid:tablet>/withdraw", views.tablet_withdraw, name="tablet-withdraw"),
    path("tablets/<uuid:tablet>/unlock", views.tablet_unlock, name="tablet-unlock"),
    path("pin", views.pin, name="pin"),
    path("change-over", views.change_over_page, name="change-over"),
]
