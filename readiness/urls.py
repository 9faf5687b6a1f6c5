"""Addresses: the first word is the room."""

from django.urls import include, path

urlpatterns = [
    path("people/", include("drills.people.urls")),
    path("rigs/", include("drills.rigs.urls")),
    path("formulary/", include("drills.formulary.urls")),
    path("scenarios/", include("drills.scenarios.urls")),
    path("runs/", include("drills.runs.urls")),
    path("", include("drills.boards.urls")),
]
