"""Addresses of everything that reads or adds to the record."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
