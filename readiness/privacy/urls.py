"""Addresses of a child's whole record, and of children who are to be erased."""

from django.urls import path

from readiness.privacy import views

urlpatterns = [
    path("children/<uuid:child>/record", views.child_record, name="child-record"),
    path("children/<uuid:child>/record/file", views.record_file, name="record-file"),
    path("children/<uuid:child>/erase", views.erase_ask, name="erase-ask"),
    path("erasures", views.erasures, name="erasures"),
    path("children/<uuid:child>/erase/<uuid:erasure>/yes", views.erase_yes, name="erase-yes"),
    path(
        "children/<uuid:child>/erase/<uuid:erasure>/take-back",
        views.erase_take_back,
        name="erase-take-back",
    ),
]
