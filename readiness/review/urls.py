"""Addresses of the review and of a class at a glance."""

from django.urls import path

from readiness.review import views

urlpatterns = [
    path("classes/<uuid:group>", views.class_group, name="class"),
    path("review", views.review, name="review"),
    path("review/all", views.everyone, name="everyone"),
    path("review/after/<uuid:child>", views.review_next, name="review-next"),
    path("review/logs", views.review_logs, name="review-logs"),
]
