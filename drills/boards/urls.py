"""Addresses of the boards."""

from django.urls import path

from drills.boards import views

app_name = "boards"
urlpatterns = [
    path("", views.home, name="home"),
    path("guide/", views.guide, name="guide"),
    path("guide/<slug:slug>/", views.chapter, name="chapter"),
    path("boards/hire/", views.hire, name="hire"),
    path("boards/drills/", views.drills, name="drills"),
    path("boards/fto/", views.fto, name="fto"),
    path("boards/educator/", views.educator, name="educator"),
    path("boards/educator.csv", views.educator_csv, name="educator_csv"),
    path("boards/people/<str:employee_number>/", views.person, name="person"),
]
