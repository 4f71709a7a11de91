"""Addresses of signing in and out."""

from django.urls import path

from studio.sign_in import views

urlpatterns = [
    path("sign-in", views.sign_in, name="sign-in"),
    path("new-password", views.new_password, name="new-password"),
    path("sign-out", views.sign_out, name="sign-out"),
]
