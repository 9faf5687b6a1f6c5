"""Addresses of runs."""

from django.urls import path

from drills.runs import views

app_name = "runs"
urlpatterns = [
    path("start/", views.start, name="start"),
    path("assign/", views.assign, name="assign"),
    path("assignments/", views.assignments, name="assignments"),
    path("assignments/<uuid:assignment_id>/", views.assignment, name="assignment"),
    path("assignments/<uuid:assignment_id>/excuse/", views.excuse, name="excuse"),
    path("assignments/<uuid:assignment_id>/withdraw/", views.withdraw, name="withdraw"),
    path("series/<uuid:series_id>/", views.series, name="series"),
    path("series/<uuid:series_id>/change/", views.change_series, name="change_series"),
    path("series/<uuid:series_id>/excuse/", views.excuse_series, name="excuse_series"),
    path("series/<uuid:series_id>/withdraw/", views.withdraw_series, name="withdraw_series"),
    path("due/", views.due, name="due"),
    path("due/calendar/", views.make_calendar, name="make_calendar"),
    path("due/calendar/end/", views.revoke_calendar, name="revoke_calendar"),
    path("calendar/<str:token>.ics", views.calendar, name="calendar"),
    path("contests/", views.contests, name="contests"),
    path("contests/<int:contest_id>/decide/", views.decide, name="decide"),
    path("hands-on/", views.hands_on, name="hands_on"),
    path("hands-on/<uuid:sheet_id>/", views.sheet, name="sheet"),
    path("hands-on/<uuid:sheet_id>/deed/", views.deed, name="deed"),
    path("hands-on/<uuid:sheet_id>/sign/", views.sign, name="sign"),
    path("phases/", views.phases, name="phases"),
    path("phases/<int:number>/", views.phase, name="phase"),
    path("phases/<int:number>/drop/", views.drop_phase, name="drop_phase"),
    path("phases/of/<str:employee_number>/", views.training, name="training"),
    path("phases/of/<str:employee_number>/note/", views.note, name="note"),
    path("phases/of/<str:employee_number>/place/", views.place, name="place"),
    path("phases/of/<str:employee_number>/shown/", views.show_item, name="show_item"),
    path("sign-offs/", views.lapsing, name="lapsing"),
    path("sign-offs/settings/", views.signing, name="signing"),
    path("sign-offs/of/<str:employee_number>/", views.sign_offs, name="sign_offs"),
    path("sign-offs/<int:number>/withdraw/", views.withdraw_sign_off, name="withdraw_sign_off"),
    path("scan/<str:token>/", views.scan, name="scan"),
    path("<uuid:run_id>/", views.take, name="take"),
    path("<uuid:run_id>/proceed/", views.proceed, name="proceed"),
    path("<uuid:run_id>/answer/", views.answer, name="answer"),
    path("<uuid:run_id>/away/", views.away, name="away"),
    path("<uuid:run_id>/not-there/", views.not_there, name="not_there"),
    path("<uuid:run_id>/debrief/", views.debrief, name="debrief"),
    path("<uuid:run_id>/report/", views.report, name="report"),
    path("<uuid:run_id>/contest/", views.contest, name="contest"),
]
