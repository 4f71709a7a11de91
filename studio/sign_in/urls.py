"""Addresses of signing in and out."""

from django.urls import path

from studio.sign_in import views, where_views

urlpatterns = [
    path("sign-in", views.sign_in, name="sign-in"),
    path("new-password", views.new_password, name="new-password"),
    path("sign-ins", where_views.sign_ins, name="sign-ins"),
    path("sign-ins/end", where_views.sign_ins_end, name="sign-ins-end"),
    path("sign-out", views.sign_out, name="sign-out"),
]
