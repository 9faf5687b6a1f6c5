"""Addresses of the room."""

from django.urls import path

from drills.formulary import views

app_name = "formulary"

urlpatterns = [
    path("", views.index, name="index"),
    path("revisions/<int:number>/approve/", views.approve, name="approve"),
]
