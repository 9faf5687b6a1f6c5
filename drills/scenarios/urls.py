"""Addresses of the room."""

from django.urls import path

from drills.scenarios import views

app_name = "scenarios"

urlpatterns = [
    path("sorting/", views.sorting, name="sorting"),
    path("recipes/", views.recipes, name="recipes"),
    path("recipes/add/", views.add_recipe, name="add_recipe"),
    path("recipes/<slug:slug>/", views.recipe, name="recipe"),
    path("recipes/<slug:slug>/change/", views.change_recipe, name="change_recipe"),
    path("recipes/<slug:slug>/state/", views.recipe_state, name="recipe_state"),
    path("recipes/<slug:slug>/versions/<int:number>/", views.version, name="version"),
    path("calls/", views.calls, name="calls"),
    path("calls/calls.<str:kind>", views.export, name="export"),
    path("calls/import/", views.import_, name="import"),
    path("calls/import/store/", views.store, name="store"),
    path("calls/on/<slug:slug>/", views.on_layout, name="on_layout"),
    path("calls/problems/", views.problems, name="problems"),
    path("calls/problems/add/", views.add_problem, name="add_problem"),
    path("calls/problems/<slug:slug>/", views.problem, name="problem"),
    path("calls/problems/<slug:slug>/delete/", views.delete_problem, name="delete_problem"),
    path(
        "calls/problems/<slug:slug>/<str:sheet>/", views.add_problem_line, name="add_problem_line"
    ),
    path(
        "calls/problems/<slug:slug>/<str:sheet>/<int:number>/",
        views.problem_line,
        name="problem_line",
    ),
    path("calls/add/", views.add, name="add"),
    path("calls/<slug:slug>/", views.call, name="call"),
    path("calls/<slug:slug>/state/", views.state, name="state"),
    path("calls/<slug:slug>/review/", views.review, name="review"),
    path("calls/<slug:slug>/<str:sheet>/", views.add_row, name="add_row"),
    path("calls/<slug:slug>/<str:sheet>/<int:number>/", views.row, name="row"),
]
