"""Addresses of who is signed in where."""

from django.urls import path

from studio.signed_in import views

urlpatterns = [
    path("sign-ins", views.sign_ins, name="sign-ins"),
    path("sign-ins/end", views.sign_ins_end, name="sign-ins-end"),
]
