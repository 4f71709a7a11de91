"""Addresses of the roster import."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
