"""Address of the plan of a term."""

from django.urls import path

from readiness.term import views

urlpatterns = [path("term-end", views.term_end, name="term-end")]
