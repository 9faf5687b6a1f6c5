"""Addresses of the boards."""

from django.urls import path

from drills.boards import views
from drills.boards.past import views as past
from drills.boards.roster import views as roster

app_name = "boards"
urlpatterns = [
    path("", views.home, name="home"),
    path("guide/", views.guide, name="guide"),
    path("guide/<slug:slug>/", views.chapter, name="chapter"),
    path("boards/hire/", views.hire, name="hire"),
    path("boards/drills/", views.drills, name="drills"),
    path("boards/fto/", views.fto, name="fto"),
    path("boards/educator/", views.educator, name="educator"),
    path("boards/educator/assign/", views.assign_cohort, name="assign_cohort"),
    path("boards/moved/<slug:slug>/<int:number>/", views.what_moved, name="what_moved"),
    path("boards/moved/<slug:slug>/<int:number>/assign/", views.assign_moved, name="assign_moved"),
    path(
        "boards/moved/<slug:slug>/<int:number>/dismiss/", views.dismiss_moved, name="dismiss_moved"
    ),
    path("boards/educator.csv", views.educator_csv, name="educator_csv"),
    path("boards/practice/", views.practice, name="practice"),
    path("boards/practice/sheet/", views.practice_sheet, name="practice_sheet"),
    path("boards/roster/", roster.roster, name="roster"),
    path("boards/roster/take/", roster.take_file, name="take_file"),
    path("boards/roster/<str:which>.csv", roster.roster_file, name="roster_file"),
    path("boards/past-records/", past.past_records, name="past_records"),
    path("boards/past-records/take/", past.take_past_records, name="take_past_records"),
    path(
        "boards/past-records/<int:number>/take-back/",
        past.take_back_past_records,
        name="take_back_past_records",
    ),
    path("boards/past-records/blank.csv", past.blank_past_records, name="blank_past_records"),
    path("boards/past-records/names.csv", past.accepted_names, name="accepted_names"),
    path("boards/model/", views.model, name="model"),
    path("boards/calls/", views.calls, name="calls"),
    path("boards/people/<str:employee_number>/", views.person, name="person"),
    path("boards/people/<str:employee_number>/known/", views.known, name="known"),
    path("boards/people/<str:employee_number>/calls/", views.readiness, name="readiness"),
    path(
        "boards/people/<str:employee_number>/drill/start/",
        views.start_exactly,
        name="start_exactly",
    ),
    path(
        "boards/people/<str:employee_number>/drill/assign/",
        views.assign_exactly,
        name="assign_exactly",
    ),
    path(
        "boards/people/<str:employee_number>/with/<str:other>/assign/",
        views.assign_crew,
        name="assign_crew",
    ),
    path("boards/people/<str:employee_number>/with/<str:other>/", views.crew, name="crew"),
]
