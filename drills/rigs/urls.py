"""Addresses of the room; fixed words come before slugs."""

from django.urls import path

from drills.rigs import views

app_name = "rigs"

units = [
    path("", views.index, name="index"),
    path("units/<path:unit>/pick/", views.pick, name="pick"),
    path("units/<path:unit>/refit/", views.refit, name="refit"),
    path("units/<path:unit>/layout/", views.move_rig, name="move_rig"),
    path("units/<path:unit>/own/", views.own, name="own"),
    path("units/<path:unit>/own/<int:number>/end/", views.end_difference, name="end_difference"),
]
labels = [
    path("l/<str:token>/", views.label, name="label"),
    path("units/<path:unit>/labels/", views.labels, name="labels"),
    path("units/<path:unit>/labels/make/", views.make_labels, name="make_labels"),
    path("units/<path:unit>/labels/renew/", views.renew_labels, name="renew_labels"),
    path("units/<path:unit>/labels/sheets/", views.label_sheets, name="label_sheets"),
]
absences = [
    path("lapses/", views.lapses, name="lapses"),
    path("absences/", views.absences, name="absences"),
    path("absences/<int:number>/", views.absence, name="absence"),
    path("absences/<int:number>/seen/", views.seen, name="seen"),
    path("absences/<int:number>/answer/", views.answer_absence, name="answer_absence"),
]
photos = [
    path("photos/of/<int:number>/", views.place_photo, name="place_photo"),
    path("photos/<str:token>/", views.photo, name="photo"),
]
needs = [
    path("needs/", views.needs, name="needs"),
    path("needs/add/", views.add_need, name="add_need"),
    path("needs/<slug:key>/", views.need, name="need"),
]
drafts = [
    path("workbook/", views.workbook, name="workbook"),
    path("workbook/<str:which>.xlsx", views.start_workbook, name="start_workbook"),
    path("import/", views.import_, name="import"),
    path("<slug:slug>/revisions/<int:number>/publish/", views.publish, name="publish"),
    path("<slug:slug>/revisions/<int:number>/discard/", views.discard, name="discard"),
    path("<slug:slug>/revisions/<int:number>/places/", views.keep_places, name="keep_places"),
    path("<slug:slug>/revisions/<int:number>/call-off/", views.call_off, name="call_off"),
    path("<slug:slug>/retire/", views.retire, name="retire"),
    path("<slug:slug>/bring-back/", views.bring_back, name="bring_back"),
]
editor = [
    path("<slug:slug>/draft/", views.draft, name="draft"),
    path("<slug:slug>/draft/open/", views.open_draft, name="open_draft"),
    path("<slug:slug>/draft/undo/", views.undo, name="undo"),
    path("<slug:slug>/draft/<slug:deed>/", views.edit, name="edit"),
]
required = [
    path("required/", views.required, name="required"),
    path("required/take/", views.take_required, name="take_required"),
    path("required/<slug:listed>/", views.required_list, name="required_list"),
    path("required/<slug:listed>.csv", views.required_file, name="required_file"),
    path("<slug:slug>/revisions/<int:number>/required/", views.judgement, name="judgement"),
    path(
        "<slug:slug>/revisions/<int:number>/required.csv",
        views.judgement_file,
        name="judgement_file",
    ),
]
layouts = [
    path("<slug:slug>/", views.layout, name="layout"),
    path("<slug:slug>/rigs/", views.add_rig, name="add_rig"),
    path("<slug:slug>/ties/", views.ties, name="ties"),
    path("<slug:slug>/walk/", views.walk, name="walk"),
    path("<slug:slug>/walk/<path:code>/", views.walk, name="walk"),
    path("<slug:slug>/revisions/<int:number>/", views.revision, name="revision"),
    path("<slug:slug>/revisions/<int:number>/paper/", views.paper, name="paper"),
    path("<slug:slug>/revisions/<int:number>/difference/", views.difference, name="difference"),
    path("<slug:slug>/revisions/<int:number>/export.<str:kind>", views.export, name="export"),
]

urlpatterns = [*units, *labels, *absences, *needs, *photos, *drafts, *editor, *required, *layouts]
