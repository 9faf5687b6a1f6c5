"""Addresses of the room."""

from django.urls import path

from drills.formulary import views

app_name = "formulary"

urlpatterns = [
    path("", views.index, name="index"),
    path("rules/<str:code>/", views.rule_in_force, name="rule_in_force"),
    path("revisions/", views.revisions, name="revisions"),
    path("revisions/<int:number>/", views.revision, name="revision"),
    path("revisions/<int:number>/formulary.<str:kind>", views.export, name="export"),
    path("revisions/<int:number>/rules/<str:code>/", views.rule, name="rule"),
    path("revisions/<int:number>/draft/", views.draft, name="draft"),
    path("revisions/<int:number>/discard/", views.discard, name="discard"),
    path("revisions/<int:number>/submit/", views.submit, name="submit"),
    path("revisions/<int:number>/send-back/", views.send_back, name="send_back"),
    path("revisions/<int:number>/approve/", views.approve, name="approve"),
    path("revisions/<int:number>/record/", views.record, name="record"),
    path("revisions/<int:number>/signed/", views.signed, name="signed"),
    path("settings/", views.settings, name="settings"),
    path("settings/seen/", views.settings_seen, name="settings_seen"),
    path("import/", views.import_, name="import"),
    path("import/store/", views.store, name="store"),
    path("workbook/<str:which>.xlsx", views.start_workbook, name="start_workbook"),
]
