"""Addresses of the review, of a class at a glance, and of one child's evidence."""

from django.urls import path

from readiness.review import views

urlpatterns = [
    path("classes/<uuid:group>", views.class_group, name="class"),
    path("review", views.review, name="review"),
    # A stage's code may hold a slash: "9/two-handsprings" is one skill of stage 9.
    path("children/<uuid:child>/evidence/<path:stage>", views.evidence, name="evidence"),
    path("children/<uuid:child>/recommend/<path:stage>", views.recommend, name="recommend"),
    path("children/<uuid:child>/sign/<path:stage>", views.sign, name="sign"),
    path("children/<uuid:child>/send-back/<path:stage>", views.send_back, name="send-back"),
    path("children/<uuid:child>/exception/<path:stage>", views.write_exception, name="exception"),
]
