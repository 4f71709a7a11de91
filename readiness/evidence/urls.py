"""Addresses of the evidence for one stage, and of the decisions made there."""

from django.urls import path

from readiness.evidence import views

urlpatterns = [
    # A stage's code may hold a slash: "9/two-handsprings" is one skill of stage 9.
    path("children/<uuid:child>/evidence/<path:stage>", views.evidence, name="evidence"),
    path("children/<uuid:child>/recommend/<path:stage>", views.recommend, name="recommend"),
    path("children/<uuid:child>/sign/<path:stage>", views.sign, name="sign"),
    path("children/<uuid:child>/send-back/<path:stage>", views.send_back, name="send-back"),
    path("children/<uuid:child>/close/<path:stage>", views.close, name="close-stage"),
    path("children/<uuid:child>/exception/<path:stage>", views.write_exception, name="exception"),
]
