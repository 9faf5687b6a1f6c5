"""Addresses of runs."""

from django.urls import path

from drills.runs import views

app_name = "runs"
urlpatterns = [
    path("start/", views.start, name="start"),
    path("<uuid:run_id>/", views.take, name="take"),
    path("<uuid:run_id>/proceed/", views.proceed, name="proceed"),
    path("<uuid:run_id>/answer/", views.answer, name="answer"),
    path("<uuid:run_id>/away/", views.away, name="away"),
    path("<uuid:run_id>/not-there/", views.not_there, name="not_there"),
    path("<uuid:run_id>/debrief/", views.debrief, name="debrief"),
]
